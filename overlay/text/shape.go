package text

import (
	"slices"
	"unicode"

	ot "github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/harfbuzz"
	"github.com/go-text/typesetting/language"
	"github.com/rivo/uniseg"
	"golang.org/x/text/unicode/norm"

	"rafter/overlay/paint"
)

// piece is a stretch of text of one face, script and level, before and after shaping.
type piece struct {
	face       paint.FaceID
	script     language.Script
	level      uint8
	start, end int // runes
	glyphs     []shaped
}

// shaped is a glyph in font units, y up. A glyph of number 0 stands for a cluster the fonts lack.
type shaped struct {
	glyph           paint.GlyphID
	cluster         int // first rune
	advance, dx, dy int32
}

// shape returns the pieces of a cleaned text in visual order.
func (f *Fonts) shape(id paint.FaceID, text string) []piece {
	runes := []rune(text)
	pieces := f.itemise(id, text, runes)
	for i := range pieces {
		f.shapePiece(&pieces[i], runes)
	}
	reorder(pieces)
	return pieces
}

// itemise cuts the text at grapheme edges where face, script or level change.
func (f *Fonts) itemise(id paint.FaceID, text string, runes []rune) []piece {
	levels := levelsOf(runes)
	var pieces []piece
	script := firstScript(runes, language.Latin)
	at, state, rest := 0, -1, text
	for len(rest) > 0 {
		var cluster string
		cluster, rest, _, state = uniseg.FirstGraphemeClusterInString(rest, state)
		part := runes[at : at+runeCount(cluster)]
		script = firstScript(part, script)
		p := piece{face: f.faceFor(id, part, script), script: script, level: levels[at], start: at, end: at + len(part)}
		at = p.end
		if n := len(pieces) - 1; n >= 0 && pieces[n].face == p.face && pieces[n].script == p.script && pieces[n].level == p.level {
			pieces[n].end = p.end
			continue
		}
		pieces = append(pieces, p)
	}
	return pieces
}

func runeCount(s string) int {
	n := 0
	for range s {
		n++
	}
	return n
}

// firstScript returns the script of the first rune that has one of its own; digits, spaces and marks take their neighbour's.
func firstScript(runes []rune, otherwise language.Script) language.Script {
	for _, r := range runes {
		if s := language.LookupScript(r); s != language.Common && s != language.Inherited && s != language.Unknown {
			return s
		}
	}
	return otherwise
}

// faceFor returns the first face that draws the whole grapheme well, else the first that draws it at all; failing all, the
// face asked for.
func (f *Fonts) faceFor(id paint.FaceID, grapheme []rune, script language.Script) paint.FaceID {
	if len(grapheme) == 1 && f.sources[id].direct(grapheme[0]) {
		return id
	}
	best, how := id, f.draws(id, grapheme, script)
	for _, other := range f.fallback {
		if how == well {
			break
		}
		if q := f.draws(other, grapheme, script); q > how {
			best, how = other, q
		}
	}
	return best
}

// quality is how a face draws a grapheme.
type quality uint8

const (
	absent quality = iota // a part is not there, or nothing is seen, as in fonts of coloured pictures
	loose                 // a mark is not in its place
	well
)

// draws tells how the face draws the grapheme. A mark that the font has no anchor for is left where its base ends, on a
// wrong letter.
func (f *Fonts) draws(id paint.FaceID, grapheme []rune, script language.Script) quality {
	if !f.sources[id].has(grapheme) {
		return absent
	}
	p := piece{face: id, script: script, end: len(grapheme)}
	f.shapePiece(&p, grapheme)
	how, seen := well, !slices.ContainsFunc(grapheme, visible)
	for i, g := range p.glyphs {
		if f.inkOf(id, g.glyph) == (unitBox{}) {
			continue
		}
		seen = true
		if i > 0 && g.advance == 0 && g.dx == 0 && g.dy == 0 {
			how = loose
		}
	}
	if !seen {
		return absent
	}
	return how
}

func visible(r rune) bool { return unicode.IsGraphic(r) && !unicode.IsSpace(r) }

// has tells whether the font can draw every rune, whole or from its parts.
func (s *source) has(runes []rune) bool {
	return !slices.ContainsFunc(runes, func(r rune) bool { return !s.hasRune(r) })
}

// direct tells whether the font has a glyph for the rune as it is.
func (s *source) direct(r rune) bool {
	_, ok := s.font.Cmap.Lookup(r)
	return ok
}

// graphemeJoiner changes how marks are ordered and has no shape.
const graphemeJoiner = '\u034f'

func (s *source) hasRune(r rune) bool {
	if s.direct(r) || joiner(r) || r == graphemeJoiner {
		return true
	}
	parts := []rune(norm.NFD.String(string(r)))
	return len(parts) > 1 && s.has(parts)
}

// shapePiece fills in the glyphs of a piece, left to right.
func (f *Fonts) shapePiece(p *piece, runes []rune) {
	if cursive(p.script) {
		f.shapeWith(p, runes, lining[:1])
		return
	}
	f.shapeWith(p, runes, lining)
}

func (f *Fonts) shapeWith(p *piece, runes []rune, features []harfbuzz.Feature) {
	fc := f.face(p.face)
	if !f.follow(fc, p, runes, features) {
		p.glyphs = []shaped{{cluster: p.start}} // the font is damaged: all of it is missing
		return
	}
	b := f.buffer
	p.glyphs = make([]shaped, len(b.Info))
	limit := maxStep * fc.upem
	within := func(units int32) int32 { return min(max(units, -limit), limit) }
	for i, g := range b.Info {
		pos := b.Pos[i]
		p.glyphs[i] = shaped{paint.GlyphID(g.Glyph), g.Cluster, within(pos.XAdvance), within(pos.XOffset), within(pos.YOffset)}
	}
}

// follow shapes a piece in the buffer. It tells whether the font could be followed: the library panics on some that are
// damaged in a place that nobody looks at before.
func (f *Fonts) follow(fc *face, p *piece, runes []rune, features []harfbuzz.Feature) (ok bool) {
	defer func() {
		if !ok {
			recover()
			f.buffer = harfbuzz.NewBuffer()
		}
	}()
	b := f.buffer
	b.Clear()
	b.AddRunes(runes, p.start, p.end-p.start)
	b.Props = harfbuzz.SegmentProperties{Direction: harfbuzz.LeftToRight, Script: p.script, Language: "en"}
	if p.level%2 == 1 {
		b.Props.Direction = harfbuzz.RightToLeft
	}
	b.Shape(fc.shaper, features)
	return true
}

// maxStep bounds what one glyph may move the pen, in ems, whatever its font says: the longest line at the largest
// size then stays inside 32 bits.
const maxStep = 4

// lining are the features beside those that each font turns on. Numbers are as high as capitals; letters stay apart, since
// they may be set closer, but for those that must join.
var lining = []harfbuzz.Feature{feature("lnum", 1), feature("liga", 0), feature("clig", 0)}

func feature(tag string, value uint32) harfbuzz.Feature {
	return harfbuzz.Feature{Tag: ot.MustNewTag(tag), Value: value, Start: harfbuzz.FeatureGlobalStart, End: harfbuzz.FeatureGlobalEnd}
}

// cursive tells the scripts whose letters join or hang on one line: they are never tracked.
func cursive(s language.Script) bool {
	switch s {
	case language.Arabic, language.Syriac, language.Mongolian, language.Nko, language.Mandaic, language.Phags_Pa,
		language.Devanagari, language.Bengali, language.Gurmukhi, language.Hanifi_Rohingya, language.Adlam:
		return true
	}
	return false
}

// missing appends the runes of a cluster that the face of the piece lacks, all of them where that is none.
func (f *Fonts) missing(dst []rune, p *piece, cluster int, runes []rune) []rune {
	end := cluster + 1
	for end < p.end && !slices.ContainsFunc(p.glyphs, func(g shaped) bool { return g.cluster == end }) {
		end++
	}
	lacks := func(r rune) bool { return !f.sources[p.face].hasRune(r) }
	none := !slices.ContainsFunc(runes[cluster:end], lacks)
	for _, r := range runes[cluster:end] {
		if (none || lacks(r)) && !slices.Contains(dst, r) {
			dst = append(dst, r)
		}
	}
	return dst
}
