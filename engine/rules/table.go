package rules

import "slices"

// Mark says how well a value is known.
type Mark string

// The marks that `rules show` prints beside a value's source.
const (
	Published      Mark = "published"
	CommonPractice Mark = "common practice, no source"
	FromMemory     Mark = "from memory"
	Ours           Mark = "set for this game"
)

// row is one value of a published set.
type row struct {
	name, value, source string
	mark                Mark
}

// published is a set as its book prints it: its own rows, and those of the set that it differs from.
type published struct {
	name, title string
	from, own   []row
}

// rows lists the set's values, each once.
func (p published) rows() []row {
	rows := slices.Clone(p.from)
	for _, r := range p.own {
		if i := slices.IndexFunc(rows, func(o row) bool { return o.name == r.name }); i >= 0 {
			rows[i] = r
			continue
		}
		rows = append(rows, r)
	}
	return rows
}

// sets is the one table of rule sets, in the order in which they are listed. Nobody writes it.
var sets = []published{
	{"nfhs", "NFHS Basketball Rules 2025-26, team fouls by quarter", nil, nfhs},
	{"nfhs_halves", "NFHS Basketball Rules before 2023-24, team fouls by half", nfhs, nfhsHalves},
	{"ncaa_men", "NCAA Men's Basketball Rules, media timeouts of 2019-20", nil, ncaaMen},
	{"ncaa_women", "NCAA Women's Basketball Rules, quarters since 2015-16", nil, ncaaWomen},
	{"fiba", "FIBA Official Basketball Rules 2024", nil, fiba},
	{"fiba_2026", "FIBA Official Basketball Rules 2026, in force since October 2026", fiba, fiba2026},
	{"fiba_3x3", "FIBA 3x3 Basketball Rules", fiba, fiba3x3},
	{"youth", "NFHS Basketball Rules 2025-26, below the ninth grade", nfhs, youth},
}

// Names lists the rule sets.
func Names() []string {
	var names []string
	for _, p := range sets {
		names = append(names, p.name)
	}
	return names
}

// Title returns the book and edition of the named set.
func Title(name string) string {
	for _, p := range sets {
		if p.name == name {
			return p.title
		}
	}
	return ""
}

// ByName returns a published set.
func ByName(name string) (Set, bool) {
	for _, p := range sets {
		if p.name != name {
			continue
		}
		s := Set{Name: name}
		for _, r := range p.rows() {
			if s.Put(r.name, r.value) != nil {
				return Set{}, false // TestEverySetIsComplete keeps this from happening
			}
		}
		return s, true
	}
	return Set{}, false
}
