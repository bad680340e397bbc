package graphic

import (
	"image"

	"rafter/overlay/content"
	"rafter/overlay/layout"
	"rafter/overlay/theme"
)

// bugPlan is where everything stands in a picture: home at the left, the clock's floor in the middle, away
// the mirror of home. Places never depend on the content.
type bugPlan struct {
	scale        layout.Scale
	whole        image.Rectangle // all that may be touched: the tab above the board
	tab, board   image.Rectangle
	floor        image.Rectangle
	clock, foot  image.Rectangle
	stroke, gap  int
	corner, pad  int
	panel, score image.Rectangle // home's; so are the next
	fouls, outs  image.Rectangle
	lamp         image.Rectangle
}

func planBug(t *theme.Theme, size image.Point) bugPlan {
	b := &t.Bug
	safe := layout.Safe(size, layout.TitleSafe)
	s := layout.ScaleOf(size).Within(b.Width, safe.Dx())
	p := bugPlan{scale: s, stroke: s.Line(b.Stroke), gap: s.Line(b.Gap), corner: s.Px(b.Corner), pad: s.Px(b.Pad)}
	tab, upper, rail := s.Px(b.Tab), s.Px(b.Board), s.Px(b.Rail)
	p.whole = layout.Place(safe, image.Pt(min(s.Px(b.Width), safe.Dx()), tab+upper+rail), b.Anchor)
	p.tab, p.board = layout.CutTop(p.whole, tab)
	inner := layout.Inset(p.board, p.gap, p.gap)
	p.floor = layout.Place(inner, image.Pt(s.Px(b.Centre), inner.Dy()), layout.Centre)
	p.clock, p.foot = layout.CutTop(p.floor, upper-p.gap)
	home := image.Rect(inner.Min.X, inner.Min.Y, p.floor.Min.X, inner.Max.Y)
	row, foot := layout.CutTop(home, upper-p.gap)
	p.score, p.panel = layout.CutRight(row, s.Px(b.Score))
	p.lamp, foot = layout.CutRight(foot, s.Px(b.Score))
	p.lamp = layout.Inset(p.lamp, p.gap, p.gap)
	foot = layout.Inset(foot, p.pad, 0)
	p.outs, p.fouls = layout.CutRight(foot, foot.Dx()/3)
	p.fouls.Max.X -= p.pad / 2
	return p
}

func bugBox(t *theme.Theme, size image.Point) image.Rectangle { return planBug(t, size).whole }

func drawBug(p *Pen, c *content.Content) {
	t := &p.theme.Bug
	b := planBug(p.theme, p.size)
	p.bugTab(&b, c)
	p.rect(b.board, b.corner, p.colour(theme.Plate))
	name := p.alike(layout.Inset(b.panel, b.pad, 0), t.Name.Font, b.scale.Px(t.Name.Cap), c.Teams[0].Short, c.Teams[1].Short)
	for team := range c.Teams {
		p.bugTeam(&b, c, team, name)
	}
	p.floor(b.floor, max(0, b.corner-b.gap), 4, max(1, b.stroke/2))
	ink := p.colour(theme.Ink)
	var buffer [20]byte
	if c.Phase == content.Over {
		p.label(layout.Inset(b.floor, b.pad, 0), centre, t.Name.Font, b.scale.Px(t.Name.Cap), ink, c.Label)
	} else {
		p.digits(b.clock, centre, t.Clock.Font, b.scale.Px(t.Clock.Cap), ink, string(c.Clock.Bytes(buffer[:0])), "00:00")
	}
	p.bugFoot(&b, c)
}

// bugTeam draws a team's half; name is the height of its name's capitals.
func (p *Pen) bugTeam(b *bugPlan, c *content.Content, team, name int) {
	t, own := &p.theme.Bug, &c.Teams[team]
	at := func(r image.Rectangle) image.Rectangle { return side(r, b.board, team) }
	ink := p.paintwork(at(b.panel), max(0, b.corner-b.gap), b.stroke, c, team)
	p.words(layout.Inset(at(b.panel), b.pad, 0), outward(team), t.Name.Font, name, ink, own.Short)
	var buffer [20]byte
	line := p.colour(theme.Line)
	points := p.digits(at(b.score), centre, t.Points.Font, b.scale.Px(t.Points.Cap), line, string(number(buffer[:], own.Score)), "000")
	dot := b.scale.Line(t.Dot)
	p.fouls(at(b.fouls), dot, b.stroke, own, team)
	p.timeouts(at(b.outs), dot*4/3, own, team)
	if c.Phase != content.Over {
		p.lamp(at(b.lamp), t.Lamp.Font, b.scale.Px(t.Lamp.Cap), own, team)
	}
	p.winner(points, at(b.score), b.gap, c, team)
}

// bugFoot is the row below the clock: the period in the middle, the possession arrow towards its team, the
// shot clock beside the period where there is one.
func (p *Pen) bugFoot(b *bugPlan, c *content.Content) {
	t, ink := &p.theme.Bug, p.colour(theme.Ink)
	cap := b.scale.Px(t.Label.Cap)
	_, label := layout.CutLeft(b.foot, b.foot.Dx()/5)
	_, label = layout.CutRight(label, b.foot.Dx()/5)
	if c.Shot.Len() > 0 {
		var plate image.Rectangle
		var buffer [20]byte
		plate, label = layout.CutRight(label, label.Dx()/2)
		plate = layout.Inset(plate, b.gap, b.gap/2)
		p.rect(plate, b.corner/2, p.colour(theme.Plate))
		p.digits(plate, centre, t.Shot.Font, b.scale.Px(t.Shot.Cap), p.colour(theme.Line), string(c.Shot.Bytes(buffer[:0])), "00")
	}
	if c.Phase != content.Over {
		p.label(label, centre, t.Label.Font, cap, ink, c.Label)
	}
	if c.Arrow != content.None {
		slot, _ := layout.CutLeft(b.foot, b.foot.Dx()/5)
		arrow := layout.Place(slot, image.Pt(min(slot.Dx()*3/4, cap*3/2), cap), layout.Centre)
		p.arrow(side(arrow, b.floor, c.Arrow.Index()), c.Arrow.Index(), ink)
	}
}

// bugTab is the cloth behind the board: a timeout and its clock at the right, else a player's line or a
// message. It is there only while it has something to say.
func (p *Pen) bugTab(b *bugPlan, c *content.Content) {
	if !c.Timeout.On && c.Lower.Empty() && c.Message == "" {
		return
	}
	t, ink := &p.theme.Bug, p.colour(theme.Ink)
	cloth := layout.Inset(b.tab, b.corner, 0)
	hang := cloth
	hang.Max.Y += b.corner + b.gap // its foot is behind the board
	p.rect(hang, b.corner, p.colour(theme.Plate))
	p.rect(layout.Inset(hang, b.stroke, b.stroke), max(0, b.corner-b.stroke), p.colour(theme.Cloth))
	cap := b.scale.Px(t.Note.Cap)
	p.noteRow(layout.Inset(cloth, b.pad, 0), b.pad, t.Note.Font, cap, ink, c)
}
