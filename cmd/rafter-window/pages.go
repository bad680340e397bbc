package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"sync"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/hosting"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/cmd/internal/windowcli"
	"rafter/overlay/content"
	"rafter/overlay/output/window"
)

// pages serve the window's game on the network beside it. The window never waits for them, and goes on without: the zero
// value serves nothing.
type pages struct {
	stop func() // and wait; nil where none are asked for

	mu    sync.Mutex
	site  *hosting.Site // nil: not, or not yet
	wrong string        // why there are none; empty where there are, or none are asked for
}

// serve begins to serve, in goroutines of its own.
func (p *pages) serve(c hosting.Config, game serve.Config, say io.Writer) {
	ctx, cancel := context.WithCancel(context.Background())
	var all sync.WaitGroup
	p.stop = func() { cancel(); all.Wait() }
	all.Go(func() {
		site, err := hosting.Open(c)
		if err != nil {
			cli.Report(windowcli.Program, cli.Fail("the game goes on without pages; "+hintOf(err), err), say)
			p.set(nil, fmt.Sprintf("There are no pages: %v", err))
			return
		}
		p.set(site, "")
		all.Go(func() { p.tell(ctx, site, say) })
		if err := site.Serve(ctx, game); err != nil {
			cli.Report(windowcli.Program, cli.Fail("the game goes on without pages", err), say)
			p.set(nil, fmt.Sprintf("There are no pages any more: %v", err))
		}
	})
}

func hintOf(err error) string {
	var e *cli.Error
	if errors.As(err, &e) {
		return e.Hint
	}
	return ""
}

// tell says where the pages are, and who can reach them.
func (p *pages) tell(ctx context.Context, site *hosting.Site, say io.Writer) {
	for _, a := range site.Addresses() {
		if a.Name == "pages" {
			fmt.Fprintf(say, "%s: pages %s\n", windowcli.Program, a.URL)
		}
	}
	for _, line := range append(site.Advice(), site.Try(ctx)...) {
		fmt.Fprintf(say, "%s: %s\n", windowcli.Program, line)
	}
}

func (p *pages) set(site *hosting.Site, wrong string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.site, p.wrong = site, wrong
}

// now returns where the pages are, and why they are not.
func (p *pages) now() (site *hosting.Site, wrong string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.site, p.wrong
}

// use has the pages look as the window does.
func (p *pages) use(looks *picture.Looks) {
	if site, _ := p.now(); site != nil {
		site.Use(looks)
	}
}

func (p *pages) close() {
	if p.stop != nil {
		p.stop()
	}
}

// leaf is a page of the panel with codes.
type leaf int

const (
	closed leaf = iota
	toWatch
	toRun
	leaves
)

// panel shows a code to the operator: to watch on a phone, or to run the game from one. It is never on air.
type panel struct {
	leaf    leaf
	pairing hosting.Pairing // of toRun
	content content.Content
	looks   *picture.Looks
	picture *picture.Picture // nil until it is needed: making it takes longer than the first frame should wait
	over    bool             // it lies over the strip, where the window has no more room
	covers  bool             // it did so in the last frame
	lent    bool             // the strip is there only for it
}

// turn goes to the next leaf; after the last the panel is closed.
func (p *panel) turn(site *hosting.Site, wrong string) {
	if p.leaf = (p.leaf + 1) % leaves; p.leaf == toRun && (site == nil || !site.Pairs()) {
		p.leaf = closed
	}
	if p.leaf != closed {
		p.content.Desk.Code = p.code(site, wrong)
	}
}

// ends tells whether a panel is open whose code was used or has ended.
func (p *panel) ends(site *hosting.Site) bool {
	return p.leaf == toRun && p.pairing.Code != "" && (site == nil || !site.Good(p.pairing))
}

func (p *panel) resize(size image.Point) (err error) {
	if p.picture == nil {
		p.picture, err = p.looks.New(picture.Options{Graphic: "code", Size: size})
		return err
	}
	return p.picture.Resize(size)
}

// draw puts the panel in its place, or over the strip, which is the last pane then.
func (p *panel) draw(panes []window.Pane, l layout) ([]window.Pane, error) {
	covers := p.leaf != closed && p.over
	if covers {
		panes, l.panel = panes[:len(panes)-1], l.strip
	}
	if p.leaf != closed {
		if err := p.resize(l.panel.Size()); err != nil {
			return nil, err
		}
		f, damage := p.picture.Draw(&p.content)
		panes = append(panes, window.Pane{Frame: f, Damage: damage, Place: l.panel.Min})
	}
	if covers != p.covers { // another frame in the same place
		p.covers = covers
		last := &panes[len(panes)-1]
		last.Damage.Add(last.Frame.Bounds())
	}
	return panes, nil
}

const backHint = "The same two keys: the next code, then back. Esc: back."

func (p *panel) code(site *hosting.Site, wrong string) *content.Code {
	c := content.Code{Title: "There are no pages to show", Address: wrong, Notes: []string{"Begin the window with --listen 127.0.0.1:28150, or another address.", backHint}}
	if site == nil {
		return &c
	}
	near := "Only this computer can reach it. Phones can when the window is begun with --listen 0.0.0.0:28150."
	far := "For a phone on the same network. If it does not get there: join both to a phone's hotspot."
	url, reaches := site.Watching()
	c = content.Code{Title: "Watch the score on a phone", Address: url, Notes: []string{far, backHint}}
	if p.leaf == toRun {
		pairing, err := site.Renew()
		if err != nil {
			return &content.Code{Title: "There is no code to pair with", Address: err.Error(), Notes: []string{backHint}}
		}
		p.pairing = pairing
		url = pairing.URL
		c = content.Code{Title: "Run the game from a phone or tablet", Address: pairing.Desk, Typed: "code " + pairing.Code, Notes: []string{"Scan it, or open the address and type the code. It is good once, for five minutes: show it to nobody else.", far, backHint}}
	}
	if !reaches {
		c.Notes[0] = near
		return &c
	}
	if q, err := hosting.NewSquare(url); err == nil { // an address is never too long
		c.Side, c.Dark = q.Side, q.Dark
	}
	return &c
}
