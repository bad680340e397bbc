package main

import (
	"image"
	"io"
	"os"

	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/horn"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/windowcli"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/public"
	"rafter/overlay/output/window"
)

// app is the game in its window: strokes in, one scene a frame out. Everything here runs on the window's
// goroutine.
type app struct {
	asked   windowcli.Options
	time    host.Time
	host    *host.Host
	desk    *desk.Desk
	player  *player // of a script; nil for a game played by hand
	horn    *horn.Horn
	trace   *trace
	signals <-chan os.Signal

	picture *picture.Picture // on air
	strip   *operator
	edits   edits
	lacking []lack
	begin   func() // serves the pages, once the first frame is shown; nil afterwards
	pages   pages
	panel   panel

	game       string // its id
	view       engine.View
	names      public.Names                // how much of the players' names goes on air
	aired      engine.View                 // what is on air: without the rest, and as late as was asked
	opened     engine.Maybe[clock.Instant] // the instant of the first frame
	stripped   bool                        // the strip is below the picture
	lent       bool                        // it is there only for what it asks
	fullScreen bool
	asking     resize
	panes      [4]window.Pane
	say        io.Writer
}

// resize is a size that the window was asked to have. Until it has it, or waits long enough to believe that it
// never will, the picture keeps its size.
type resize struct {
	size  image.Point
	waits int // updates
}

const resizeWaits = 30

// update is one frame: every stroke that has come is in the picture that it returns.
func (a *app) update(in window.Input) (window.Scene, error) {
	if a.begin != nil && a.opened.OK {
		a.begin()
		a.begin = nil
	}
	a.lookForAnother()
	closes := a.strokes(in.Keys)
	at := a.host.Now()
	a.player.play(a, at)
	closes = a.act(a.desk.Tick(at)) || closes
	if in.Close {
		closes = a.act(a.desk.AskClose(at, a.unsaved())) || closes
	}
	a.lend()
	if site, _ := a.pages.now(); a.panel.ends(site) {
		a.closeCodes()
	}
	a.takeTheme()
	a.host.ViewInto(&a.view, at)
	a.horn.Sound(a.view.Horn)
	acknowledged := a.host.Acknowledged()

	scene := window.Scene{FullScreen: a.fullScreen, Size: a.asking.size}
	scene.Close = closes || a.over(at)
	var err error
	scene.Panes, err = a.draw(in.Size, at, acknowledged)
	a.trace.frame(&a.aired, acknowledged, a.edits.taken)
	return scene, err
}

// strokes hands the keys to the desk in their order and does what it asks for.
func (a *app) strokes(keys []window.Stroke) (closes bool) {
	for _, k := range keys {
		at := a.host.Now()
		if k.Down {
			a.trace.key(k.Code)
			a.strip.leave(k.Code)
			if k.Code == "Escape" && a.panel.leaf != closed {
				a.closeCodes()
			}
			closes = a.act(a.desk.Press(k.Code, at)) || closes
		} else {
			closes = a.act(a.desk.Release(k.Code, at)) || closes
		}
	}
	return closes
}

// act does what the desk asks for, and tells whether that is to close.
func (a *app) act(do desk.Action, any bool) (closes bool) {
	if !any {
		return false
	}
	switch do.Do {
	case desk.Command:
		a.desk.Did(a.host.Do(a.desk.Name, do.Command))
		a.lookForAnother()
	case desk.FullScreen:
		a.fullScreen = !a.fullScreen
	case desk.HideStrip:
		a.showStrip(!a.stripped)
	case desk.ShowKeys:
		if !a.stripped {
			a.showStrip(true)
		}
		a.strip.turn(a.desk.Table)
	case desk.ShowCodes:
		a.turnCodes()
	case desk.Close:
		return true
	}
	return false
}

// lookForAnother has the desk forget what it keyed in the game before, whichever hand has begun another.
func (a *app) lookForAnother() {
	if game, _ := a.host.Moment(); game != a.game {
		a.game = game
		a.desk.Anew()
	}
}

// unsaved is why a game that is not all on disk should not be closed; empty where it is.
func (a *app) unsaved() string {
	for _, n := range a.host.Notices() {
		if n.Code == host.NotSaved {
			return "not all of the game is saved"
		}
	}
	return ""
}

// lend shows a strip that is hidden for as long as it asks something, or says that the picture is not current.
func (a *app) lend() {
	switch asks := a.desk.Asks() || a.host.Silent() >= host.StaleAfter; {
	case asks && !a.stripped:
		a.lent = true
		a.showStrip(true)
	case !asks && a.lent:
		a.lent = false
		a.showStrip(false)
	}
}

// showStrip shows or hides the strip. The window grows or shrinks by it, so that the picture stays as it is.
func (a *app) showStrip(yes bool) {
	a.stripped = yes
	if !yes {
		a.panel.leaf = closed // it lies below the strip
	}
	if !a.fullScreen {
		a.asking = resize{windowFor(a.picture.Size(), a.below(), sides(a.asked.Background)), resizeWaits}
	}
}

// below is what lies below the picture now.
func (a *app) below() below {
	switch {
	case !a.stripped:
		return nothing
	case a.panel.leaf != closed && !a.panel.over:
		return withPanel
	}
	return theStrip
}

// turnCodes opens the panel with codes, goes to its next leaf or closes it.
func (a *app) turnCodes() {
	was := a.panel.leaf
	switch a.panel.turn(a.pages.now()); {
	case a.panel.leaf == closed:
		a.closeCodes()
	case was == closed: // in full screen there is no room but the strip's
		a.panel.over, a.panel.lent = a.fullScreen, !a.stripped
		a.showStrip(true)
	}
}

// closeCodes closes the panel with codes, and a strip that was there only for it.
func (a *app) closeCodes() {
	a.panel.leaf = closed
	a.showStrip(!a.panel.lent)
}

// over tells whether the program is to end by itself.
func (a *app) over(at clock.Instant) bool {
	select {
	case <-a.signals:
		return true
	default:
	}
	if !a.opened.OK {
		a.opened = engine.Some(at)
	}
	return a.asked.Length > 0 && at.Sub(a.opened.Value) >= a.asked.Length
}

func (a *app) draw(size image.Point, at clock.Instant, acknowledged int) ([]window.Pane, error) {
	n := sides(a.asked.Background)
	if a.asking.waits > 0 {
		a.asking.waits--
		switch {
		case size == a.asking.size:
			a.asking.waits = 0
		case a.asking.waits == 0 && a.below() == withPanel: // it never will: the picture matters more than the panel
			a.panel.over = true
			a.showStrip(true)
			fallthrough
		default:
			size = a.asking.size
		}
	}
	l := lay(size, a.below(), n)
	if err := a.picture.Resize(l.picture.Size()); err != nil {
		return nil, err
	}
	a.host.Shown(&a.aired, a.asked.Serving.Delay)
	a.names.View(&a.aired)
	f, damage := a.picture.Show(&a.aired)
	panes := append(a.panes[:0], window.Pane{Frame: f, Damage: damage})
	if n == 2 {
		panes[0].Mode = window.Fill
		panes = append(panes, window.Pane{Frame: f, Damage: damage, Place: l.key.Min, Mode: window.Key})
	}
	a.strip.compose(a, at, acknowledged)
	if a.stripped {
		f, damage, err := a.strip.draw(l.strip.Size())
		if err != nil {
			return nil, err
		}
		panes = append(panes, window.Pane{Frame: f, Damage: damage, Place: l.strip.Min})
	}
	return a.panel.draw(panes, l)
}
