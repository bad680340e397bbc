package serve

import (
	"slices"
	"time"

	"rafter/engine"
	"rafter/engine/feed"
	"rafter/engine/ledger"
	"rafter/engine/rules"
	"rafter/engine/script"
)

// league begins the game anew by another rule set.
func (s *Server) league(m *feed.League) feed.Answer {
	answer := feed.Answer{Number: m.Number}
	set, ok := rules.ByName(m.Rules)
	if !ok {
		answer.Refused = engine.Refuse(engine.UnknownRules, m.Rules, "one that the message rules lists", "there is no rule set of that name")
	} else if err := s.host.UseRules(set); err != nil {
		answer.Refused = refusal(m.Rules, err)
	}
	return answer
}

// entries lists the events before a number, 0 for all, the newest first.
func (s *Server) entries(before int) (feed.Entries, error) {
	list, err := ledger.Tail(s.host.Game(), before, feed.MaxEntries)
	out := feed.Entries{Entries: []feed.Entry{}, More: len(list) > 0 && list[0].Event.Number > 1}
	for _, e := range slices.Backward(list) {
		out.Entries = append(out.Entries, entryOf(&e))
	}
	return out, err
}

func entryOf(e *ledger.Entry) feed.Entry {
	entry := feed.Entry{
		Event: e.Event, Text: script.Format(e.Event.Command), Live: e.Fate != ledger.TakenBack,
		Period: e.Label, Clock: e.Clock, Score: e.Score,
	}
	if e.Fate == ledger.Amended {
		entry.Now = &e.Command
	}
	return entry
}

// told are the events that are news to who watches from home.
var told = [...]engine.Verb{
	engine.Score, engine.ScoreSet, engine.Foul, engine.Timeout, engine.TimeoutOfficial, engine.TimeoutMedia, engine.PeriodNext, engine.GameOver,
}

// revisions are the events that change what others say.
var revisions = [...]engine.Verb{engine.Undo, engine.Redo, engine.Void, engine.Amend}

// latest returns the last events that are told, the oldest first.
func latest(g *engine.Game) ([]feed.Entry, error) {
	const looked = 256 // a clock that is started and stopped is no news
	list, err := ledger.Tail(g, 0, looked)
	var out []feed.Entry
	for i := range list {
		if slices.Contains(told[:], list[i].Event.Command.Do) {
			out = append(out, entryOf(&list[i]))
		}
	}
	return out[max(len(out)-feed.MaxRecent, 0):], err
}

// tell adds an event that has just been played, and of which the view is; after one that changes what others say, anew.
func (b *board) tell(ev *engine.Event) (anew bool, err error) {
	switch {
	case slices.Contains(revisions[:], ev.Command.Do), ev.Was.OK:
		b.recent, err = latest(b.game)
		return true, err
	case slices.Contains(told[:], ev.Command.Do):
		v := &b.view
		b.recent = append(slices.Clone(b.recent[max(len(b.recent)+1-feed.MaxRecent, 0):]), feed.Entry{
			Event: *ev, Text: script.Format(ev.Command), Live: true,
			Period: v.Period.Label, Clock: v.Clock.Text.String(), Score: [2]int{v.Home.Score, v.Away.Score},
		})
	}
	return false, nil
}

// ruleList tells what the rules of the game are.
func (s *Server) ruleList() feed.Rules {
	setup := s.host.Game().Setup()
	set := &setup.Rules
	out := feed.Rules{
		Name: set.Name, Fouls: []string{}, Timeouts: []string{}, Arrow: set.Arrow, ShotClock: set.ShotClock,
		Periods: set.Periods, PeriodMS: int64(set.Length(1) / time.Millisecond),
	}
	for k := range rules.KindCount {
		if _, has := set.Foul(k); has {
			out.Fouls = append(out.Fouls, k.String())
		}
	}
	for k := range rules.TimeoutKinds {
		if set.HasTimeout(k) {
			out.Timeouts = append(out.Timeouts, k.String())
		}
	}
	for _, name := range rules.Names() {
		out.Sets = append(out.Sets, feed.RuleSet{Name: name, About: rules.Title(name)})
	}
	return out
}

// late makes an output late.
func (s *Server) late(m *feed.Delay) feed.Answer {
	answer := feed.Answer{Number: m.Number}
	if err := s.SetOutputDelay(m.Output, time.Duration(m.MS)*time.Millisecond); err != nil {
		answer.Refused = engine.Refuse(engine.BadValue, m.Output, "one that the message outputs lists", err.Error())
	}
	return answer
}

// standing tells how things stand beside the game; v is scratch.
func (s *Server) standing(v *engine.View) feed.Standing {
	s.host.ViewInto(v, s.host.Now())
	s.outputs.mu.Lock()
	name, opened := s.outputs.looks.Chosen(v)
	s.outputs.mu.Unlock()
	out := feed.Standing{OnAir: name, Opened: opened, Notices: []feed.Notice{}}
	for _, n := range s.host.Notices() {
		out.Notices = append(out.Notices, feed.Notice{Code: string(n.Code), About: n.Path, Text: n.Text})
	}
	return out
}

// outputList tells how late each output is.
func (s *Server) outputList() feed.Outputs {
	var out feed.Outputs
	delays := s.Delays()
	for _, name := range outputNames() {
		out.Outputs = append(out.Outputs, feed.Output{Name: name, MS: int64(delays[name] / time.Millisecond)})
	}
	return out
}
