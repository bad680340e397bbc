package main

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"
)

func TestListNamesEveryTask(t *testing.T) {
	var out strings.Builder
	if err := run(&dev{t.Context(), &out, &out}, nil); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"start", "test", "bench", "golden", "chain", "house", "soak", "fuzz", "mutate", "build"} {
		if !strings.Contains(out.String(), "\n  "+name+" ") {
			t.Errorf("the list does not name %s:\n%s", name, &out)
		}
	}
	if err := run(&dev{t.Context(), &out, &out}, []string{"tset"}); err == nil || !strings.Contains(err.Error(), `no task "tset"`) {
		t.Errorf("an unknown task gives %v", err)
	}
}

func TestParseBenchmarks(t *testing.T) {
	p := runtime.GOMAXPROCS(0)
	out := fmt.Sprintf(`goos: linux
BenchmarkTick-%[1]d    100    2000 ns/op    0 B/op    0 allocs/op
BenchmarkTick-%[1]d    100    4000 ns/op    0 B/op    1 allocs/op
BenchmarkPlain-%[1]d   100    8000 ns/op
BenchmarkTorn-%[1]d    100
PASS
`, p)
	s := benchSamples{}
	parseBenchmarks(s, "./overlay", out)
	for _, c := range []struct {
		bench, field string
		want         []float64
	}{
		{"Tick", "ns/op", []float64{2000, 4000}},
		{"Tick", "allocs/op", []float64{0, 1}},
		{"Plain", "ns/op", []float64{8000}},
		{"Torn", "ns/op", nil},
	} {
		if got := s.of("./overlay", c.bench, c.field); !slices.Equal(got, c.want) {
			t.Errorf("%s %s: got %v, want %v", c.bench, c.field, got, c.want)
		}
	}
}

func TestJudge(t *testing.T) {
	five := func(v float64) []float64 { return []float64{v, 1e9, v, v, 0} } // outliers leave the median alone
	for _, c := range []struct {
		name         string
		m            measure
		values, twin []float64
		want         string
	}{
		{"within", measure{name: "tick", unit: "us", budget: 20, scale: 1e-3}, five(5000), nil, "tick 5 us budget=20 ratio=none against=none ok"},
		{"over_the_budget", measure{name: "tick", unit: "us", budget: 20, scale: 1e-3}, five(25000), nil, "tick 25 us budget=20 ratio=none against=none over"},
		{"no_budget", measure{name: "append", unit: "us", budget: none}, five(7), nil, "append 7 us budget=none ratio=none against=none ok"},
		{"zero_is_a_budget", measure{name: "allocs", unit: "allocs", budget: 0}, five(1), nil, "allocs 1 allocs budget=0 ratio=none against=none over"},
		{"over_the_ratio", measure{name: "tick", unit: "us", budget: 20, scale: 1e-3, against: "Plain", ratio: 0.5}, five(6000), []float64{1e4, 1e4, 1e4, 1e4, 1e4}, "tick 6 us budget=20 ratio=0.6 against=Plain over"},
		{"twin_missing", measure{name: "tick", unit: "us", budget: 20, scale: 1e-3, against: "Plain", ratio: 0.5}, five(6000), nil, "tick 6 us budget=20 ratio=0 against=Plain over"},
	} {
		if got := c.m.judge(c.values, c.twin).String(); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
}

func TestFuzzTargets(t *testing.T) {
	got := fuzzTargets("FuzzParse\nFuzzLine\nok  \trafter/engine/script\t0.01s\n?   \trafter/themes\t[no test files]\nok  \trafter/overlay\t0.1s\nFuzzTheme\nok  \trafter/overlay/theme\t0.2s\n")
	want := []fuzzTarget{{"rafter/engine/script", "FuzzParse"}, {"rafter/engine/script", "FuzzLine"}, {"rafter/overlay/theme", "FuzzTheme"}}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestShort(t *testing.T) {
	for d, want := range map[time.Duration]string{0: "0s", 59400 * time.Millisecond: "59s", 125 * time.Second: "2m05s"} {
		if got := short(d); got != want {
			t.Errorf("short(%v) = %s, want %s", d, got, want)
		}
	}
}

func TestParseTrace(t *testing.T) {
	got, err := parseTrace([]byte(`{"frame":1,"at":0.5,"acknowledged":3,"last_event":4,"clock_ms":479990,"keys":["KeyF"]}` + "\n" + `{"frame":2,"at":0.`))
	if err != nil || len(got) != 1 || got[0].Acknowledged != 3 || got[0].ClockMS != 479990 || !slices.Equal(got[0].Keys, []string{"KeyF"}) {
		t.Errorf("got %+v, %v, want the one whole line", got, err)
	}
	if _, err := parseTrace([]byte("frame 1\n")); err == nil {
		t.Error("a line that is not JSON is accepted")
	}
}

func TestParseEvents(t *testing.T) {
	got, err := parseEvents("1 0 clock set 8:00\n2 3.25 was 1.5 score home 2 by 12\n")
	if want := []entered{{1, "clock set 8:00"}, {2, "score home 2 by 12"}}; err != nil || !slices.Equal(got, want) {
		t.Errorf("got %v, %v", got, err)
	}
	for _, bad := range []string{"1 0\n", "one 0 horn\n"} {
		if _, err := parseEvents(bad); err == nil {
			t.Errorf("%q is accepted", bad)
		}
	}
}

func TestJudgesOfTyping(t *testing.T) {
	typed := []entered{{1, "a"}, {2, "b"}, {3, "c"}}
	for _, c := range []struct {
		name string
		got  []entered
		want string
	}{
		{"all", typed, ""},
		{"lost", typed[:2], "2 of 3 strokes arrived; the first missing is c"},
		{"doubled", append(slices.Clone(typed), entered{4, "c"}), "3 strokes made 4 events; the first too many is c"},
		{"out_of_order", []entered{{1, "b"}, {2, "a"}, {3, "c"}}, `event 1 is "b", typed was "a"`},
	} {
		if got := differ(c.got, typed); got != c.want {
			t.Errorf("%s: got %q, want %q", c.name, got, c.want)
		}
	}
	if holds(typed, 3) != nil || holds(typed, 4) == nil || holds([]entered{{1, "a"}, {3, "c"}}, 1) == nil {
		t.Error("a lost or skipped event is not seen")
	}
	frames := []shown{{Frame: 1}, {Frame: 2, Keys: []string{"KeyF", "KeyJ"}, LastEvent: 1}, {Frame: 3, LastEvent: 2}}
	if got := keyFrames(frames); !slices.Equal(got, []float64{0, 1}) {
		t.Errorf("keys were in the picture after %v frames", got)
	}
}

func TestPremultipliedIsExact(t *testing.T) {
	// Every value under every alpha against c·a/255 as a fraction: nearest means |255·p − c·a| ≤ 127.
	for a := range 256 {
		for c := range 256 {
			p := int(premultiplied(1, 1, []byte{byte(c), 0, 0, byte(a)}).rgba[0])
			if d := 255*p - c*a; d > 127 || d < -127 {
				t.Fatalf("%d under alpha %d gives %d", c, a, p)
			}
		}
	}
	two := pixels{1, 2, []byte{1, 2, 3, 4, 5, 6, 7, 8}}
	if got := two.overBlack(); !slices.Equal(got, []byte{1, 2, 3, 5, 6, 7}) {
		t.Errorf("over black: %v", got)
	}
	// sha256sum of the bytes 00000001 00000002 01…08.
	if got := two.hash(); got != "2d55a09d105405ac05f6a1277daab73deb816453465a02e40f37589f166d8b84" {
		t.Errorf("hash %s", got)
	}
}
