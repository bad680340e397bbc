package source

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"
	"unicode"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/host"
	"rafter/cmd/internal/watch"
	"rafter/engine/mirror"
)

// Bounds on a connection.
const (
	answerWithin = 5 * time.Second // of a request, and of the opening of a socket
	pingEvery    = time.Second
	silent       = 5 * time.Second // a socket on which nothing comes, not even the answer to a ping
	firstRetry   = 250 * time.Millisecond
	lastRetry    = 5 * time.Second
	maxHeader    = 16 << 10
)

// message is what came, or why nothing could; with neither the feed is there and says nothing new.
type message struct {
	data []byte
	err  error
}

// plain cuts what another program may have worded to a line that commands no terminal.
func plain(s string) string {
	const most = 200
	s = strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, s)
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return s
}

// listen hands over what comes until the context ends; give waits as long as the receiver does. The error says why nothing can
// ever come.
func (p *Plan) listen(ctx context.Context, t host.Time, give func(message)) error {
	hand := func(m message) {
		if m.err != nil {
			m.err = errors.New(plain(m.err.Error()))
		}
		give(m)
	}
	switch {
	case p.file():
		return p.watch(ctx, t, hand)
	case strings.HasPrefix(p.From, "ws"):
		p.hear(ctx, t, hand)
	default:
		p.poll(ctx, t, hand)
	}
	return nil
}

// wait waits for a time, or for the context's end.
func wait(ctx context.Context, d time.Duration) {
	passed, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	<-passed.Done()
}

// poll asks again and again. It goes where it was told to, by no proxy, and follows nobody elsewhere.
func (p *Plan) poll(ctx context.Context, t host.Time, hand func(message)) {
	way := &http.Transport{MaxResponseHeaderBytes: maxHeader, MaxIdleConns: 1, ForceAttemptHTTP2: true}
	defer way.CloseIdleConnections()
	client := &http.Client{
		Transport: way, Timeout: answerWithin,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	tick := t.Every(p.Every)
	defer tick.Stop()
	for ctx.Err() == nil {
		data, err := ask(ctx, client, p.From)
		if ctx.Err() == nil {
			hand(message{data, err})
		}
		select {
		case <-ctx.Done():
		case <-tick.C:
		}
	}
}

func ask(ctx context.Context, client *http.Client, from string) ([]byte, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, from, nil)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Accept", "application/json")
	answer, err := client.Do(r)
	if err != nil {
		var failed *url.Error
		if errors.As(err, &failed) { // its address may hold a password
			err = failed.Err
		}
		return nil, err
	}
	defer func() { _ = answer.Body.Close() }() // only read
	switch {
	case answer.StatusCode >= 300 && answer.StatusCode < 400 && answer.Header.Get("Location") != "":
		return nil, fmt.Errorf("it answers %s and sends elsewhere: name the right address", answer.Status)
	case answer.StatusCode != http.StatusOK:
		return nil, fmt.Errorf("it answers %s", answer.Status)
	}
	return readAll(answer.Body)
}

// readAll reads one byte more than a document may have, so that too long is seen.
func readAll(r io.Reader) ([]byte, error) { return io.ReadAll(io.LimitReader(r, mirror.MaxDocument+1)) }

// hear keeps a WebSocket open, and opens it again where it closes.
func (p *Plan) hear(ctx context.Context, t host.Time, hand func(message)) {
	dialer := websocket.Dialer{HandshakeTimeout: answerWithin}
	for retry := firstRetry; ctx.Err() == nil; retry = min(2*retry, lastRetry) {
		began := t.Now()
		c, answer, err := dialer.DialContext(ctx, p.From, nil)
		if err == nil {
			err = p.hearOne(ctx, t, c, hand)
		} else if answer != nil {
			err = fmt.Errorf("it answers %s, and opens no WebSocket", answer.Status)
		}
		if ctx.Err() != nil {
			return
		}
		hand(message{err: err})
		if t.Now()-began > lastRetry {
			retry = firstRetry
		}
		wait(ctx, retry)
	}
}

// hearOne reads a socket to its end. Of what comes faster than it is taken only the newest is kept.
func (p *Plan) hearOne(ctx context.Context, t host.Time, c *websocket.Conn, hand func(message)) error {
	newest, alive, ended := make(chan message, 1), make(chan struct{}, 1), make(chan error, 1)
	heard := func() error { return c.SetReadDeadline(t.Wall().Add(silent)) }
	c.SetReadLimit(mirror.MaxDocument)
	c.SetPongHandler(func(string) error {
		select {
		case alive <- struct{}{}:
		default:
		}
		return heard()
	})
	go func() {
		for {
			err := heard()
			kind, data := 0, []byte(nil)
			if err == nil {
				kind, data, err = c.ReadMessage()
			}
			if err == nil && kind != websocket.TextMessage {
				err = errors.New("it sends bytes, where JSON is a text")
			}
			if err != nil {
				ended <- err
				return
			}
			select {
			case <-newest:
			default:
			}
			newest <- message{data: data}
		}
	}()
	every := pingEvery
	if p.Stale > 0 {
		every = min(every, p.Stale/3)
	}
	ping, pace := t.Every(every), t.Every(p.Every)
	defer ping.Stop()
	defer pace.Stop()
	for ready := newest; ; {
		var err error
		select {
		case m := <-ready:
			hand(m)
			ready = nil
			pace.Reset(p.Every)
		case <-pace.C:
			ready = newest
		case <-alive:
			hand(message{})
		case <-ping.C:
			err = c.WriteControl(websocket.PingMessage, nil, t.Wall().Add(pingEvery))
		case <-ctx.Done():
			err = ctx.Err()
		case err = <-ended:
			ended <- err
		}
		if err != nil {
			_ = c.Close() // it has ended, or is to
			<-ended
			return err
		}
	}
}

// watch reads a file when it changes.
func (p *Plan) watch(ctx context.Context, t host.Time, hand func(message)) error {
	read := func() ([]byte, error) { return readFile(p.From) }
	w, err := watch.Start(p.From, func(string) bool { return false }, read)
	if err != nil {
		return err
	}
	defer func() { _ = w.Close() }() // nothing is written
	data, err := read()
	tick := t.Every(p.Every)
	defer tick.Stop()
	for ctx.Err() == nil {
		hand(message{data, err})
		for changed := false; !changed; {
			select {
			case <-ctx.Done():
				return nil
			case <-tick.C:
			}
			var r watch.Result[[]byte]
			r, changed = w.Next()
			data, err = r.Value, r.Err
		}
	}
	return nil
}

func readFile(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() { // a pipe would never end
		err = errors.New("it is no plain file")
	}
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	return readAll(f)
}
