package text

import (
	"slices"

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

// faceFor returns the first face that draws the whole grapheme well, else the first that has all its parts; failing
// all, the face asked for.
func (f *Fonts) faceFor(id paint.FaceID, grapheme []rune, script language.Script) paint.FaceID {
	if len(grapheme) == 1 && f.sources[id].direct(grapheme[0]) {
		return id
	}
	if f.draws(id, grapheme, script) {
		return id
	}
	for _, other := range f.fallback {
		if f.draws(other, grapheme, script) {
			return other
		}
	}
	for _, other := range f.fallback {
		if !f.sources[id].has(grapheme) && f.sources[other].has(grapheme) {
			return other
		}
	}
	return id
}

// draws tells whether the face has all of the grapheme and puts its marks in place. A mark that the font has no
// anchor for is left where its base ends, on a wrong letter.
func (f *Fonts) draws(id paint.FaceID, grapheme []rune, script language.Script) bool {
	if !f.sources[id].has(grapheme) {
		return false
	}
	p := piece{face: id, script: script, end: len(grapheme)}
	f.shapePiece(&p, grapheme)
	for _, g := range p.glyphs[min(1, len(p.glyphs)):] {
		if g.advance == 0 && g.dx == 0 && g.dy == 0 && !f.blank(id, g.glyph) {
			return false
		}
	}
	return true
}

func (f *Fonts) blank(id paint.FaceID, g paint.GlyphID) bool { return f.inkOf(id, g) == unitBox{} }

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
	b := f.buffer
	b.Clear()
	b.AddRunes(runes, p.start, p.end-p.start)
	b.Props = harfbuzz.SegmentProperties{Direction: harfbuzz.LeftToRight, Script: p.script, Language: "en"}
	if p.level%2 == 1 {
		b.Props.Direction = harfbuzz.RightToLeft
	}
	features := lining
	if cursive(p.script) {
		features = lining[:1]
	}
	b.Shape(f.face(p.face).shaper, features)
	p.glyphs = make([]shaped, len(b.Info))
	limit := maxStep * f.sources[p.face].upem
	within := func(units int32) int32 { return min(max(units, -limit), limit) }
	for i, g := range b.Info {
		pos := b.Pos[i]
		p.glyphs[i] = shaped{paint.GlyphID(g.Glyph), g.Cluster, within(pos.XAdvance), within(pos.XOffset), within(pos.YOffset)}
	}
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

// missing returns the runes of a cluster that the face of the piece lacks.
func (f *Fonts) missing(dst []rune, p *piece, cluster int, runes []rune) []rune {
	for i := cluster; i < p.end; i++ {
		if i > cluster && slices.ContainsFunc(p.glyphs, func(g shaped) bool { return g.cluster == i }) {
			break
		}
		if r := runes[i]; !f.sources[p.face].hasRune(r) && !slices.Contains(dst, r) {
			dst = append(dst, r)
		}
	}
	return dst
}
