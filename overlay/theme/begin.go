package theme

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"rafter/overlay/paint"
)

// Begin returns a theme.toml for a theme of the given name that starts from another: it works as it is, and explains
// every key of the language, by the tables that read it. A key with an example stands behind "#" alone, and counts once
// that is taken away. themes and fonts are the names to choose from.
func Begin(name string, from *Theme, themes, fonts []string) []byte {
	var w writer
	w.prose("How the graphics look: a theme. It is a copy of another one, and says below what is different. " +
		"A line that starts with # and no space counts once you take the # away; to its right stands what it does.")
	w.prose("Look often:")
	w.line("#   rafter theme measure DIR      every mistake, with its row and column")
	w.line("#   rafter-window --theme DIR     the window; save this file and see it change")
	w.line("")
	for i := range headRows {
		r := headRows[i]
		switch r.key {
		case "format":
			r.says = ""
		case "name":
			r.example = quoted(name)
		case "from":
			r.example, r.says = quoted(from.Name), listed(themes)
		}
		explain(&w, r, r.key == "about" || r.key == logo)
	}
	w.fonts(from, fonts)
	w.colours(from)
	w.title("What is shown by itself", "opens")
	w.prose("A graphic that opens as something begins and closes with it, unless the operator shows another.")
	for i := range openRows {
		r := openRows[i]
		if i > 0 {
			r.says = ""
		}
		explain(&w, r, true)
	}
	w.title("What parts share", "styles.label")
	w.prose("A style is some keys of a part under a name. A part takes them with style = \"label\".")
	w.line("#font = \"condensed\"")
	w.line("#colour = \"faint\"")
	w.graphics()
	w.parts(from)
	return []byte(strings.TrimRight(w.String(), "\n") + "\n")
}

func (w *writer) fonts(from *Theme, names []string) {
	w.title("Fonts, by what they are for", "fonts")
	w.prose("A font's name, or a .ttf or .otf file beside this one. Those that come along: " + listed(names) + ".")
	for role := range fontRows {
		r := fontRows[role]
		r.example, r.says = quoted(from.Fonts[role].Name), ""
		explain(w, r, true)
	}
}

func (w *writer) colours(from *Theme) {
	w.title("Colours, by what they are for", "colours")
	w.prose(`A part that takes a colour names one of these, or writes "#rrggbb", or takes the team's ("team"), what reads ` +
		`best on that ("on-team") or the other team's ("other"). Behind it may stand how much of it: "plate 80%". ` +
		`"none" is no colour. You may add colours of your own, up to ` + fmt.Sprint(MaxPalette) + ` in all.`)
	for role := range colourRows {
		r := colourRows[role]
		r.example, r.says = quoted(hex(from.Colour(ColourRole(role)))), ""
		explain(w, r, true)
	}
	for _, c := range from.Palette[NeededColours:] {
		w.beside("#"+c.Name+" = "+quoted(hex(c.Colour)), from.Name+"'s own")
	}
}

func (w *writer) graphics() {
	w.title("The graphics", "bug")
	w.prose("They are " + listed(Graphics()) + ". Each is a box, and parts in it that are painted in the order in which they " +
		"stand here. Sizes are whole thousandths of the picture's short side, so that they do for any picture; \"50%\" is of " +
		"the part around. Where the picture is too small for the box, all in it becomes smaller alike.")
	for i := range layoutRows {
		explain(w, layoutRows[i], true)
	}
	w.prose("The same in pictures that stand, up to 5:6; [bug.square] is for those about as high as wide. They need only what " +
		"is different, and it stands above what is said for all pictures.")
	w.line("#[bug.tall]")
	w.line("#size = [\"100%\", 260]")
}

func (w *writer) parts(from *Theme) {
	w.title("The parts", "")
	w.prose("The parts of " + from.Name + ", in the order in which they are painted. To change one, write its table with what " +
		"is different: [bug.NAME]. A part of a new name is painted over the others.")
	for i := range from.Graphics {
		w.WriteString("\n")
		w.prose(from.Graphics[i].Name + ": " + strings.Join(from.parts(i), ", "))
	}
	w.WriteString("\n")
	w.prose("This one is new. Below stands all that a part can say.")
	w.line("#[bug.mine]")
	for _, g := range partGroups {
		w.line("\n# -- " + g.title + "\n")
		for i := range g.rows {
			r := g.rows[i]
			if r.key == "in" && len(from.Graphics) > 0 && len(from.parts(0)) > 0 {
				r.example = quoted(from.parts(0)[0])
			}
			if r.key == "says" {
				r.says = ""
			}
			explain(w, r, true)
			switch r.key {
			case "when":
				w.each(conditions[:], conditionDocs[:])
			case "says":
				w.each(fields[:], fieldDocs[:])
			}
		}
	}
	w.line("\n# -- In a motion\n")
	for i := range motionRows {
		r := motionRows[i]
		if r.key == "move" {
			r.says = ""
		}
		w.beside("#   "+r.key, meaning(r))
		if r.key == "move" {
			w.each(moves[:], moveDocs[:])
		}
	}
}

// parts returns the names of the parts of a graphic.
func (t *Theme) parts(graphic int) (names []string) {
	for _, p := range t.Graphics[graphic].Layouts[Wide].Parts {
		names = append(names, p.Name)
	}
	return names
}

// hex writes a colour as themes do.
func hex(c paint.Colour) string {
	if c.A == 255 {
		return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
	}
	return fmt.Sprintf("#%02x%02x%02x%02x", c.R, c.G, c.B, c.A)
}

func quoted(s string) string { return fmt.Sprintf("%q", s) }

// writer writes a file of two columns: keys, and what they do.
type writer struct{ strings.Builder }

const left, most = 42, 118 // characters: where the right column begins, where it ends

func (w *writer) line(s string) { w.WriteString(s + "\n") }

// wrapped writes words in lines from a column on, each line begun with lead.
func (w *writer) wrapped(col int, lead, words string) {
	at := 0
	for _, word := range strings.Fields(words) {
		long := utf8.RuneCountInString(word)
		if at > 0 && at+1+long > most {
			w.WriteString("\n" + strings.Repeat(" ", col))
			at = 0
		}
		if at == 0 {
			w.WriteString(lead)
			at = col + len(lead)
		}
		w.WriteString(" " + word)
		at += 1 + long
	}
	w.WriteString("\n")
}

// prose writes words over both columns.
func (w *writer) prose(words string) { w.wrapped(0, "#", words) }

// beside writes something, and words in the right column.
func (w *writer) beside(what, words string) {
	w.WriteString(what)
	if n := utf8.RuneCountInString(what); n < left {
		w.WriteString(strings.Repeat(" ", left-n))
	} else {
		w.WriteString("\n" + strings.Repeat(" ", left))
	}
	w.wrapped(left, "#", words)
}

// each explains the values of a key.
func (w *writer) each(names, docs []string) {
	for i, name := range names {
		if name != "" {
			w.WriteString(strings.Repeat(" ", left))
			w.wrapped(left, "#", "  "+name+": "+docs[i])
		}
	}
}

// title begins a section, with a table if it has one.
func (w *writer) title(words, table string) {
	w.line("\n# ------------------------------------------------------------ " + words + "\n")
	if table != "" {
		w.line("#[" + table + "]")
	}
}

// meaning is what a key does, what it may be and what holds without it.
func meaning[T any](r row[T]) string {
	says := r.doc
	if r.says != "" {
		says += ": " + r.says
	}
	if r.fallback != "" && r.fallback != `"none"` && r.fallback != "false" && r.fallback != "[]" {
		says += "; left out: " + strings.Trim(r.fallback, `"`)
	}
	return says
}

// explain writes a key with its meaning.
func explain[T any](w *writer, r row[T], commented bool) {
	key := r.key + " = " + r.example
	if commented {
		key = "#" + key
	}
	w.beside(key, meaning(r))
}
