package web

import (
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
	maxAnswer    = 20               // bytes: a sequence in decimal digits
	answerWithin = 15 * time.Second // of a message, a second less at times; who takes longer is gone
	writeWithin  = 10 * time.Second
)

// ErrAnswer is an answer that no page gives.
var ErrAnswer = errors.New("a viewer answers each message once, with its sequence as text")

// Serve sends the output's frames to one viewer until that leaves, the output is closed or the context ends. One message is
// on its way at a time: the next is made when the page has answered, of what is newest then. now is the time of day,
// for deadlines. Serve owns the connection and closes it; it returns why it ended, nil where the output was closed.
func (o *Output) Serve(ctx context.Context, conn *websocket.Conn, now func() time.Time) error {
	v := &viewer{conn: conn, now: now, bell: make(chan struct{}, 1)}
	o.join(v)
	defer o.leave(v)
	conn.SetReadLimit(maxAnswer)
	gone, cancel := context.WithCancel(ctx)
	read := make(chan error, 1)
	go func() {
		defer cancel()
		read <- v.read()
	}()
	hurry := context.AfterFunc(ctx, func() { _ = conn.NetConn().SetWriteDeadline(now().Add(time.Second)) })
	defer hurry()
	left := context.AfterFunc(gone, v.ring)
	defer left()
	err := v.write(gone, o)
	code, reason := websocket.CloseGoingAway, "the host ends"
	select {
	case err = <-read:
		if errors.Is(err, ErrAnswer) {
			code, reason = websocket.ClosePolicyViolation, err.Error()
		}
		read <- err
	default:
	}
	cancel()
	_ = conn.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, reason), now().Add(time.Second)) // a courtesy
	_ = conn.Close()                                                                                                  // ends the reader
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
	conn *websocket.Conn
	now  func() time.Time
	due  atomic.Uint64 // the sequence to be answered; 0: none
	bell chan struct{} // of the writer: look again what there is
}

// ring has the writer look. It waits for nobody: one ring is as good as many.
func (v *viewer) ring() {
	select {
	case v.bell <- struct{}{}:
	default:
	}
}

// write is the one writer of the connection.
func (v *viewer) write(gone context.Context, o *Output) error {
	var at place
	var heard time.Time // when the deadline of an answer was put off
	for ; ; <-v.bell {
		if err := gone.Err(); err != nil {
			return err
		}
		if v.due.Load() != 0 {
			continue // its answer rings
		}
		m, ended := o.next(&at)
		switch {
		case ended:
			return nil
		case m == nil:
			continue
		}
		now := v.now()
		if now.Sub(heard) > time.Second { // not each time: it costs as much as a message does in the kernel
			heard = now
			if err := v.conn.SetReadDeadline(now.Add(answerWithin)); err != nil {
				return err
			}
		}
		if err := v.conn.SetWriteDeadline(now.Add(writeWithin)); err != nil {
			return err
		}
		v.due.Store(at.sequence)
		if err := v.conn.WritePreparedMessage(m.framed); err != nil {
			return err
		}
	}
}

// read takes the answers. The deadline that ends it is set by the writer; while no message is on its way a viewer has
// nothing to say.
func (v *viewer) read() error {
	for {
		kind, text, err := v.conn.ReadMessage()
		if err != nil {
			return err
		}
		due := v.due.Swap(0)
		if n, err := strconv.ParseUint(string(text), 10, 64); err != nil || kind != websocket.TextMessage || due == 0 || n != due {
			return fmt.Errorf("%w; %q came", ErrAnswer, text)
		}
		v.ring()
	}
}
