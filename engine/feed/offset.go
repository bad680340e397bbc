package feed

import (
	"errors"
	"time"
)

// Sample is one exchange of four timestamps: asked and answered on the asker's clock, received and sent on the
// host's; each counts nanoseconds from a zero of its own. Source: RFC 5905 section 8.
type Sample struct{ Asked, Received, Sent, Answered int64 }

// TwiceOffset is two times what the host's clock is ahead, (T2-T1)+(T3-T4): whole, where half of it may not be.
func (s Sample) TwiceOffset() int64 { return (s.Received - s.Asked) + (s.Sent - s.Answered) }

// Delay is the time on the way, there and back: (T4-T1)-(T3-T2). The offset is wrong by half of it at most.
func (s Sample) Delay() time.Duration {
	return time.Duration((s.Answered - s.Asked) - (s.Sent - s.Received))
}

// What an estimate is made of.
const (
	// samples are remembered; more would not find a much shorter delay, and a clock drifts meanwhile.
	samples = 1024
	// wander is how far two clocks may drift apart, in parts of a million: each ordinary quartz is off by up to 50 (from
	// memory), and is put right by its system meanwhile. More makes too little of what was seen a minute ago.
	wander = 130
	// slew is how fast a clock that is seen may be put right: a tenth of its pace.
	slewPart = 10
	// stepFrom is an error that nobody would watch being slewed away: after it the clock steps.
	stepFrom = 2 * time.Second
	// maxDelay bounds a sample: later ones say nothing.
	maxDelay = 10 * time.Second
)

// Estimate is the host's clock as it is known elsewhere. The zero value knows nothing yet. It takes the
// quickest ways of all samples, those that age counting as less and less sure, and goes over to what they say slowly, so
// that a clock that is watched neither jumps nor runs backwards. All its times are nanoseconds, as a Sample's are.
type Estimate struct {
	kept  [samples]Sample
	count int
	next  int
	// shown is the offset in use at local time at.
	shown, at int64
	// goal is the best offset that the samples give.
	goal  int64
	known bool
}

// ErrSample is a sample that no exchange can have given, or one that took too long to say anything.
var ErrSample = errors.New("the four timestamps are of no use: times run backwards, or the answer took more than ten seconds")

// Add takes a sample. Samples come in the order of Answered; one out of order is an error and changes nothing.
func (e *Estimate) Add(s Sample) error {
	last := e.kept[(e.next+samples-1)%samples]
	if s.Answered < s.Asked || s.Sent < s.Received || s.Delay() < 0 || s.Delay() > maxDelay || e.count > 0 && s.Answered < last.Answered {
		return ErrSample
	}
	if e.known {
		e.shown, e.at = e.offset(s.Answered), s.Answered
	}
	e.kept[e.next] = s
	e.next = (e.next + 1) % samples
	e.count = min(e.count+1, samples)
	best, agree := e.best(s.Answered)
	if !agree { // one of the clocks has stood or was set: what was seen before it says nothing any more
		e.Forget()
		e.kept[0], e.next, e.count, best = s, 1, 1, s
	}
	e.goal = floorHalf(best.TwiceOffset())
	if !e.known || abs(e.goal-e.shown) >= int64(stepFrom) {
		e.shown, e.at, e.known = e.goal, s.Answered, true
	}
	return nil
}

// best returns the exchange that would have had the quickest way there and the quickest way back of all that were
// seen. Where ways are quick or slow by chance, that is far nearer the truth than the quickest single exchange: of n
// samples the one goes with 1/n, the other with the root of that. Samples do not agree if by them a way there and back
// would take less than no time, whatever the clocks may have drifted.
func (e *Estimate) best(now int64) (s Sample, agree bool) {
	var there, back, quickest, least int64
	for i, s := range e.kept[:e.count] {
		unsure := (now - s.Answered) / 1e6 * wander
		if up := s.Received - s.Asked; i == 0 || up+unsure < quickest {
			there, quickest = up, up+unsure
		}
		if down := s.Answered - s.Sent; i == 0 || down+unsure < least {
			back, least = down, down+unsure
		}
	}
	return Sample{Received: there, Sent: there, Answered: there + back}, quickest+least >= 0
}

// Begin forgets all samples and lets the host's clock be host at local time local, until samples say better: as when
// another game begins, whose instants count from another zero.
func (e *Estimate) Begin(local, host int64) {
	*e = Estimate{shown: host - local, at: local, goal: host - local, known: true}
}

// Shift lets the host's clock show by more, now and in all samples: as when another game begins whose zero is known.
func (e *Estimate) Shift(by int64) {
	for i := range e.kept[:e.count] {
		e.kept[i].Received += by
		e.kept[i].Sent += by
	}
	e.shown += by
	e.goal += by
}

// Host returns the host's clock at local time now, not before the last sample's Answered. It never runs backwards
// from one call to a later one, unless a sample between them shows it off by two seconds or more, or it begins anew.
func (e *Estimate) Host(now int64) int64 { return now + e.offset(now) }

func (e *Estimate) offset(now int64) int64 {
	most := max(now-e.at, 0) / slewPart
	return e.shown + min(max(e.goal-e.shown, -most), most)
}

// Forget drops all samples, as after the host was started anew; the clock shown goes on until the
// next sample.
func (e *Estimate) Forget() { e.count, e.next = 0, 0 }

// floorHalf halves towards minus infinity, so that both signs are cut alike.
func floorHalf(n int64) int64 { return n >> 1 }

func abs(n int64) int64 { return max(n, -n) }
