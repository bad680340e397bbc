package frame

import "image"

// Resample returns the part from of f, drawn to exactly w × h pixels (0 to MaxSize.X each; the nearest of these is
// taken). A side that becomes shorter is averaged by area, one that becomes longer interpolated linearly between the
// middles of pixels, so that neither shimmers nor shows steps. Of a part without pixels the result is transparent.
//
// It works on premultiplied codes, as compositing does: colours of transparent pixels count for nothing, and no
// colour rises above its alpha, for every mean weighs and rounds all four channels alike.
func Resample(f *Frame, from image.Rectangle, w, h int) *Frame {
	out := New(min(max(w, 0), MaxSize.X), min(max(h, 0), MaxSize.X))
	from = from.Intersect(f.Bounds())
	if from.Empty() || out.Bounds().Empty() {
		return out
	}
	across, down := weights(from.Dx(), out.W), weights(from.Dy(), out.H)
	// A row is narrowed or widened when it is first needed. Neighbours share at most one row or, when interpolated,
	// follow one another, so two are kept.
	kept, have := [2][]pair{make([]pair, out.W), make([]pair, out.W)}, [2]int{-1, -1}
	sum := make([]pair, out.W)
	for y := range out.H {
		clear(sum)
		for i, weight := range down[y].weights {
			row := down[y].first + i
			line := kept[row&1]
			if have[row&1] != row {
				have[row&1] = row
				resampleRow(line, f.Row(from.Min.Y+row, from.Min.X, from.Max.X), across)
			}
			for x := range sum {
				sum[x].rb += line[x].rb * weight
				sum[x].ga += line[x].ga * weight
			}
		}
		dst := out.Row(y, 0, out.W)
		for x, v := range sum {
			rb, ga := v.rb+half(23), v.ga+half(23)
			dst[4*x], dst[4*x+1], dst[4*x+2], dst[4*x+3] = byte(rb>>24), byte(ga>>24), byte(rb>>56), byte(ga>>56)
		}
	}
	return out
}

// pair is a pixel with 32 bits a channel: red below blue, green below alpha.
type pair struct{ rb, ga uint64 }

// half returns one half in both channels of a word, where n bits are its fraction's without the highest.
func half(n int) uint64 { return 1<<n | 1<<(n+32) }

// resampleRow fills dst with means of src's pixels, in 256ths of a code.
func resampleRow(dst []pair, src []byte, across []span) {
	for x := range dst {
		s := &across[x]
		v := pair{half(7), half(7)}
		p := src[4*s.first:]
		for i, weight := range s.weights {
			q := p[4*i : 4*i+4]
			v.rb += (uint64(q[0]) | uint64(q[2])<<32) * weight
			v.ga += (uint64(q[1]) | uint64(q[3])<<32) * weight
		}
		const mask = 0x0000ffff_0000ffff
		dst[x] = pair{v.rb >> 8 & mask, v.ga >> 8 & mask}
	}
}

// wholeWeight is the sum of the weights of one pixel.
const wholeWeight = 1 << 16

// span says of which pixels, from number first on, one is the mean.
type span struct {
	first   int
	weights []uint64
}

// weights returns the spans of n pixels made of m.
func weights(m, n int) []span {
	spans, all := make([]span, n), make([]uint64, 0, m+2*n)
	for i := range spans {
		start := len(all)
		if n <= m {
			spans[i].first, all = i*m/n, appendAreas(all, m, n, i)
		} else {
			spans[i].first, all = appendNearest(all, m, n, i)
		}
		spans[i].weights = all[start:]
	}
	return spans
}

// appendAreas appends how much of pixel i of n lies in each of m: it spans m parts, a source's pixel n of them. Each
// weight is the difference of two rounded sums, so that all together are whole.
func appendAreas(all []uint64, m, n, i int) []uint64 {
	share := func(parts int) uint64 { return uint64((parts*wholeWeight + m/2) / m) }
	for begin, end := i*m, (i+1)*m; begin < end; {
		next := min(end, (begin/n+1)*n)
		all = append(all, share(next-i*m)-share(begin-i*m))
		begin = next
	}
	return all
}

// appendNearest appends the weights of the two of m pixels between whose middles that of pixel i of n lies; outside
// the outermost middles, of the one pixel there.
func appendNearest(all []uint64, m, n, i int) (int, []uint64) {
	at := (2*i+1)*m - n // from the first middle, in 2n-ths of a source's pixel
	switch {
	case at <= 0:
		return 0, append(all, wholeWeight)
	case at >= (m-1)*2*n:
		return m - 1, append(all, wholeWeight)
	}
	second := uint64((at%(2*n)*wholeWeight + n) / (2 * n))
	return at / (2 * n), append(all, wholeWeight-second, second)
}
