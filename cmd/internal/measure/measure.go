// Package measure measures themes as the programs draw them: over the demo's whole game, read by the programs that this
// machine has, and written for people and for programs. What is measured, and against which limits, package check says.
package measure

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"rafter/cmd/internal/demo"
	"rafter/cmd/internal/ffmpeg"
	"rafter/cmd/internal/ocr"
	"rafter/cmd/internal/picture"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/script"
	"rafter/overlay/check"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/paint"
	"rafter/overlay/toml"
)

// Theme takes every measure that can be taken on this machine; the others say what they lack. progress is told how much
// is done, in thousandths. What is started ends with ctx. An error is of a program, or of a theme that cannot be drawn.
func Theme(ctx context.Context, looks *picture.Looks, progress func(thousandths int)) ([]check.Measure, error) {
	films, err := films(looks)
	if err != nil {
		return nil, err
	}
	o := check.Options{Films: films, Progress: progress}
	readers(ctx, &o)
	return looks.Measure(o)
}

// readers puts in what reads digits here.
func readers(ctx context.Context, o *check.Options) {
	reader, err := ocr.New(ctx)
	if err == nil {
		o.Read = reader
	}
	way, errWay := ffmpeg.New(ctx)
	if errWay == nil {
		o.Stream = way
	}
	if err := errors.Join(err, errWay); err != nil {
		o.Unread = strings.ReplaceAll(err.Error(), "\n", "; ")
	}
}

// filmed is how a graphic is drawn for a film.
func filmed(graphic string) picture.Options {
	return picture.Options{Graphic: graphic, Size: image.Pt(640, 360), Background: paint.Colour{R: 64, G: 64, B: 64, A: 255}}
}

// films are the demo's whole game, as the graphics that move most and as it goes on air, and a storm of keys.
func films(looks *picture.Looks) ([]check.Film, error) {
	game, err := script.Parse(strings.NewReader(demo.Game))
	if err != nil {
		return nil, err
	}
	last, err := storm(looks)
	if err != nil {
		return nil, err
	}
	var films []check.Film
	for _, name := range []string{"bug", "wall", picture.OnAir} {
		run, err := game.Begin(script.Published, "")
		if err != nil {
			return nil, err
		}
		p, err := looks.New(filmed(name))
		if err != nil {
			return nil, err
		}
		var v engine.View
		films = append(films, check.Film{
			Name: "the demo's game, " + name, Length: content.Instant(game.Last().Add(2 * time.Second)),
			Frame: func(at content.Instant) (*frame.Frame, frame.Damage) {
				_ = run.Until(clock.Instant(at), script.Watch{}) // the demo's own test has no refusals
				run.Game().ViewInto(&v, clock.Instant(at))
				return p.Show(&v)
			},
		})
	}
	return append(films, last), nil
}

// Failing counts the measures that were taken and fail.
func Failing(found []check.Measure) (n int) {
	for _, m := range found {
		if m.Unmeasured == "" && !m.Pass {
			n++
		}
	}
	return n
}

// Line is a measure in words.
type Line struct{ Name, Verdict, Value, Limit, Where, Source, About string }

// Lines puts measures in words: pass, fail or not measured, and where each is worst or why it has no value.
func Lines(found []check.Measure) (lines []Line) {
	for _, m := range found {
		l := Line{Name: m.Name, Verdict: verdict(m), Limit: limitOf(m), Where: m.Unmeasured, Source: m.Source, About: m.About}
		if m.Unmeasured == "" {
			l.Value, l.Where = valueOf(m), m.Worst
			if m.Note != "" {
				l.Where = strings.TrimSuffix(m.Note+"; "+l.Where, "; ")
			}
		}
		lines = append(lines, l)
	}
	return lines
}

// Print writes a line a measure: its name, pass or fail, value, limit, where it is worst, and who set the limit.
func Print(out io.Writer, found []check.Measure) error {
	w := tabwriter.NewWriter(out, 0, 8, 2, ' ', 0)
	for _, l := range Lines(found) {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", l.Name, l.Verdict, l.Value, l.Limit, l.Where, l.Source)
	}
	return w.Flush()
}

func verdict(m check.Measure) string {
	switch {
	case m.Unmeasured != "":
		return "not measured"
	case m.Pass:
		return "pass"
	}
	return "fail"
}

// valueOf writes a value with its unit, to two decimals and rather worse than it is, so that what fails looks so.
func valueOf(m check.Measure) string {
	v := math.Floor(m.Value*100) / 100
	if m.AtMost {
		v = math.Ceil(m.Value*100) / 100
	}
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + m.Unit
}

func limitOf(m check.Measure) string {
	least := "at least "
	if m.AtMost {
		least = "at most "
	}
	return least + strconv.FormatFloat(math.Round(m.Limit*100)/100, 'f', -1, 64)
}

// Report is what is said of a theme, for programs.
type Report struct {
	Theme    string     `json:"theme"`
	Pass     bool       `json:"pass"`
	Mistakes []Mistake  `json:"mistakes"`
	Measures []Measured `json:"measures"`
}

// Mistake is one error of a theme.
type Mistake struct {
	File    string `json:"file"`
	Row     int    `json:"row"`
	Col     int    `json:"col"`
	Message string `json:"message"`
}

// Measured is one measure; value and pass are null where it could not be taken, and unmeasured says why.
type Measured struct {
	Name       string   `json:"name"`
	About      string   `json:"about"`
	Pass       *bool    `json:"pass"`
	Value      *float64 `json:"value"`
	Limit      float64  `json:"limit"`
	AtMost     bool     `json:"at_most"`
	Unit       string   `json:"unit"`
	Source     string   `json:"source"`
	Worst      string   `json:"worst,omitempty"`
	Note       string   `json:"note,omitempty"`
	Unmeasured string   `json:"unmeasured,omitempty"`
}

// ReportOf says it of a theme with mistakes, or with measures.
func ReportOf(name string, errs toml.Errors, found []check.Measure) Report {
	r := Report{Theme: name, Pass: len(errs) == 0 && Failing(found) == 0, Mistakes: []Mistake{}, Measures: []Measured{}}
	for _, e := range errs {
		r.Mistakes = append(r.Mistakes, Mistake{e.File, e.Row, e.Col, e.Message})
	}
	for _, m := range found {
		own := Measured{m.Name, m.About, nil, nil, m.Limit, m.AtMost, m.Unit, m.Source, m.Worst, m.Note, m.Unmeasured}
		if m.Unmeasured == "" {
			own.Pass, own.Value = &m.Pass, &m.Value
		}
		r.Measures = append(r.Measures, own)
	}
	return r
}
