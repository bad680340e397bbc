package part

import (
	"image"

	"rafter/overlay/theme"
)

// Span is what one part has painted, for whoever measures it: operations From to To of the list, in Box.
type Span struct {
	Part     *theme.Part
	Box      image.Rectangle
	From, To int
}

// Spans returns what each part that is there has painted in the last Draw of that graphic, which must have been into an
// empty list.
func (p *Painter) Spans(name string) []Span {
	made := p.plan(name)
	var spans []Span
	for i := range made.items {
		if s := &made.state[i]; !s.gone {
			spans = append(spans, Span{made.items[i].part, made.items[i].outer, s.from, s.to})
		}
	}
	return spans
}
