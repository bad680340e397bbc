package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"runtime"
	"slices"
	"strconv"
	"strings"
)

// measure is one figure of the bench: where it comes from and what it may be.
type measure struct {
	name, unit string
	budget     float64 // the highest value allowed, or none
	pkg, bench string  // a Go benchmark, * for the theme in which it is worst; with a program's figure both are empty
	field      string  // of the benchmark's line: ns/op, allocs/op, or its own
	scale      float64
	against    string // a benchmark of the same package and run to compare with
	ratio      float64
	probe      func(d *dev) ([]float64, error) // for figures of whole programs
	most       bool                            // the highest of the probe's values counts, not the median
}

const none = -1

// measures are the budgets of the design, and some figures without one.
var measures = []measure{
	{name: "clock_digit_tick_1080p", unit: "us", budget: 20, pkg: "./overlay", bench: "Tick/maple/bug", field: "ns/op", scale: 1e-3, against: "TickPlain", ratio: 0.5},
	{name: "clock_tick_bug_1080p", unit: "us", budget: 20, pkg: "./overlay", bench: "Tick/*/bug", field: "ns/op", scale: 1e-3, against: "TickPlain", ratio: 0.5},
	{name: "clock_tick_bug_1080p_allocs", unit: "allocs", budget: 0, pkg: "./overlay", bench: "Tick/*/bug", field: "allocs/op"},
	{name: "clock_tick_wall_1080p", unit: "us", budget: 20, pkg: "./overlay", bench: "Tick/*/wall", field: "ns/op", scale: 1e-3, against: "TickPlain", ratio: 0.5},
	{name: "clock_tick_wall_1080p_allocs", unit: "allocs", budget: 0, pkg: "./overlay", bench: "Tick/*/wall", field: "allocs/op"},
	{name: "clock_tick_interval_1080p", unit: "us", budget: 20, pkg: "./overlay", bench: "Tick/*/interval", field: "ns/op", scale: 1e-3, against: "TickPlain", ratio: 0.5},
	{name: "clock_tick_timeout_1080p", unit: "us", budget: 20, pkg: "./overlay", bench: "Tick/*/timeout", field: "ns/op", scale: 1e-3, against: "TickPlain", ratio: 0.5},
	{name: "motion_frame_bug_1080p", unit: "us", budget: none, pkg: "./overlay", bench: "Motion/*/bug", field: "ns/op", scale: 1e-3},
	{name: "motion_frame_bug_1080p_allocs", unit: "allocs", budget: 0, pkg: "./overlay", bench: "Motion/*/bug", field: "allocs/op"},
	{name: "motion_frame_wall_1080p_allocs", unit: "allocs", budget: 0, pkg: "./overlay", bench: "Motion/*/wall", field: "allocs/op"},
	{name: "motion_share_of_bug", unit: "percent", budget: 50, pkg: "./overlay", bench: "Motion/*/bug", field: "share"},
	{name: "motion_share_of_wall", unit: "percent", budget: 50, pkg: "./overlay", bench: "Motion/*/wall", field: "share"},
	{name: "unchanged_frame_1080p", unit: "us", budget: 1, pkg: "./overlay", bench: "Unchanged", field: "ns/op", scale: 1e-3},
	{name: "unchanged_frame_1080p_allocs", unit: "allocs", budget: 0, pkg: "./overlay", bench: "Unchanged", field: "allocs/op", scale: 1},
	{name: "cold_bug_720p", unit: "ms", budget: none, pkg: "./overlay", bench: "Cold/bug/720", field: "ns/op", scale: 1e-6},
	{name: "cold_bug_1080p", unit: "ms", budget: none, pkg: "./overlay", bench: "Cold/bug/1080", field: "ns/op", scale: 1e-6},
	{name: "cold_bug_2160p", unit: "ms", budget: 4, pkg: "./overlay", bench: "Cold/bug/2160", field: "ns/op", scale: 1e-6},
	{name: "cold_wall_720p", unit: "ms", budget: none, pkg: "./overlay", bench: "Cold/wall/720", field: "ns/op", scale: 1e-6},
	{name: "cold_wall_1080p", unit: "ms", budget: none, pkg: "./overlay", bench: "Cold/wall/1080", field: "ns/op", scale: 1e-6},
	{name: "cold_wall_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Cold/wall/2160", field: "ns/op", scale: 1e-6},
	{name: "whole_bug_2160p", unit: "ms", budget: 4, pkg: "./overlay", bench: "Repaint/*/bug", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 1},
	{name: "whole_wall_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/wall", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_interval_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/interval", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_timeout_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/timeout", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_lineup_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/lineup", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_periods_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/periods", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_final_2160p", unit: "ms", budget: 12, pkg: "./overlay", bench: "Repaint/*/final", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 4},
	{name: "whole_lower_2160p", unit: "ms", budget: 4, pkg: "./overlay", bench: "Repaint/*/lower", field: "ns/op", scale: 1e-6, against: "RepaintPlain", ratio: 1},
	{name: "load_theme", unit: "ms", budget: 50, pkg: "./overlay", bench: "Load/*/wall", field: "ns/op", scale: 1e-6, against: "LoadJSON", ratio: 6},
	{name: "fold_an_event", unit: "ns", budget: 1000, pkg: "./engine", bench: "Fold", field: "ns/event", scale: 1, against: "JSONCommands", ratio: 0.5},
	{name: "apply_an_event_allocs", unit: "allocs", budget: 0, pkg: "./engine", bench: "Apply", field: "allocs/op", scale: 1, against: "JSONCommands", ratio: 0},
	{name: "undo_deep_in_2000_events", unit: "ms", budget: 1, pkg: "./engine", bench: "UndoDeep", field: "ns/op", scale: 1e-6, against: "JSONCommands", ratio: 0.5},
	{name: "resume_2000_events_with_beats", unit: "ms", budget: 10, pkg: "./cmd/internal/host", bench: "Resume", field: "ns/op", scale: 1e-6, against: "JSONLines", ratio: 0.6},
	{name: "log_append_to_acknowledged", unit: "us", budget: none, pkg: "./cmd/internal/host", bench: "AppendAcknowledged", field: "ns/op", scale: 1e-3},
	{name: "feed_event_to_viewer_p99", unit: "ms", budget: 20, pkg: "./cmd/internal/serve", bench: "FeedToViewer", field: "p99-ms"},
	{name: "page_bug_processor_time", unit: "ms/s", budget: none, pkg: "./cmd/internal/serve", bench: "Page/bug", field: "ms/s", against: "Page/text", ratio: 1},
	{name: "page_bug_canvas", unit: "KB", budget: none, pkg: "./cmd/internal/serve", bench: "Page/bug", field: "KB"},
	{name: "command_to_page_p99", unit: "ms", budget: 20, pkg: "./cmd/internal/serve", bench: "CommandToPage", field: "p99-ms"},
	{name: "viewers_2000_feed_p99", unit: "ms", budget: 50, pkg: "./cmd/internal/serve", bench: "Viewers/feed", field: "p99-ms"},
	{name: "viewers_2000_onair_p99", unit: "ms", budget: 50, pkg: "./cmd/internal/serve", bench: "Viewers/onair", field: "p99-ms"},
	{name: "viewer_memory_feed", unit: "KB", budget: 64, pkg: "./cmd/internal/serve", bench: "Viewers/feed", field: "KB/viewer"},
	{name: "viewer_memory_onair", unit: "KB", budget: 64, pkg: "./cmd/internal/serve", bench: "Viewers/onair", field: "KB/viewer"},
	{name: "goroutines_left_feed", unit: "goroutines", budget: 0, pkg: "./cmd/internal/serve", bench: "Viewers/feed", field: "goroutines-left"},
	{name: "goroutines_left_onair", unit: "goroutines", budget: 0, pkg: "./cmd/internal/serve", bench: "Viewers/onair", field: "goroutines-left"},
	{name: "desk_under_attack_p99", unit: "ms", budget: 50, pkg: "./cmd/internal/serve", bench: "DeskUnderAttack", field: "p99-ms"},
	{name: "host_memory_20_viewers", unit: "MB", budget: 64, pkg: "./cmd/internal/serve", bench: "ProgramMemory", field: "MB"},
	{name: "key_to_presented_frame", unit: "frames", budget: 0, probe: keyToFrame},
	{name: "key_to_screen_1280x720", unit: "ms", budget: none, probe: keyToScreen},
	{name: "theme_save_to_window", unit: "ms", budget: 200, probe: saveToWindow, most: true},
	{name: "start_to_first_frame_headless", unit: "ms", budget: 200, probe: firstFrame},
	{name: "resident_memory_demo_1080p", unit: "MB", budget: 64, probe: demoMemory},
	{name: "resident_memory_every_graphic_1080p", unit: "MB", budget: 64, probe: everyGraphicMemory},
}

// runs is how often everything is measured; the median counts.
const runs = 5

// figure is a measure's outcome, and a line of --json.
type figure struct {
	Name    string   `json:"name"`
	Value   float64  `json:"value"`
	Unit    string   `json:"unit"`
	Budget  *float64 `json:"budget"`
	Ratio   *float64 `json:"ratio"`
	Against *string  `json:"against"`
	OK      bool     `json:"ok"`
	In      string   `json:"in,omitempty"` // the theme in which it is worst
}

func (f figure) String() string {
	result := "over"
	if f.OK {
		result = "ok"
	}
	against := "none"
	if f.Against != nil {
		against = *f.Against
	}
	name := f.Name
	if f.In != "" {
		name += ":" + f.In
	}
	return fmt.Sprintf("%s %s %s budget=%s ratio=%s against=%s %s", name, number(&f.Value), f.Unit, number(f.Budget), number(f.Ratio), against, result)
}

// number writes three significant digits, or none.
func number(v *float64) string {
	if v == nil {
		return "none"
	}
	return strconv.FormatFloat(*v, 'g', 3, 64)
}

// bench measures all, or those whose names are given, and fails if one is over its budget.
func bench(d *dev, args []string) error {
	asJSON := false
	names, err := parse(d, args, func(f *flag.FlagSet) { f.BoolVar(&asJSON, "json", false, "one JSON object a line") })
	if err != nil {
		return err
	}
	chosen, err := choose(names)
	if err != nil {
		return err
	}
	samples, err := d.benchmarks(chosen)
	if err != nil {
		return err
	}
	over := 0
	for i := range chosen {
		m := &chosen[i]
		in, values := samples.worst(m.pkg, m.bench, m.field)
		if m.probe != nil {
			if values, err = m.probe(d); err != nil {
				return fmt.Errorf("%s: %w", m.name, err)
			}
		}
		if len(values) < runs {
			return fmt.Errorf("%s: %d measurements, want %d", m.name, len(values), runs)
		}
		f := m.judge(values, samples.of(m.pkg, m.against, m.field))
		f.In = in
		if !f.OK {
			over++
		}
		if asJSON {
			err = json.NewEncoder(d.out).Encode(f)
		} else {
			_, err = fmt.Fprintln(d.out, f)
		}
		if err != nil {
			return err
		}
	}
	if over > 0 {
		return fmt.Errorf("%d over budget", over)
	}
	return nil
}

func choose(names []string) (chosen []measure, err error) {
	if len(names) == 0 {
		return measures, nil
	}
	for _, n := range names {
		i := slices.IndexFunc(measures, func(m measure) bool { return m.name == n })
		if i < 0 {
			return nil, fmt.Errorf("%w: no figure %q; bench without a name prints all", errUsage, n)
		}
		chosen = append(chosen, measures[i])
	}
	return chosen, nil
}

// judge takes the median of the values, or the most, and the median of their ratios to the twin's values of the same run.
func (m *measure) judge(values, twin []float64) figure {
	f := figure{Name: m.name, Unit: m.unit, Value: median(values) * m.scaled(), OK: true}
	if m.most {
		f.Value = slices.Max(values) * m.scaled()
	}
	if m.budget != none {
		f.Budget = &m.budget
		f.OK = f.Value <= m.budget
	}
	if m.against != "" {
		var ratios []float64
		for i := range min(len(values), len(twin)) {
			ratios = append(ratios, values[i]/twin[i])
		}
		ratio := median(ratios)
		f.Ratio, f.Against = &ratio, &m.against
		f.OK = f.OK && len(ratios) >= runs && ratio <= m.ratio
	}
	return f
}

func (m *measure) scaled() float64 {
	if m.scale == 0 {
		return 1
	}
	return m.scale
}

// median returns the middle value, the lower of two; 0 for none.
func median(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	return sorted[(len(sorted)-1)/2]
}

// benchSamples are the values of every benchmark run: package, benchmark, field → one value a run.
type benchSamples map[[3]string][]float64

func (s benchSamples) of(pkg, bench, field string) []float64 { return s[[3]string{pkg, bench, field}] }

// worst returns the values of a benchmark, and where its name has a * those of the theme with the highest median, which
// it names too.
func (s benchSamples) worst(pkg, bench, field string) (theme string, values []float64) {
	before, after, every := strings.Cut(bench, "*")
	if !every {
		return "", s.of(pkg, bench, field)
	}
	for key, v := range s {
		name, ok := strings.CutPrefix(key[1], before)
		if name, ok2 := strings.CutSuffix(name, after); key[0] == pkg && key[2] == field && ok && ok2 {
			if m, most := median(v), median(values); values == nil || m > most || m == most && name < theme {
				theme, values = name, v
			}
		}
	}
	return theme, values
}

// benchmarks runs the Go benchmarks that the measures need, package by package, nothing beside them.
func (d *dev) benchmarks(chosen []measure) (benchSamples, error) {
	need := map[string][]string{}
	var packages []string
	for _, m := range chosen {
		if m.pkg == "" {
			continue
		}
		if need[m.pkg] == nil {
			packages = append(packages, m.pkg)
		}
		for _, name := range []string{m.bench, m.against} {
			if whole, _, _ := strings.Cut(name, "/"); whole != "" { // with all its parts
				need[m.pkg] = append(need[m.pkg], whole)
			}
		}
	}
	samples := benchSamples{}
	for _, pkg := range packages {
		slices.Sort(need[pkg])
		which := "^Benchmark(" + strings.Join(slices.Compact(need[pkg]), "|") + ")$"
		// Run after run, not benchmark after benchmark: what else the machine does meets a figure and its reference alike.
		for range runs {
			out, err := d.output(nil, "go", "test", "-run", "^$", "-bench", which, "-benchmem", "-benchtime", "200ms", pkg)
			if err != nil {
				return nil, fmt.Errorf("%w\n%s", err, out)
			}
			parseBenchmarks(samples, pkg, out)
		}
	}
	return samples, nil
}

// parseBenchmarks reads lines such as "BenchmarkX-2  100  123 ns/op  0 B/op  0 allocs/op": the format of
// golang.org/design/14313-benchmark-format.
func parseBenchmarks(samples benchSamples, pkg, out string) {
	suffix := fmt.Sprintf("-%d", runtime.GOMAXPROCS(0))
	for line := range strings.Lines(out) {
		words := strings.Fields(line)
		if len(words) < 4 || !strings.HasPrefix(words[0], "Benchmark") {
			continue
		}
		name := strings.TrimSuffix(strings.TrimPrefix(words[0], "Benchmark"), suffix)
		for i := 2; i+1 < len(words); i += 2 {
			if v, err := strconv.ParseFloat(words[i], 64); err == nil {
				key := [3]string{pkg, name, words[i+1]}
				samples[key] = append(samples[key], v)
			}
		}
	}
}
