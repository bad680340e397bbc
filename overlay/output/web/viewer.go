package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strconv"
	"sync/atomic"
	"time"

	"github.com/gorilla/websocket"
)

// The bounds on a viewer's connection.
const (
	maxText      = 24              // bytes: "ping " and a number, or a count
	pingEvery    = time.Second / 5 // on the whole; burst at once
	burst        = 8
	answerWithin = 15 * time.Second // of the last message that might go out, a second less at times; who takes longer is gone
	writeWithin  = 10 * time.Second
)

// What is on its way to a viewer at most, not answered yet: so many messages, and no other once they have so many bytes.
// That is twice what a page leaves unanswered, so that a motion's frames need not wait for a long way there and back; and it
// is little enough that on a slow network what comes is new.
const (
	maxFlight      = 2 * answerEvery
	maxFlightBytes = 2 * answerBytes
)

// ErrAnswer is an answer that no page gives.
var ErrAnswer = errors.New("a viewer answers with the count of messages that it has taken, as text, once each, and pings five times a second at most")

// Times are where a connection's times come from: the time of day, for deadlines, and the host's clock, which foreseen
// frames go by.
type Times struct {
	Wall func() time.Time
	Now  func() time.Duration
}

// Serve sends the output's frames to one viewer until that leaves, the output is closed or the context ends. No more than
// 8 messages or 16 KB are on their way at a time: the next is made when the page has answered, of what is newest then. Serve owns the connection and
// closes it; it returns why it ended, nil where the output was closed.
func (o *Output) Serve(ctx context.Context, conn *websocket.Conn, times Times) error {
	v := &viewer{conn: conn, times: times, bell: make(chan struct{}, 1), pings: make(chan ping, burst)}
	o.join(v)
	defer o.leave(v)
	conn.SetReadLimit(maxText)
	gone, cancel := context.WithCancel(ctx)
	read := make(chan error, 1)
	go func() {
		defer cancel()
		read <- v.read(o)
	}()
	hurry := context.AfterFunc(ctx, func() { _ = conn.NetConn().SetWriteDeadline(times.Wall().Add(time.Second)) })
	defer hurry()
	left := context.AfterFunc(gone, v.ring)
	defer left()
	err := v.write(gone, o)
	code, reason := websocket.CloseGoingAway, "the host ends"
	select {
	case err = <-read:
		if errors.Is(err, ErrAnswer) {
			code, reason = websocket.ClosePolicyViolation, ErrAnswer.Error()
		}
		read <- err
	default:
	}
	cancel()
	_ = conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, reason), times.Wall().Add(time.Second)) // a courtesy
	_ = conn.Close()                                                                                                         // ends the reader
	<-read
	return err
}

func (o *Output) join(v *viewer) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.viewers[v] = struct{}{}
}

func (o *Output) leave(v *viewer) {
	o.mu.Lock()
	defer o.mu.Unlock()
	delete(o.viewers, v)
}

type viewer struct {
	conn  *websocket.Conn
	times Times
	sent  atomic.Uint64 // messages
	taken atomic.Uint64 // of these, as the viewer has answered
	saw   atomic.Uint64 // the output's news, when the writer looked for a message last
	bell  chan struct{} // of the writer: look again what there is
	pings chan ping
	told  *string // the output's words, as this viewer last had them; the writer's own
}

// ping is what a page asks for the host's clock with, and when that came.
type ping struct{ asked, received int64 } // microseconds

// ring has the writer look. It waits for nobody: one ring is as good as many.
func (v *viewer) ring() {
	select {
	case v.bell <- struct{}{}:
	default:
	}
}

// flight is what is on its way.
type flight struct {
	sent, taken uint64
	sizes       [maxFlight]int // of the messages, by their count
	bytes       int
}

func (f *flight) start(size int) {
	f.sizes[f.sent%maxFlight] = size
	f.sent++
	f.bytes += size
}

// land takes away what has been taken, and tells whether another may start.
func (f *flight) land(taken uint64) bool {
	for ; f.taken < taken; f.taken++ {
		f.bytes -= f.sizes[f.taken%maxFlight]
	}
	return f.sent-f.taken < maxFlight && f.bytes < maxFlightBytes
}

// write is the one writer of the connection.
func (v *viewer) write(gone context.Context, o *Output) error {
	var at place
	var way flight
	var heard time.Time // when the deadline of an answer was put off
	for ; ; <-v.bell {
		if err := gone.Err(); err != nil {
			return err
		}
		if err := v.pong(o); err != nil {
			return err
		}
		if !way.land(v.taken.Load()) {
			continue // an answer rings
		}
		v.saw.Store(o.news.Load())
		m, ended := o.next(&at)
		if m == nil {
			if ended {
				return nil
			}
			continue
		}
		way.start(len(m.data))
		now := v.times.Wall()
		if now.Sub(heard) > time.Second { // not each time: it costs as much as a message does in the kernel
			heard = now
			if err := v.conn.SetReadDeadline(now.Add(answerWithin)); err != nil {
				return err
			}
		}
		if err := v.conn.SetWriteDeadline(now.Add(writeWithin)); err != nil {
			return err
		}
		v.sent.Store(way.sent)
		if err := v.conn.WritePreparedMessage(m.framed); err != nil || ended {
			return err
		}
	}
}

// pong answers what has been asked, and tells what is new in words.
func (v *viewer) pong(o *Output) error {
	for {
		select {
		case p := <-v.pings:
			if err := v.conn.SetWriteDeadline(v.times.Wall().Add(writeWithin)); err != nil {
				return err
			}
			text := fmt.Appendf(nil, "pong %d %d %d", p.asked, p.received, v.times.Now().Microseconds())
			if words := o.words.Load(); words != v.told {
				text = append(append(text, '\n'), *words...)
				v.told = words
			}
			if err := v.conn.WriteMessage(websocket.TextMessage, text); err != nil {
				return err
			}
		default:
			return nil
		}
	}
}

// read takes the answers and pings. The deadline that ends it is set by the writer with each message, of which there are two a
// second at least.
func (v *viewer) read(o *Output) error {
	var free time.Duration // when all pings so far are paid for
	for {
		kind, text, err := v.conn.ReadMessage()
		if err != nil {
			return err
		}
		now := v.times.Now()
		digits, asks := bytes.CutPrefix(text, []byte("ping "))
		n, err := strconv.ParseUint(string(digits), 10, 53)
		if err != nil || kind != websocket.TextMessage {
			return fmt.Errorf("%w; %q came", ErrAnswer, text)
		}
		if !asks {
			if n <= v.taken.Load() || n > v.sent.Load() {
				return fmt.Errorf("%w; %q came", ErrAnswer, text)
			}
			v.taken.Store(n)
			if o.news.Load() != v.saw.Load() { // else the writer has nothing to do
				v.ring()
			}
			continue
		}
		if free = max(free, now) + pingEvery; free > now+burst*pingEvery {
			return fmt.Errorf("%w; %d pings came at once", ErrAnswer, burst+1)
		}
		select {
		case v.pings <- ping{int64(n), now.Microseconds()}:
		default: // the page takes nothing; it will ask again
		}
		v.ring()
	}
}
