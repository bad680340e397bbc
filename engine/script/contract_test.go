package script

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rafter/engine"
	"rafter/engine/clock"
)

// TestContract plays testdata/contract: each case is a sentence of the contract, a script, and what the view must
// show at an instant, as a path into its JSON and a value. `corrected` after the instant asks the corrected account;
// `error LINE CODE` asks for a refusal, `warns CODE` and `silent CODE` for a warning and for none.
func TestContract(t *testing.T) {
	files, err := filepath.Glob("testdata/contract/*.txt")
	if err != nil || len(files) == 0 {
		t.Fatalf("no cases: %v", err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		cases := strings.Split("\n"+string(text), "\n=== ")
		for _, c := range cases[1:] {
			title, body, _ := strings.Cut(c, "\n")
			t.Run(strings.TrimSuffix(filepath.Base(file), ".txt")+"/"+title, func(t *testing.T) { playCase(t, body) })
		}
	}
}

func playCase(t *testing.T, body string) {
	parts := strings.Split("\n"+body, "\n--- ")
	parts[0] = strings.TrimPrefix(parts[0], "\n")
	if len(parts) < 2 {
		t.Fatal("the case expects nothing")
	}
	for _, part := range parts[1:] {
		head, lines, _ := strings.Cut(part, "\n")
		words := strings.Fields(head)
		if words[0] == "error" {
			_, err := viewOf(parts[0], clock.Instant(math.MaxInt64), false)
			wantError(t, err, words[1], words[2])
			continue
		}
		at, bad := ParseTime(words[0])
		if bad != nil {
			t.Fatal(bad)
		}
		view, err := viewOf(parts[0], at, len(words) > 1 && words[1] == "corrected")
		if err != nil {
			t.Fatalf("at %s: %v", head, err)
		}
		checked := 0
		for line := range strings.Lines(lines) {
			if line = strings.TrimSpace(line); line != "" {
				checkLine(t, head, view, line)
				checked++
			}
		}
		if checked == 0 {
			t.Fatalf("at %s nothing is expected", head)
		}
	}
}

func wantError(t *testing.T, err error, line, code string) {
	t.Helper()
	var refused *Error
	if !errors.As(err, &refused) {
		t.Fatalf("accepted, want %s on line %s (err %v)", code, line, err)
	}
	if strconv.Itoa(refused.Line) != line || string(refused.Refusal.Code) != code {
		t.Errorf("refused with %s on line %d (%s), want %s on line %s", refused.Refusal.Code, refused.Line, refused.Refusal.Message, code, line)
	}
	if refused.Refusal.Expected == "" || refused.Refusal.Message == "" {
		t.Errorf("the refusal does not say what was expected: %+v", refused.Refusal)
	}
}

func viewOf(text string, at clock.Instant, corrected bool) (any, error) {
	s, err := Parse(strings.NewReader(text))
	if err != nil {
		return nil, err
	}
	run, err := s.Begin(Published, "")
	if err != nil {
		return nil, err
	}
	until := at
	if corrected {
		until = math.MaxInt64
	}
	if err := run.Until(until, Watch{}); err != nil {
		return nil, err
	}
	if at == math.MaxInt64 {
		return nil, nil
	}
	view := run.Game().View(at)
	if corrected {
		view = run.Game().Corrected().View(at)
	}
	return decoded(view)
}

func decoded(view engine.View) (any, error) {
	b, err := json.Marshal(view)
	if err != nil {
		return nil, err
	}
	var v any
	err = json.Unmarshal(b, &v)
	return v, err
}

func checkLine(t *testing.T, at string, view any, line string) {
	t.Helper()
	path, want, _ := strings.Cut(line, " ")
	if path == "warns" || path == "silent" {
		found := ""
		for _, w := range view.(map[string]any)["warnings"].([]any) {
			found += fmt.Sprint(w.(map[string]any)["code"], " ")
		}
		if strings.Contains(" "+found, " "+want+" ") != (path == "warns") {
			t.Errorf("at %s: %s: the warnings are %q", at, line, found)
		}
		return
	}
	got, ok := lookUp(view, path)
	b, _ := json.Marshal(got)
	if !ok || string(b) != want {
		t.Errorf("at %s: %s is %s, want %s", at, path, b, want)
	}
}

// lookUp follows a dotted path; a step into a list of players is a jersey number.
func lookUp(v any, path string) (any, bool) {
	for step := range strings.SplitSeq(path, ".") {
		switch in := v.(type) {
		case map[string]any:
			next, ok := in[step]
			if !ok {
				return nil, false
			}
			v = next
		case []any:
			found := false
			for _, p := range in {
				if m, ok := p.(map[string]any); ok && m["number"] == step {
					v, found = p, true
				}
			}
			if step == "count" {
				v, found = len(in), true
			}
			if !found {
				return nil, false
			}
		default:
			return nil, false
		}
	}
	return v, true
}
