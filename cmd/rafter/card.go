package main

import (
	"image"
	"strings"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
	"rafter/cmd/internal/desk"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/settings"
	"rafter/overlay/content"
	"rafter/overlay/output/still"
)

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
	s, err := settings.Load(settings.DefaultPath(), check())
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
