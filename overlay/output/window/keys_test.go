package window

import (
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/hajimehoshi/ebiten/v2"
)

// words reads a file of testdata without its comments.
func words(t *testing.T, name string) []string {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Fields(regexp.MustCompile(`(?m)^#.*$`).ReplaceAllString(string(b), ""))
}

// Source of the list: see its head.
func TestKeysHaveTheCodesOfTheStandard(t *testing.T) {
	standard := words(t, "w3c-codes.txt")
	var polled []string
	for k := range ebiten.KeyMax {
		if c := Code(k); c != "" {
			polled = append(polled, c)
		}
	}
	for _, tt := range []struct {
		name    string
		codes   []string
		without []string // keys that cannot be told apart or seen that way
	}{
		{"as_the_server_numbers_them", evdev[:], nil},
		{"as_the_library_polls_them", polled, strings.Fields("IntlRo IntlYen Convert KanaMode Lang1 Lang2 NonConvert NumpadComma")},
	} {
		t.Run(tt.name, func(t *testing.T) {
			seen := map[string]bool{"": true}
			for _, c := range tt.codes {
				if c != "" && seen[c] {
					t.Errorf("%s stands for two keys", c)
				}
				if c != "" && !slices.Contains(standard, c) {
					t.Errorf("%s is no code of the standard", c)
				}
				seen[c] = true
			}
			for _, c := range standard {
				if seen[c] == slices.Contains(tt.without, c) {
					t.Errorf("%s: found %v", c, seen[c])
				}
			}
		})
	}
}

// Source: the kernel's own header where it is installed; the pairs of names that differ are in kernel-names.txt.
func TestTheServersNumbersAreTheKernels(t *testing.T) {
	header, err := os.ReadFile("/usr/include/linux/input-event-codes.h")
	if err != nil {
		t.Skip("no kernel headers here: ", err)
	}
	other := words(t, "kernel-names.txt")
	checked := 0
	for _, m := range regexp.MustCompile(`(?m)^#define KEY_(\w+)\s+(\d+)\b`).FindAllStringSubmatch(string(header), -1) {
		n, err := strconv.Atoi(m[2])
		if err != nil || n >= len(evdev) || evdev[n] == "" {
			continue
		}
		want := spelled(m[1], other)
		if evdev[n] != want {
			t.Errorf("key %d is %s, want %s (KEY_%s)", n, evdev[n], want, m[1])
		}
		checked++
	}
	if checked < 110 {
		t.Errorf("only %d keys were found in the header", checked)
	}
}

// spelled writes the kernel's name of a key as the standard does.
func spelled(name string, other []string) string {
	for i := 0; i < len(other); i += 2 {
		if other[i] == name {
			return other[i+1]
		}
	}
	switch {
	case len(name) == 1 && name[0] <= '9':
		return "Digit" + name
	case len(name) == 1:
		return "Key" + name
	case strings.HasPrefix(name, "KP"):
		return "Numpad" + name[2:]
	case regexp.MustCompile(`^F\d+$`).MatchString(name):
		return name
	}
	for _, pair := range []string{"CapsLock", "NumLock", "ScrollLock", "PageUp", "PageDown"} {
		if strings.EqualFold(pair, name) {
			return pair
		}
	}
	return name[:1] + strings.ToLower(name[1:])
}

func TestStrokesAreHandedUpOnceAndInOrder(t *testing.T) {
	for _, tt := range []struct {
		name string
		put  string // codes, each with + for down and - for up
		want string
	}{
		{"two_keys_rolled_over", "+KeyA +KeyB -KeyA -KeyB", "+KeyA +KeyB -KeyA -KeyB"},
		{"a_held_key_repeats", "+KeyA +KeyA +KeyA -KeyA", "+KeyA -KeyA"},
		{"a_tap_within_a_frame_twice", "+KeyA -KeyA +KeyA -KeyA", "+KeyA -KeyA +KeyA -KeyA"},
		{"an_up_that_had_no_down", "-KeyA +KeyB", "+KeyB"},
		{"a_key_without_a_code", "+ -", ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var k keys
			for _, s := range strings.Fields(tt.put) {
				k.put(s[1:], s[0] == '+')
			}
			if got := spell(k.take()); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
			if again := k.take(); len(again) != 0 {
				t.Errorf("handed up twice: %q", spell(again))
			}
		})
	}
}

func spell(strokes []Stroke) string {
	var b []string
	for _, s := range strokes {
		b = append(b, map[bool]string{true: "+", false: "-"}[s.Down]+s.Code)
	}
	return strings.Join(b, " ")
}

func TestLosingTheKeyboardReleasesWhatIsHeld(t *testing.T) {
	var k keys
	for _, c := range []string{"Space", "IntlRo", "KeyA"} {
		k.put(c, true)
	}
	k.put("KeyA", false)
	k.take()
	k.release()
	got := strings.Fields(spell(k.take()))
	slices.Sort(got)
	if want := []string{"-IntlRo", "-Space"}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestStrokesOfAStalledWindowAreBounded(t *testing.T) {
	var k keys
	for range maxKeys {
		k.put("KeyA", true)
		k.put("KeyA", false)
	}
	if n := len(k.take()); n != maxKeys {
		t.Errorf("%d strokes wait, want %d", n, maxKeys)
	}
}
