package text

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"

	"github.com/go-text/typesetting/font"
	ot "github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/font/opentype/tables"
	"github.com/go-text/typesetting/harfbuzz"

	"rafter/overlay/paint"
)

// source is a font as its file has it. All clones of a set share it, so nobody writes to it.
type source struct {
	name       string
	font       *font.Font
	gsub, gpos []byte // the tables by which glyphs are exchanged and moved
	upem       int32  // font units an em
	scale      int32  // outline units a font unit
}

// Units an em that are read: with fewer, the largest coordinates of a font would pass 32 bits at the largest size.
const (
	minUnits = 256
	maxUnits = 16384
)

// newSource reads a TrueType or OpenType font. The library panics on some damaged files, which are an error here.
func newSource(name string, data []byte) (s *source, err error) {
	defer func() {
		if p := recover(); p != nil {
			s, err = nil, fmt.Errorf("the font is damaged: %v", p)
		}
	}()
	if err := checkTables(data); err != nil {
		return nil, err
	}
	file, err := ot.NewLoader(bytes.NewReader(data))
	if err != nil {
		return nil, fmt.Errorf("not a TrueType or OpenType font: %w", err)
	}
	parsed, err := font.NewFont(file)
	if err != nil {
		return nil, fmt.Errorf("not a TrueType or OpenType font: %w", err)
	}
	em := parsed.Upem()
	if em < minUnits || em > maxUnits {
		return nil, fmt.Errorf("the font has %d units an em, not %d to %d", em, minUnits, maxUnits)
	}
	s = &source{name: name, font: parsed, upem: int32(em), scale: 2}
	if s.upem > maxUnits/2 {
		s.scale = 1 // paint.Outlines allows 16384 units an em
	}
	s.gsub, _ = file.RawTable(ot.MustNewTag("GSUB")) // absent or broken: nil, as the library takes it
	s.gpos, _ = file.RawTable(ot.MustNewTag("GPOS"))
	return s, nil
}

// checkTables reads the list of tables that a font begins with (OpenType 1.9, table directory): each must lie in the file,
// for the library makes room for as much as the list says.
func checkTables(data []byte) error {
	const head, entry = 12, 16
	if len(data) < head {
		return errors.New("not a TrueType or OpenType font: it is too short")
	}
	switch kind := string(data[:4]); kind {
	case "\x00\x01\x00\x00", "true", "OTTO":
	case "ttcf":
		return errors.New("a collection of fonts; take one font out of it")
	case "wOFF", "wOF2":
		return errors.New("a font packed for web pages; take its .ttf or .otf")
	default:
		return errors.New("not a TrueType or OpenType font")
	}
	list := data[head:]
	for n := binary.BigEndian.Uint16(data[4:]); n > 0; n-- {
		if len(list) < entry {
			return errors.New("the font is damaged: it ends in its list of tables")
		}
		at, size := binary.BigEndian.Uint32(list[8:]), binary.BigEndian.Uint32(list[12:])
		if uint64(at)+uint64(size) > uint64(len(data)) {
			return fmt.Errorf("the font is damaged: its table %q is not all there", list[:4])
		}
		list = list[entry:]
	}
	return nil
}

// face is a font of one set, with what it remembers. Its outline units are twice the font's own, so that the midpoints
// that TrueType leaves out are whole too.
type face struct {
	*source
	parsed *font.Face
	shaper *harfbuzz.Font
	ink    map[paint.GlyphID]unitBox
}

// open returns a new face of the source. It has the lookups to itself, because newShaper writes to them.
func (s *source) open() *face {
	own := *s.font
	gsub, _, _ := tables.ParseLayout(s.gsub) // read before: without an error, or there are no lookups
	own.GSUB.Lookups = slices.Clone(own.GSUB.Lookups)
	for i := range own.GSUB.Lookups {
		own.GSUB.Lookups[i].Subtables = subtables(gsub.LookupList.Lookups[i].AsGSUBLookups())
	}
	gpos, _, _ := tables.ParseLayout(s.gpos)
	own.GPOS.Lookups = slices.Clone(own.GPOS.Lookups)
	for i := range own.GPOS.Lookups {
		own.GPOS.Lookups[i].Subtables = subtables(gpos.LookupList.Lookups[i].AsGPOSLookups())
	}
	fc := &face{source: s, parsed: font.NewFace(&own), ink: map[paint.GlyphID]unitBox{}}
	fc.shaper = newShaper(fc.parsed)
	return fc
}

// subtables puts what stands elsewhere in a large table in its place.
func subtables[S any](list []S, _ error) []S {
	for i, sub := range list {
		if outer, ok := any(sub).(interface{ Resolve() (S, error) }); ok {
			list[i], _ = outer.Resolve()
		}
	}
	return list
}

// newShaper returns a shaper for whole font units. It applies each lookup to all the glyphs that the lookup is for: version
// 0.3.5 of the library passes over glyphs by a rough set that it makes of a lookup's ranges, and leaves some out (its
// issue 278, mended after that version). While the sets are made, the first range is that of all glyphs.
func newShaper(fc *font.Face) *harfbuzz.Font {
	var first []*tables.RangeRecord
	add := func(c tables.Coverage) {
		if list, ok := c.(tables.Coverage2); ok && len(list.Ranges) > 0 {
			first = append(first, &list.Ranges[0])
		}
	}
	for _, l := range fc.GSUB.Lookups {
		for _, sub := range l.Subtables {
			add(sub.Cov())
		}
	}
	for _, l := range fc.GPOS.Lookups {
		for _, sub := range l.Subtables {
			add(sub.Cov())
		}
	}
	are := make([]tables.RangeRecord, len(first))
	for i, r := range first {
		are[i], *r = *r, tables.RangeRecord{EndGlyphID: 0xffff}
	}
	shaper := harfbuzz.NewFont(fc)
	for i, r := range first {
		*r = are[i]
	}
	return shaper
}
