package golden

import (
	"errors"
	"fmt"
	"strings"

	"rafter/engine"
	"rafter/engine/script"
)

// view plays the case's script up to its time and returns the game as it is then.
func (c *Case) view() (engine.View, error) {
	s, err := script.Parse(strings.NewReader(c.script))
	if err != nil {
		return engine.View{}, c.wrong(err)
	}
	run, err := s.Begin(script.Published, "")
	if err != nil {
		return engine.View{}, c.wrong(err)
	}
	if err := run.Until(c.At, script.Watch{}); err != nil {
		return engine.View{}, c.wrong(err)
	}
	return run.Game().View(c.At), nil
}

// wrong puts the line, where it stands, to an error of the case's script.
func (c *Case) wrong(err error) error {
	var refused *script.Error
	if errors.As(err, &refused) && refused.Line > 0 && refused.Line <= len(c.lines) {
		return fmt.Errorf("cases/%s: %s", c.lines[refused.Line-1], refused.Refusal.Message)
	}
	return fmt.Errorf("case %s: %w", c.Name, err)
}
