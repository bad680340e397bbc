package source

import (
	"context"
	"fmt"
	"sync"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/mirror"
	"rafter/engine/rules"
)

// Desk is the name of a feed among the desks.
const Desk = "source"

// lookEvery is how often it is seen whether a feed is lost, and what has become of what it said last.
const lookEvery = 250 * time.Millisecond

// Source keeps a host's game by a feed. All methods may be called from any goroutine.
type Source struct {
	plan Plan
	time host.Time
	game *host.Host
	say  func(string)

	mirror  *mirror.Mirror
	missing [mirror.FieldCount]bool // it was said
	heard   time.Duration           // when the feed last was there
	lost    bool
	begun   bool
	wrong   error // why what came last was of no use

	mu     sync.Mutex
	counts Counts
	at     time.Duration // of the last message
}

// Counts is what has come so far.
type Counts struct {
	Messages int64         // that were taken
	Bad      int64         // that could not be had, or not be read
	Commands int64         // that changed the game
	Keyed    int           // fields in which a desk's value stands against the feed's
	Current  bool          // the feed is there
	Age      time.Duration // of the last message
}

// New returns a Source of the plan's feed for a game. say is given a sentence of what has happened: that the feed is there, or
// back, that something of it cannot be taken. What stands, that it is lost or at odds with a desk, the host's notices tell.
func New(p Plan, h *host.Host, t host.Time, say func(string)) *Source {
	s := &Source{plan: p, time: t, game: h, say: say}
	s.mirror = mirror.New(&s.plan.Map, p.Policy)
	return s
}

// Start has Run going; end ends it, and waits for that. A feed that never can be followed is said.
func (s *Source) Start(ctx context.Context) (end func()) {
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	all.Go(func() {
		if err := s.Run(ctx); err != nil {
			s.say(fmt.Sprintf("%s cannot be followed: %v", s.plan.Name(), err))
		}
	})
	return func() { cancel(); all.Wait() }
}

// Run follows the feed until the context ends. The error says why it never can be.
func (s *Source) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	came, failed := make(chan message), make(chan error, 1)
	go func() {
		failed <- s.plan.listen(ctx, s.time, func(m message) {
			select {
			case came <- m:
			case <-ctx.Done():
			}
		})
	}()
	tick := s.time.Every(lookEvery)
	defer tick.Stop()
	s.heard = s.time.Now()
	for {
		select {
		case m := <-came:
			s.take(m)
		case <-tick.C:
			s.look()
		case err := <-failed:
			return err
		}
	}
}

func (s *Source) take(m message) {
	now := s.time.Now()
	var document any
	if m.err == nil && m.data != nil {
		document, m.err = mirror.ReadDocument(m.data)
	}
	if s.wrong = m.err; m.err != nil {
		s.count(func(c *Counts) { c.Bad++ })
		return
	}
	if s.lost {
		s.say(fmt.Sprintf("%s is back after %s", s.plan.Name(), spoken(now-s.heard)))
	}
	s.heard, s.lost = now, false
	defer s.keeps()
	if m.data == nil {
		s.count(func(*Counts) {})
		return
	}
	if !s.begun {
		s.begun = true
		s.say("the game is kept by " + s.plan.Name())
	}
	found := s.plan.Map.Read(document)
	s.lookForMissing(&found)
	for _, note := range s.mirror.Take(&found, now, s) {
		s.say(note)
	}
	s.count(func(c *Counts) { c.Messages, c.Keyed, s.at = c.Messages+1, len(s.mirror.Keyed()), now })
}

// lookForMissing says of a field that is not found, once.
func (s *Source) lookForMissing(found *[mirror.FieldCount]mirror.Found) {
	for f := range mirror.FieldCount {
		wrong := found[f].Asked && found[f].Err != nil && !s.plan.Map.Optional[f]
		if wrong && !s.missing[f] {
			s.say(fmt.Sprintf("%s is left as it is: %v", f, found[f].Err))
		}
		s.missing[f] = wrong
	}
}

// look sees what time has brought.
func (s *Source) look() {
	s.lookForSilence()
	if s.lost {
		return
	}
	for _, note := range s.mirror.Again(s.time.Now(), s.plan.file(), s) {
		s.say(note)
	}
	s.count(func(c *Counts) { c.Keyed = len(s.mirror.Keyed()) })
	s.keeps()
}

// lookForSilence notes once that nothing of use has come for too long.
func (s *Source) lookForSilence() {
	now, stale := s.time.Now(), s.plan.Stale
	if stale == 0 && s.wrong != nil { // a file that is written to is wrong for a moment
		stale = 3 * time.Second
	}
	if s.lost || stale == 0 || now-s.heard < stale {
		return
	}
	s.lost = true
	s.count(func(*Counts) {})
	s.keeps()
}

// keeps has the host know how it stands with the feed.
func (s *Source) keeps() {
	k := host.Keeper{Name: s.plan.Name(), Desk: Desk, Heard: s.heard, Lost: s.lost}
	if s.lost && s.wrong != nil {
		k.Why = s.wrong.Error()
	}
	for _, o := range s.mirror.Keyed() {
		k.Odds = append(k.Odds, host.Odds{Field: o.Field.String(), Text: o.Text})
	}
	s.game.Keep(k)
}

func (s *Source) count(change func(*Counts)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	change(&s.counts)
	s.counts.Current = s.begun && !s.lost
}

// Counts returns what has come so far.
func (s *Source) Counts() Counts {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.counts
	if c.Messages > 0 {
		c.Age = s.time.Now() - s.at
	}
	return c
}

// Counters hands one each of the counts, as programs read them.
func (s *Source) Counters(one func(name, kind, help string, value int64)) {
	c, current := s.Counts(), int64(0)
	if c.Current {
		current = 1
	}
	one("rafter_source_messages_total", "counter", "Messages of the feed that keeps the game.", c.Messages)
	one("rafter_source_bad_total", "counter", "Messages of it that could not be had, or not be read.", c.Bad)
	one("rafter_source_commands_total", "counter", "Commands that it came to.", c.Commands)
	one("rafter_source_keyed", "gauge", "Fields in which a desk's value stands against it.", int64(c.Keyed))
	one("rafter_source_age_milliseconds", "gauge", "Age of its last message.", c.Age.Milliseconds())
	one("rafter_source_current", "gauge", "1 while it is there, 0 while it is lost.", current)
}

// ViewInto fills v with the host's game as it stands; with Do and Rules it is what a Mirror keeps.
func (s *Source) ViewInto(v *engine.View) { s.game.ViewInto(v, s.game.Now()) }

// Do gives the host a command.
func (s *Source) Do(c engine.Command) error {
	_, changed, err := s.game.Do(Desk, c)
	if changed {
		s.count(func(c *Counts) { c.Commands++ })
	}
	return err
}

// Rules returns the rule set in force.
func (s *Source) Rules() rules.Set { return s.game.Game().Setup().Rules }

func spoken(d time.Duration) string { return clock.FormatSeconds(d.Truncate(time.Second/10)) + " s" }
