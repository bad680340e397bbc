package graphic

import (
	"rafter/overlay/content"
	"rafter/overlay/theme"
)

func drawStrip(p *Pen, c *content.Content) { p.rect(whole(nil, p.size), 0, p.colour(theme.Plate)) }
