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
	for _, name := range []string{"start", "test", "bench", "golden", "chain", "house", "soak", "fuzz", "build"} {
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
