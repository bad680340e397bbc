package rules

import "strings"

// Kind is a kind of foul; its index in a set's Fouls.
type Kind uint8

// The kinds that any set may have. Technical1 and Technical2 are the classes or categories of sets that tell two apart.
const (
	Personal Kind = iota
	Shooting
	Offensive
	Double
	Technical
	Technical1
	Technical2
	Bench
	IndirectKind
	Intentional
	Unsportsmanlike
	Disruptive
	Flagrant
	Flagrant1
	Flagrant2
	Disqualifying
	KindCount
)

var kindNames = []string{"personal", "shooting", "offensive", "double", "technical", "technical1", "technical2", "bench",
	"indirect", "intentional", "unsportsmanlike", "disruptive", "flagrant", "flagrant1", "flagrant2", "disqualifying"}

// String returns the kind's word.
func (k Kind) String() string { return kindNames[k] }

// KindNamed returns the kind of that word, whatever the set.
func KindNamed(name string) (Kind, bool) {
	i := indexOf(kindNames, name)
	return Kind(max(i, 0)), i >= 0
}

// Foul returns how the set counts that kind; false where the set lacks it. Plain technical is the first class
// where a set has two.
func (s *Set) Foul(k Kind) (Foul, bool) {
	if k == Technical && !s.Fouls[k].Has {
		k = Technical1
	}
	return s.Fouls[k], s.Fouls[k].Has
}

// KindList names the kinds of foul that the set has, for a refusal.
func (s *Set) KindList() string {
	var names []string
	for k := range KindCount {
		if _, has := s.Foul(k); has {
			names = append(names, k.String())
		}
	}
	return strings.Join(names, ", ")
}

// TimeoutKind is a kind of charged timeout; its index in a set's Timeouts.
type TimeoutKind uint8

// The kinds of charged timeout.
const (
	Full TimeoutKind = iota
	Short
	TimeoutKinds
)

var timeoutNames = []string{"full", "short"}

// String returns the kind's word.
func (k TimeoutKind) String() string { return timeoutNames[k] }

// TimeoutNamed returns the kind of that word, whatever the set.
func TimeoutNamed(name string) (TimeoutKind, bool) {
	i := indexOf(timeoutNames, name)
	return TimeoutKind(max(i, 0)), i >= 0
}

// HasTimeout tells whether the set has that kind.
func (s *Set) HasTimeout(k TimeoutKind) bool { return s.Timeouts[k].Length > 0 }

// DefaultTimeout returns the kind that is meant when none is named: full, else the only one.
func (s *Set) DefaultTimeout() (TimeoutKind, bool) {
	for k := range TimeoutKinds {
		if s.HasTimeout(k) {
			return k, true
		}
	}
	return 0, false
}

// TimeoutList names the kinds of charged timeout that the set has, for a refusal.
func (s *Set) TimeoutList() string {
	var names []string
	for k := range TimeoutKinds {
		if s.HasTimeout(k) {
			names = append(names, k.String())
		}
	}
	return strings.Join(names, ", ")
}

func indexOf(names []string, name string) int {
	for i, n := range names {
		if n == name {
			return i
		}
	}
	return -1
}
