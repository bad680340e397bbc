package raster

import (
	"image"

	"rafter/overlay/paint"
)

// bitmap is the source of a picture's pixels, its first at a place of the frame.
type bitmap struct {
	pixels []byte
	width  int
	at     image.Point
}

func (b *bitmap) row(y, x0, x1 int) []byte {
	first := (y-b.at.Y)*b.width - b.at.X
	return b.pixels[4*(first+x0) : 4*(first+x1)]
}

// picture takes the picture of an Image to paint with and returns the part of c that it can reach.
func (r *Rasteriser) picture(o *paint.Op, c image.Rectangle) image.Rectangle {
	if r.pictures == nil {
		return image.Rectangle{}
	}
	pixels, w, h := r.pictures.Picture(o.Picture)
	if w <= 0 || h <= 0 || len(pixels)/4/w < h {
		return image.Rectangle{}
	}
	r.bitmap = bitmap{pixels, w, o.Box.Pixels().Min}
	r.brush.take(&r.bitmap, false, false, o.Colour.A)
	return c.Intersect(image.Rect(0, 0, w, h).Add(r.bitmap.at))
}
