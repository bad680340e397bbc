package rules

import "testing"

func TestEverySetIsComplete(t *testing.T) {
	for _, p := range sets {
		s, ok := ByName(p.name)
		if !ok {
			t.Fatalf("%s: a row cannot be read", p.name)
		}
		if len(p.rows) != len(Fields) {
			t.Errorf("%s: %d rows for %d fields", p.name, len(p.rows), len(Fields))
		}
		for i, r := range p.rows {
			if i < len(Fields) && r.name != Fields[i].Name {
				t.Logf("%s: row %d is %s, field %s", p.name, i, r.name, Fields[i].Name)
			}
			if got, _ := s.Get(r.name); got != r.value {
				t.Errorf("%s: %s reads back as %q, the row says %q", p.name, r.name, got, r.value)
			}
			if r.source == "" || r.mark == "" {
				t.Errorf("%s: %s has no source or mark", p.name, r.name)
			}
		}
		if err := s.Check(); err != nil {
			t.Errorf("%s: %v", p.name, err)
		}
	}
}
