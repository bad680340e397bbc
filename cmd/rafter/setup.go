package main

import (
	"bufio"
	"errors"
	"fmt"
	"image"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/engine/rules"
	"rafter/overlay/content"
	"rafter/overlay/output/still"
)

func setupCommand() *cobra.Command {
	return &cobra.Command{
		Use: "setup", Short: "ask for league, teams, colours and rosters, and keep them",
		Long: "Each question shows what is kept as its default: Enter keeps it. What is asked is also in one file that may be\n" +
			"edited by hand; setup says where. On a public stream show minors by number unless the school allows names.",
		Example: "  rafter setup",
		Args:    cobracli.Args(0, 0, ""),
		RunE:    func(c *cobra.Command, _ []string) error { return setup(c, settings.DefaultPath()) },
	}
}

// checkSettings is what the settings file is held against besides its own form.
func checkSettings() settings.Check {
	return settings.Check{Acts: desk.Names(), Keys: desk.CheckKeys, Output: map[string]func(string) error{"listen": cli.CheckListen}}
}

func setup(c *cobra.Command, path string) error {
	s, err := settings.Load(path, checkSettings())
	if err != nil {
		return cli.Fail("put that right in "+path+", or move the file away, then: rafter setup", err)
	}
	a := asker{in: bufio.NewReader(io.LimitReader(c.InOrStdin(), 1<<20)), out: c.ErrOrStderr()}
	a.ask("rule set ("+strings.Join(rules.Names(), ", ")+", or a file of house rules)", s.Rules, func(v string) error {
		if _, ok := rules.ByName(v); !ok {
			if _, err := ruleSet(v); err != nil {
				return err
			}
			v, _ = filepath.Abs(v) // kept apart from the folder in which it was typed
		}
		return s.UseRules(v, "")
	})
	set := s.Setup().Rules
	a.team("home", &s.Home, set)
	a.team("away", &s.Away, set)
	if a.err != nil && !errors.Is(a.err, io.EOF) {
		return a.err
	}
	if a.bad {
		return cli.Fail("nothing was written; answer again: rafter setup", errors.New("an answer was refused and none followed"))
	}
	if err := settings.Save(path, s); err != nil {
		return cli.Fail("the old settings are as they were", err)
	}
	return say(c, "%s\n", path)
}

// asker asks questions in the terminal, or reads the answers from a pipe. After the input's end every question
// keeps its default.
type asker struct {
	in  *bufio.Reader
	out io.Writer
	err error
	bad bool // the input ended on a refused answer
}

func (a *asker) line(prompt string) (string, bool) {
	if a.err != nil {
		return "", false
	}
	_, _ = fmt.Fprint(a.out, prompt)
	text, err := a.in.ReadString('\n')
	a.err = err
	if err != nil {
		_, _ = fmt.Fprintln(a.out)
	}
	return strings.TrimSpace(text), err == nil || text != ""
}

// ask repeats the question until the answer is right; an empty one keeps the default, a dash empties it.
func (a *asker) ask(what, kept string, right func(string) error) string {
	refused := false
	for {
		answer, ok := a.line(fmt.Sprintf("%s [%s]: ", what, kept))
		if !ok {
			a.bad = a.bad || refused
			return kept
		}
		if answer == "" {
			return kept
		}
		if answer == "-" {
			answer = ""
		}
		err := right(answer)
		if err == nil {
			return answer
		}
		refused = true
		_, _ = fmt.Fprintf(a.out, "  %v\n", err)
	}
}

func (a *asker) team(side string, t *settings.Team, set rules.Set) {
	_, _ = fmt.Fprintln(a.out)
	t.Name = a.ask(side+": name", t.Name, settings.CheckName)
	t.Short = a.ask(side+": short name, - for none", t.Short, settings.CheckShort)
	t.Colour = strings.ToLower(a.ask(side+": colour", t.Colour, func(v string) error {
		_, err := settings.ParseColour(v)
		return err
	}))
	a.roster(side, t, set)
}

// roster reads players one a line; the first line decides whether the kept roster goes.
func (a *asker) roster(side string, t *settings.Team, set rules.Set) {
	_, _ = fmt.Fprintf(a.out, "%s: roster, one player a line as 12 NAME, then an empty line. Enter keeps these %d, - empties:\n", side, len(t.Roster))
	for _, p := range t.Roster {
		_, _ = fmt.Fprintf(a.out, "  %s %s\n", p.Number, p.Name)
	}
	var fresh []settings.Player
	for refused := false; ; {
		answer, ok := a.line("  player: ")
		switch {
		case !ok && refused:
			a.bad = true
			return
		case !ok || answer == "":
			if len(fresh) > 0 {
				t.Roster = fresh
			}
			return
		case answer == "-":
			t.Roster, fresh = nil, nil
			continue
		}
		number, name, _ := strings.Cut(answer, " ")
		p := settings.Player{Number: number, Name: strings.TrimSpace(name)}
		if err := settings.CheckPlayer(p, fresh, set); err != nil {
			refused = true
			_, _ = fmt.Fprintf(a.out, "  %v\n", err)
			continue
		}
		refused = false
		fresh = append(fresh, p)
	}
}

func cardCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "card", Short: "the keys in force as a picture to print, or as a table",
		Long:    "Without -o the table is written as text: act, strokes and example, parted by tabs.",
		Example: "  rafter card -o card.png",
		Args:    cobracli.Args(0, 0, ""),
	}
	theme := cobracli.Text(c, "theme", cli.Theme)
	// A4 at 150 dots an inch: 210 × 297 mm (ISO 216).
	size := cobracli.Size(c, "1240x1754")
	out := cobracli.Text(c, "out", "")
	c.RunE = func(c *cobra.Command, _ []string) error {
		table, err := keysInForce()
		if err != nil {
			return err
		}
		if *out == "" {
			for _, l := range table.Card() {
				if err := say(c, "%s\n", strings.TrimRight(strings.Join([]string{l.Does, l.Strokes, l.Example}, "\t"), "\t")); err != nil {
					return err
				}
			}
			return nil
		}
		looks, err := loadTheme(c, *theme)
		if err != nil {
			return err
		}
		return drawPage(c, looks, "card", *size, content.Desk{Card: cardContent(table)}, *out)
	}
	return c
}

// keysInForce reads the user's keys; a mistake there is an error, since a card with wrong keys is worse than none.
func keysInForce() (desk.Table, error) {
	s, err := settings.Load(settings.DefaultPath(), checkSettings())
	if err != nil {
		return desk.Table{}, cli.Fail("put that right in "+settings.DefaultPath(), err)
	}
	table, err := desk.NewTable(s.Keys)
	return table.For(s.Setup().Rules), err
}

func cardContent(table desk.Table) *content.Card {
	card := &content.Card{Title: "rafter: the keys", Note: desk.Note}
	for _, l := range table.Card() {
		card.Add(content.Act{Does: l.Does, Home: content.Keys(l.Home), Away: content.Keys(l.Away), Typed: l.Typed, Gives: l.Gives})
	}
	return card
}

// drawPage draws what is printed and not on air.
func drawPage(c *cobra.Command, looks *picture.Looks, graphic string, size image.Point, d content.Desk, out string) error {
	p, err := looks.New(picture.Options{Graphic: graphic, Size: size})
	if err != nil {
		return err
	}
	file := still.New(out)
	err = file.Show(p.Draw(&content.Content{Desk: d}))
	tellMissing(c, p)
	return finish(file, err)
}
