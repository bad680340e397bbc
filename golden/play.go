package golden

import (
	"errors"
	"fmt"
	"strings"

	"rafter/engine/script"
	"rafter/overlay/content"
)

// content plays the case's script up to its time and returns what there is to show.
func (c Case) content() (content.Content, error) {
	var shown content.Content
	s, err := script.Parse(strings.NewReader(c.script))
	if err != nil {
		return shown, c.wrong(err)
	}
	run, err := s.Begin(script.Published, "")
	if err != nil {
		return shown, c.wrong(err)
	}
	if err := run.Until(c.At, script.Watch{}); err != nil {
		return shown, c.wrong(err)
	}
	view := run.Game().View(c.At)
	shown.From(&view)
	shown.Air = c.Air
	return shown, nil
}

// wrong puts the case's file, and the line in it, to an error of its script.
func (c Case) wrong(err error) error {
	var refused *script.Error
	if errors.As(err, &refused) && refused.Line > 0 {
		return fmt.Errorf("cases/%s.txt:%d: %s", c.Name, c.skip+refused.Line, refused.Refusal.Message)
	}
	return fmt.Errorf("cases/%s.txt: %w", c.Name, err)
}
