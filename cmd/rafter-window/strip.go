package main

import (
	"fmt"
	"image"
	"io"
	"strings"
	"unicode/utf8"

	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/windowcli"
	"rafter/engine/clock"
	"rafter/engine/script"
	"rafter/overlay/content"
	"rafter/overlay/frame"
	"rafter/overlay/output/window"
)

// operator is what only the operator sees: the strip, as pixels or as lines in the terminal.
type operator struct {
	picture  *picture.Picture
	strip    content.Content
	pages    [][]desk.Hint // of the table of keys
	page     int           // shown in place of the hints, from 1; 0 for none
	terminal io.Writer     // nil: the strip is not told there
	told     string
	standing string    // what was wrong from the start, such as a mistake in the settings
	other    string    // what another hand has keyed, in words, and
	seq      int64     // as what that was published
	say      io.Writer // what goes wrong later is said here too: the strip may be out of sight
	said     host.Said
}

// compose makes the strip's content for the instant.
func (o *operator) compose(a *app, at clock.Instant, acknowledged int) {
	s := a.desk.Strip(&a.view, at)
	d := content.Desk{
		Entry: s.Entry, Last: s.Last, LastNumber: s.Number, Saved: s.Number > 0 && acknowledged >= s.Number, Unkept: a.unkept(),
		Other: o.others(a, s.Number), Wrong: o.wrong(a, s), HoldFor: s.HoldFor, Held: s.Held,
	}
	if o.page > 0 {
		s.Hints = o.pages[o.page-1]
	}
	if a.asked.Join != "" && o.page == 0 {
		s.Hints = nil // of commands that are given elsewhere
	}
	for _, h := range s.Hints {
		d.AddHint(h.Key, h.Does)
	}
	now := a.view
	now.Past = nil // the desk sees at once what a picture may have to wait with
	o.strip.From(&now)
	o.strip.Desk = d
	o.tell(&d)
}

// others says what has been keyed last, where it is not this desk's event of that number; empty for nothing.
func (o *operator) others(a *app, own int) string {
	switch last := a.host.Latest(); {
	case last.Event.Number == own || last.Event.Number == 0:
		return ""
	case last.Seq != o.seq:
		o.seq, o.other = last.Seq, fmt.Sprintf("%s: %d %s", last.Event.Desk, last.Event.Number, script.Format(last.Event.Command))
	}
	return o.other
}

// wrong is one sentence: what was just refused, then the gravest of what stands.
func (o *operator) wrong(a *app, s desk.Strip) string {
	all := troubles(a)
	o.report(all)
	switch {
	case s.Wrong != "":
		return s.Wrong
	case len(all) > 0:
		return all[0].Text
	}
	return o.standing
}

// troubles are what stands now, the gravest first.
func troubles(a *app) []host.Notice {
	all := a.host.Notices()
	if w := a.horn.Wrong(); w != "" {
		all = append(all, host.Notice{Code: "no_sound", Text: w})
	}
	if _, w := a.pages.now(); w != "" {
		all = append(all, host.Notice{Code: "no_pages", Text: w})
	}
	return a.looksWrong(all)
}

// report writes each trouble once, for as long as it stands, where the strip itself is not written.
func (o *operator) report(all []host.Notice) {
	for _, n := range o.said.News(all) {
		if o.terminal == nil {
			fmt.Fprintf(o.say, "%s: %s\n", windowcli.Program, n.Text)
		}
	}
}

// tell writes the strip as a line of the terminal when it says something new.
func (o *operator) tell(d *content.Desk) {
	if o.terminal == nil {
		return
	}
	line := ""
	if d.LastNumber > 0 {
		saved := d.Unkept
		switch {
		case d.Saved:
			saved = "saved"
		case saved == "":
			saved = "not saved yet"
		}
		line = fmt.Sprintf("%d %s (%s)", d.LastNumber, d.Last, saved)
	}
	for _, more := range []string{d.Entry, d.Other, d.Wrong, d.HoldFor} {
		if more != "" {
			line += " | " + more
		}
	}
	if line != o.told {
		o.told = line
		fmt.Fprintln(o.terminal, line)
	}
}

func (o *operator) draw(size image.Point) (*frame.Frame, frame.Damage, error) {
	if err := o.picture.Resize(size); err != nil {
		return nil, frame.Damage{}, err
	}
	f, damage := o.picture.Draw(&o.strip)
	return f, damage, nil
}

// turn goes to the next page of keys, after the last back to the hints.
func (o *operator) turn(t desk.Table) {
	if o.page == 0 {
		o.pages = keyPages(t)
	}
	o.page = (o.page + 1) % (len(o.pages) + 1)
}

// leave goes back to the hints, as Escape leaves whatever is under way.
func (o *operator) leave(code string) {
	if code == "Escape" {
		o.page = 0
	}
}

// pageWidth is how many letters fit into a strip's row, each key counting keyWidth more for its frame and the space
// about it; the strip leaves out what does not fit. Both are measured at 1280 pixels, and a strip scales as a whole.
const pageWidth, keyWidth = 175, 7

// firstStrokes is how many sections of the card are of keys struck first. What comes second the desk hints at
// when the first has been struck.
const firstStrokes = 2

// keyPages cuts the table in force into rows for the strip, since the picture, being on air, is no place for it.
func keyPages(t desk.Table) (pages [][]desk.Hint) {
	sections, room := 0, 0
	title := ""
	for _, l := range t.Card() {
		if l.Strokes == "" { // a heading begins a page
			if sections++; sections > firstStrokes {
				break
			}
			title, room = l.Does+" · ", 0
			continue
		}
		h := desk.Hint{Key: l.Strokes, Does: l.Does}
		wide := utf8.RuneCountInString(h.Key+h.Does) + keyWidth
		if room < wide {
			first := desk.Hint{Key: "1 of 9", Does: title + "Esc: back"}
			pages, title = append(pages, []desk.Hint{first}), ""
			room = pageWidth - utf8.RuneCountInString(first.Key+first.Does) - keyWidth
		}
		last := len(pages) - 1
		pages[last] = append(pages[last], h)
		room -= wide
	}
	for i, p := range pages {
		p[0].Key = fmt.Sprintf("%d of %d", i+1, len(pages))
	}
	return pages
}

// labels remembers what the keyboard in use has printed on its keys; to ask costs a trip to the window's thread.
type labels map[string]string

func (l labels) of(code string) string {
	s, known := l[code]
	if !known && !strings.HasPrefix(code, "Numpad") { // those write what others write: the desk says which it is
		s = strings.ToUpper(window.Label(code))
		l[code] = s
	}
	return s
}
