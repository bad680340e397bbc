package main

import (
	"fmt"
	"strconv"
	"time"
)

// sentExecutions is how many commands, decoded from arbitrary texts, games are to decide.
const sentExecutions = 10_000_000

// sendAnything sends games texts that are commands or nearly so, from ever new seeds and for at most limit: what is
// decoded is decided and applied, and some of the states are drawn. It says how many of the executions were reached.
func (d *dev) sendAnything(limit time.Duration) error {
	seed := strconv.FormatInt(time.Now().UnixNano(), 10)
	err := d.run(nil, "go", "test", "-count=1", "-timeout=0", "-v", "-run=^TestWhateverIsSentAGameIsDrawn$", "./cmd/internal/picture",
		"-executions", strconv.Itoa(sentExecutions), "-limit", limit.String(), "-seed", seed)
	if err != nil {
		return fmt.Errorf("%w\nthe seed of the game that failed, given to that test, repeats it", err)
	}
	return nil
}
