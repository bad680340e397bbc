// Package host holds the one game that is being played: it gives each command its instant, has it decided and
// logged, and takes an interrupted game up again. It is the only reader of the time of day, and must not draw,
// open a window or wait for a disk while a game is played.
package host

import (
	"crypto/rand"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"time"

	"github.com/adrg/xdg"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
)

// Config says where the game is and where time comes from. The zero value plays in memory alone.
type Config struct {
	// Log names the log to begin or to go on with. Empty: the newest unfinished game in Folder, else a new one.
	Log string
	// Folder is where logs are kept (DefaultFolder for a user's own). With Log empty too, nothing is written.
	Folder string
	// Spare is a folder for what a log's own disk does not take until the end; empty for none.
	Spare string
	// Setup is what a new game begins with; one that is taken up again has its own.
	Setup engine.Setup

	// What follows is for tests; left zero it is the machine's own.
	Time   Time
	Random io.Reader // of game ids
	Disk   journalfile.Disk
}

// DefaultFolder returns the folder of the user's games. The error says that this user has none, as a program has that some
// systems start by themselves.
func DefaultFolder() (string, error) {
	if runtime.GOOS != "windows" && os.Getenv("HOME") == "" && os.Getenv("XDG_STATE_HOME") == "" {
		return "", errors.New("there is no folder for the game: neither HOME nor XDG_STATE_HOME is set; name its log with --log FILE")
	}
	return filepath.Join(xdg.StateHome, "rafter", "games"), nil
}

// Host holds the game. All its methods may be called from any goroutine; none but Close waits for the disk.
type Host struct {
	time   Time
	random io.Reader
	disk   journalfile.Disk
	folder string // of the next log; empty: none is written
	spare  string
	quit   chan struct{}
	ended  chan struct{}
	shut   func() error // stop, once

	mu      sync.Mutex
	game    *engine.Game
	log     *journalfile.Writer   // nil: in memory, as asked
	retired []*journalfile.Writer // of games before, until their last line is on disk
	from    clock.Instant         // the instant at which Time.Now was since
	since   time.Duration
	beat    heart
	notices []Notice

	keeper    Keeper
	takenOver bool // by a desk, since that was lost

	id    string // of the game
	self  string // the id of this host, made when it was opened
	wire  wire
	line  engine.Timeline
	shift clock.Instant // what the game's instants are behind those of the line

	following
}

// Open begins a game or takes one up again, as the Notice says. A log that cannot be written is no error: the
// game is then kept in memory and Notices says so. The errors: another program has the log
// (journalfile.ErrLocked); a log named in Config is none or cannot be read (*journal.Error); the setup is refused
// (*engine.Error).
func Open(c Config) (*Host, Notice, error) {
	h := &Host{
		time: c.Time.orSystem(), random: c.Random, disk: c.Disk, folder: c.Folder, spare: c.Spare,
		quit: make(chan struct{}), ended: make(chan struct{}), wire: wire{wake: make(chan struct{})},
	}
	h.shut = sync.OnceValue(h.stop)
	if h.random == nil {
		h.random = rand.Reader
	}
	if h.disk == nil {
		h.disk = journalfile.OS()
	}
	if c.Log != "" {
		c.Log = h.disk.Resolve(c.Log) // what comes beside it belongs beside the log, not the link
		h.folder = filepath.Dir(c.Log)
	}
	opened, err := h.open(c)
	if err != nil {
		return nil, Notice{}, err
	}
	if h.self, err = newID(h.random); err != nil {
		return nil, Notice{}, errors.Join(err, h.closeLogs())
	}
	h.line.Add(h.game, 0)
	h.beat.begin(h.time)
	go h.run()
	return h, opened, nil
}

// Now returns the present instant of the game, to the nanosecond.
func (h *Host) Now() clock.Instant {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.now()
}

// Moment is Now with the id of the game whose instant that is.
func (h *Host) Moment() (game string, now clock.Instant) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.id, h.now()
}

func (h *Host) now() clock.Instant { return h.at(h.time.Now()) }

// setInstant lets the present be instant t.
func (h *Host) setInstant(t clock.Instant) { h.from, h.since = t, h.time.Now() }

// Do has a command decided now. changed is false where it had no effect; then there is no event. The error is
// the engine's, and nothing has changed.
func (h *Host) Do(desk string, c engine.Command) (ev engine.Event, changed bool, err error) {
	return h.DoWas(desk, c, engine.Maybe[clock.Instant]{})
}

// DoWas is Do for what was true at an earlier instant.
func (h *Host) DoWas(desk string, c engine.Command, was engine.Maybe[clock.Instant]) (ev engine.Event, changed bool, err error) {
	return h.Ask(Ask{Desk: desk, Command: c, Was: was})
}

func cut(t clock.Instant) clock.Instant { return t - t%clock.Instant(time.Millisecond) }

// ViewInto fills v with the game as it stands at instant at; it allocates nothing once v has served before.
func (h *Host) ViewInto(v *engine.View, at clock.Instant) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.game.ViewInto(v, at)
}

// Game returns a copy of the game as it stands.
func (h *Host) Game() *engine.Game {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.game.Clone()
}

// Acknowledged returns the number of the last event of this game that is on disk with all before it; 0 for none.
func (h *Host) Acknowledged() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.log == nil {
		return 0
	}
	return h.log.Acknowledged()
}

// Path returns where this game's log is; empty for a game in memory alone.
func (h *Host) Path() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.log == nil {
		return ""
	}
	return h.log.Status().Path
}

// Close writes what is left to write and lets the log go; the next call returns the same. The error says what is
// not on disk.
func (h *Host) Close() error { return h.shut() }

func (h *Host) stop() error {
	close(h.quit)
	<-h.ended
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.closeLogs()
}

func (h *Host) append(r journal.Record) {
	if h.log != nil {
		h.log.Append(r)
	}
}
