package source

import (
	"context"
	"time"

	"rafter/cmd/internal/host"
	"rafter/engine/mirror"
)

// Report is what trying a feed came to. Times are in milliseconds.
type Report struct {
	From      string    `json:"from"`
	Messages  int       `json:"messages"`
	Bad       int       `json:"bad"`        // that could not be had, or not be read
	Wrong     string    `json:"wrong"`      // why the last of these
	PerMinute int64     `json:"per_minute"` // messages, from the first to the last
	LongestMS int64     `json:"longest_ms"` // between two messages, or since the last
	AgeMS     int64     `json:"age_ms"`     // of the last message
	Bytes     int       `json:"bytes"`      // of the last message
	Pointers  []Pointed `json:"pointers"`
}

// Pointed is what one pointer found, last of all.
type Pointed struct {
	Field    string `json:"field"`
	Pointer  string `json:"pointer"`
	Optional bool   `json:"optional"`
	Times    int    `json:"times"` // how often something of use was found
	Value    any    `json:"value"` // as it stands there
	Means    string `json:"means"` // what it comes to
	Wrong    string `json:"wrong"` // at which step nothing was found, or why it is of no use
}

// Came is one message.
type Came struct {
	Number int
	Bytes  int
	After  time.Duration // since the last one
	Wrong  error         // why it is of no use
}

// Good tells whether every pointer that is needed has found something of use, some time.
func (r *Report) Good() bool {
	for _, p := range r.Pointers {
		if p.Times == 0 && !p.Optional {
			return false
		}
	}
	return r.Messages > 0
}

// Try follows a feed until the context ends, and changes nothing. each is given every message as it comes. The error says
// why nothing can come.
func Try(ctx context.Context, p Plan, t host.Time, each func(Came)) (Report, error) {
	r := Report{From: p.Name()}
	var list [mirror.FieldCount]*Pointed
	for f := range mirror.FieldCount {
		if at := p.Map.At[f]; at.OK {
			list[f] = &Pointed{Field: f.String(), Pointer: at.Value.String(), Optional: p.Map.Optional[f], Wrong: "no message came"}
		}
	}
	began := t.Now()
	first, last, longest := began, began, time.Duration(0)
	err := p.listen(ctx, t, func(m message) {
		now := t.Now()
		var document any
		if m.err == nil && m.data == nil {
			return
		}
		if m.err == nil {
			document, m.err = mirror.ReadDocument(m.data)
		}
		if m.err != nil {
			r.Bad, r.Wrong = r.Bad+1, m.err.Error()
			each(Came{Bytes: len(m.data), After: now - last, Wrong: m.err})
			return
		}
		r.Messages, r.Bytes = r.Messages+1, len(m.data)
		each(Came{r.Messages, r.Bytes, now - last, nil})
		if r.Messages == 1 {
			first = now
		} else {
			longest = max(longest, now-last)
		}
		last = now
		found := p.Map.Read(document)
		for f := range mirror.FieldCount {
			if one := list[f]; one != nil {
				one.put(f, &found[f])
			}
		}
	})
	if r.Messages > 0 {
		r.AgeMS = (t.Now() - last).Milliseconds()
	}
	if span := last - first; span > 0 {
		r.PerMinute = int64(time.Duration(r.Messages-1) * time.Minute / span)
	}
	r.LongestMS = max(longest, t.Now()-last).Milliseconds()
	for f := range mirror.FieldCount {
		if one := list[f]; one != nil {
			r.Pointers = append(r.Pointers, *one)
		}
	}
	return r, err
}

func (p *Pointed) put(f mirror.Field, found *mirror.Found) {
	p.Value, p.Means, p.Wrong = found.Raw, "", ""
	if found.Err != nil {
		p.Wrong = found.Err.Error()
		return
	}
	p.Times, p.Means = p.Times+1, f.Says(found.Value)
}
