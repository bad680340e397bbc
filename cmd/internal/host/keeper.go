package host

import "time"

// Keeper is how a feed from elsewhere that keeps this host's game gets along with it, as everybody should know it who runs the
// game or sees it. The zero value is of a game that desks alone keep.
type Keeper struct {
	Name string // what people call the feed
	Desk string // what events call it
	// Heard is when it was last there, by Time.Now; Lost, that this is too long ago, and Why, if that is known.
	Heard time.Duration
	Lost  bool
	Why   string
	// Odds are what a desk has keyed against it and what stands.
	Odds []Odds
}

// Odds are a field in which a desk's value stands against a feed's, and how to tell it.
type Odds struct{ Field, Text string }

// Keep takes what has become of the feed that keeps the game; Notices tells of it. While it is lost the host is Silent, until
// a desk takes the game over by keying something.
func (h *Host) Keep(k Keeper) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.keeper, h.takenOver = k, h.takenOver && k.Lost
}

// keyed notes that a desk has given a command.
func (h *Host) keyed(desk string) {
	if h.keeper.Lost && desk != h.keeper.Desk {
		h.takenOver = true
	}
}

// deserted is how long ago the game was last kept by anybody; 0 where it is kept.
func (h *Host) deserted() time.Duration {
	if !h.keeper.Lost || h.takenOver {
		return 0
	}
	return max(h.time.Now()-h.keeper.Heard, 0)
}

// sourceLost says that the feed is lost; its words hold still.
func (h *Host) sourceLost() Notice {
	k := &h.keeper
	n := Notice{Code: SourceLost, Path: k.Name, Text: k.Name + " is lost. The clock goes on, and the desk keeps the game."}
	if !h.takenOver {
		n.Text = k.Name + " is lost. The clock goes on; pages say so until a desk keys something."
	}
	if k.Why != "" {
		n.Text += " (" + k.Why + ")"
	}
	return n
}
