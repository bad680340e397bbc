package desk

import (
	"fmt"
	"strconv"
	"strings"
)

// coach stands in the place of a jersey number.
const coach = "coach"

// maxEntry bounds what may be typed: five numbers for the floor fit.
const maxEntry = 24

// entry is what has been typed and waits for its act: numbers parted by dashes, or coach.
type entry string

func (e entry) add(s string) entry {
	switch {
	case s == coach:
		return coach
	case e == coach:
		e = ""
	}
	if len(e)+len(s) > maxEntry || s == "-" && (e == "" || strings.HasSuffix(string(e), "-")) {
		return e
	}
	return e + entry(s)
}

func (e entry) erase() entry {
	if e == coach || e == "" {
		return ""
	}
	return e[:len(e)-1]
}

func (e entry) numbers() []string {
	return strings.FieldsFunc(string(e), func(r rune) bool { return r == '-' })
}

// one returns the single number typed.
func (e entry) one(what string) (string, error) {
	n := e.numbers()
	if len(n) != 1 || e == coach {
		return "", fmt.Errorf("type %s first, then the key", what)
	}
	return n[0], nil
}

// by adds the person to words, where one was typed.
func (e entry) by(words string) (string, error) {
	switch n := e.numbers(); len(n) {
	case 0:
		return words, nil
	case 1:
		return words + " by " + n[0], nil
	}
	return "", fmt.Errorf("%q is more than one player", string(e))
}

// reading makes a clock's reading of the digits as they stand on a clock: 432 is 4:32, 45 is 45 seconds, and
// what follows a dash are tenths or finer.
func (e entry) reading() (string, error) {
	whole, fraction, dash := strings.Cut(string(e), "-")
	if whole == "" || e == coach || strings.Contains(fraction, "-") || len(whole) > 4 || len(fraction) > 3 {
		return "", fmt.Errorf("type the reading first: 4 3 2 for 4:32, 4 3 2 - 1 for 4:32.1")
	}
	if len(whole) > 2 {
		minutes, seconds := whole[:len(whole)-2], whole[len(whole)-2:]
		if seconds > "59" {
			return "", fmt.Errorf("%s:%s is not a reading: seconds go to 59", minutes, seconds)
		}
		whole = minutes + ":" + seconds
	} else {
		n, err := strconv.Atoi(whole)
		if err != nil {
			return "", fmt.Errorf("%q is not a number", whole)
		}
		whole = fmt.Sprintf("%d:%02d", n/60, n%60)
	}
	if dash && fraction != "" {
		whole += "." + fraction
	}
	return whole, nil
}

// seconds makes seconds of the digits: 14 is 14, 11-3 is 11.3.
func (e entry) seconds() (string, error) {
	n := e.numbers()
	if len(n) < 1 || len(n) > 2 || e == coach {
		return "", fmt.Errorf("type the seconds first: 1 4, or 1 1 - 3 for 11.3")
	}
	return strings.Join(n, "."), nil
}
