package rules

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

// published is a set as its book prints it.
type published struct {
	name, title string
	rows        []row
}

// sets is the one table of rule sets, in the order in which they are listed. Nobody writes it.
var sets = []published{{"nfhs", "NFHS Basketball Rules 2025-26, team fouls by quarter", nfhs}}

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
		for _, r := range p.rows {
			if s.Put(r.name, r.value) != nil {
				return Set{}, false // TestEverySetIsComplete keeps this from happening
			}
		}
		return s, true
	}
	return Set{}, false
}
