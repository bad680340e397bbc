package rules

import (
	"strconv"
	"strings"
)

// NumberSet is a set of jersey numbers 0, 00 and 1 to 99.
type NumberSet [2]uint64

// doubleZero is the place of 00, after 0 to 99.
const doubleZero = 100

func (n NumberSet) has(i int) bool { return n[i/64]>>(i%64)&1 == 1 }

func (n *NumberSet) add(i int) { n[i/64] |= 1 << (i % 64) }

// Legal tells whether the set allows the jersey number. Numbers are text: 0 and 00 are two players, 07 is none.
func (s *Set) Legal(number string) bool {
	if s.AnyNumber {
		return len(number) >= 1 && len(number) <= 3 && strings.Trim(number, "0123456789") == ""
	}
	i, ok := place(number)
	return ok && s.Numbers.has(i)
}

// NumberList writes the numbers that the set allows: any, or single ones and ranges with commas.
func (s *Set) NumberList() string {
	if s.AnyNumber {
		return "any"
	}
	var parts []string
	if s.Numbers.has(doubleZero) {
		parts = append(parts, "00")
	}
	for i := 0; i < doubleZero; i++ {
		if !s.Numbers.has(i) {
			continue
		}
		first := i
		for i+1 < doubleZero && s.Numbers.has(i+1) {
			i++
		}
		text := strconv.Itoa(first)
		if i > first {
			text += "-" + strconv.Itoa(i)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, ",")
}

func (s *Set) putNumbers(text string) bool {
	if text == "any" {
		s.AnyNumber = true
		return true
	}
	var numbers NumberSet
	for part := range strings.SplitSeq(text, ",") {
		low, high, ranged := strings.Cut(part, "-")
		first, ok := place(low)
		if !ok {
			return false
		}
		last := first
		if ranged {
			if last, ok = place(high); !ok || first >= last || last == doubleZero {
				return false
			}
		}
		for i := first; i <= last; i++ {
			numbers.add(i)
		}
	}
	s.Numbers, s.AnyNumber = numbers, false
	return true
}

func place(number string) (int, bool) {
	if number == "00" {
		return doubleZero, true
	}
	n, _ := strconv.Atoi(number) // what is no number is not written so
	if n < 0 || n > 99 || number != strconv.Itoa(n) {
		return 0, false
	}
	return n, true
}
