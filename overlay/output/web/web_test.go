package web

import (
	"bytes"
	"compress/flate"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"go.uber.org/goleak"

	"rafter/overlay/frame"
	"rafter/overlay/output"
	"rafter/overlay/output/outputtest"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// follow takes all that there is for a viewer.
func follow(t testing.TB, o *Output, p *place, c *Canvas) {
	t.Helper()
	for {
		m, _ := o.next(p)
		if m == nil {
			return
		}
		if err := c.Take(m.data); err != nil {
			t.Fatal(err)
		}
	}
}

func TestOutput(t *testing.T) {
	outputtest.Run(t, outputtest.Rig{
		New: func(t *testing.T, size image.Point) (output.Sink, func(t *testing.T) *frame.Frame) {
			o, c := New(), &Canvas{}
			return o, func(t *testing.T) *frame.Frame {
				follow(t, o, &place{}, c)
				return c.Frame()
			}
		},
		Resizes: true,
	})
}

// Viewers who look now and then, be it once in three hundred frames, all see the newest frame when they look: random
// frames, damages, boxes and sizes.
func TestWhoeverLooksSeesTheNewest(t *testing.T) {
	for seed := range uint64(3) {
		r := rand.New(rand.NewPCG(seed, 1))
		o := New()
		type looker struct {
			place  place
			canvas Canvas
			every  int
		}
		lookers := []*looker{{every: 1}, {every: 3}, {every: 40}, {every: 300}}
		size := image.Pt(60, 40)
		m := Moment{Box: image.Rect(5, 4, 50, 30)}
		f := masked(size, m.Box, int(seed))
		if err := o.ShowAt(f, outputtest.All(f), m); err != nil {
			t.Fatal(err)
		}
		for n := range 400 {
			var d frame.Damage
			switch r.IntN(100) {
			case 0:
				x, y := r.IntN(20), r.IntN(20)
				m.Box = image.Rect(x, y, x+10+r.IntN(31), y+8+r.IntN(13))
				f = masked(size, m.Box, n)
				d = outputtest.All(f)
			default:
				for range r.IntN(4) {
					x, y := r.IntN(60), r.IntN(40)
					b := image.Rect(x, y, min(x+1+r.IntN(9), 60), min(y+1+r.IntN(9), 40))
					inside := b.Intersect(m.Box)
					for y := inside.Min.Y; y < inside.Max.Y; y++ {
						row := f.Row(y, inside.Min.X, inside.Max.X)
						for i := range row {
							row[i] = byte(n) // white, as far as it is there
						}
					}
					d.Add(b)
				}
			}
			m.At = int64(n)
			if err := o.ShowAt(f, d, m); err != nil {
				t.Fatal(err)
			}
			if r.IntN(5) == 0 {
				o.Beat(0)
			}
			for i, l := range lookers {
				if n%l.every != 0 {
					continue
				}
				follow(t, o, &l.place, &l.canvas)
				if got := l.canvas.Frame(); got.W != f.W || !bytes.Equal(got.Pix, f.Pix) {
					t.Fatalf("seed %d, frame %d: viewer %d sees another", seed, n, i)
				}
			}
		}
		if s := o.Stats(); s.Encoded > 2*s.Frames || s.Frames < 60 {
			t.Errorf("%+v: a message is compressed for each viewer", s)
		}
	}
}

// masked is a pattern that is transparent outside a box.
func masked(size image.Point, box image.Rectangle, seed int) *frame.Frame {
	f, p := frame.New(size.X, size.Y), outputtest.Pattern(size, seed)
	for y := box.Min.Y; y < box.Max.Y; y++ {
		copy(f.Row(y, box.Min.X, box.Max.X), p.Row(y, box.Min.X, box.Max.X))
	}
	return f
}

func TestTheBytesOfAMessage(t *testing.T) {
	o := New()
	f := frame.New(8, 6)
	copy(f.Row(3, 2, 4), []byte{255, 0, 0, 255, 64, 0, 0, 128})
	if err := o.ShowAt(f, outputtest.All(f), Moment{At: 7e9, Made: -1, Box: image.Rect(2, 3, 4, 4)}); err != nil {
		t.Fatal(err)
	}
	next, _ := o.next(&place{})
	m := next.data
	want := "01 02 00 01 0000000000000001 00000001a13b8600 ffffffffffffffff 0008 0006 0002 0003 0002 0001 00000000 0001 0000 0000 0002 0001"
	if got := fmt.Sprintf("%x", m[:54]); got != strings.ReplaceAll(want, " ", "") {
		t.Errorf("%s", got)
	}
	// Source: RFC 1951, read by the standard library; 64 of 128 is 128 of 255, rounded (64·255/128 = 127.5).
	pix, err := io.ReadAll(flate.NewReader(bytes.NewReader(m[54:])))
	if err != nil || !bytes.Equal(pix, []byte{255, 0, 0, 255, 128, 0, 0, 128}) {
		t.Errorf("pixels %v, %v", pix, err)
	}
}

func TestABoxOutsideTheFrameIsRefused(t *testing.T) {
	f := frame.New(8, 6)
	if err := New().ShowAt(f, outputtest.All(f), Moment{Box: image.Rect(0, 0, 9, 6)}); err == nil || !strings.Contains(err.Error(), "8×6") {
		t.Error(err)
	}
}

func FuzzCanvas(f *testing.F) {
	for _, m := range messages(f) {
		f.Add(m)
	}
	f.Fuzz(func(t *testing.T, m []byte) {
		if len(m) >= headBytes && binary.BigEndian.Uint16(m[36:]) > 256 {
			return // large pictures only cost time
		}
		var c Canvas
		o := New()
		p := outputtest.Pattern(image.Pt(24, 16), 1)
		_ = o.Show(p, outputtest.All(p))
		follow(t, o, &place{}, &c)
		before := c.Frame()
		if err := c.Take(m); err != nil && !bytes.Equal(c.Frame().Pix, before.Pix) {
			t.Errorf("%v, and the canvas has changed", err)
		}
	})
}

func messages(t testing.TB) (list [][]byte) {
	o := New()
	var p place
	for n := range 3 {
		f := outputtest.Pattern(image.Pt(24, 16), n)
		d := outputtest.All(f)
		if n > 0 {
			d = frame.Damage{}
			d.Add(image.Rect(n, n, 5, 7))
		}
		if err := o.Show(f, d); err != nil {
			t.Fatal(err)
		}
		m, _ := o.next(&p)
		list = append(list, m.data)
	}
	o.Beat(0)
	next, _ := o.next(&p)
	m := next.data
	return append(list, m, m[:20], append(bytes.Clone(m), 1), list[1][:60])
}

func testTimes() Times {
	began := time.Now()
	return Times{Wall: time.Now, Now: func() time.Duration { return time.Since(began) }}
}

// site serves an output to pages over loopback, as a host does.
func site(t testing.TB, o *Output) (url string, ended <-chan error) {
	t.Helper()
	errs := make(chan error, 300)
	ctx, cancel := context.WithCancel(context.Background())
	var busy sync.WaitGroup
	up := websocket.Upgrader{}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		conn, err := up.Upgrade(w, r, nil)
		if err != nil {
			return
		}
		busy.Add(1)
		defer busy.Done()
		errs <- o.Serve(ctx, conn, testTimes())
	}))
	t.Cleanup(func() { cancel(); busy.Wait(); s.Close() })
	return "ws" + strings.TrimPrefix(s.URL, "http"), errs
}

func dial(t testing.TB, url string) *websocket.Conn {
	t.Helper()
	conn, _, err := websocket.DefaultDialer.Dial(url, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

// page is a viewer that takes a message at a time, and answers when it is told to.
type page struct {
	Canvas
	conn *websocket.Conn
	took Answers
	due  []byte // an answer
}

// receive takes a message.
func (p *page) receive(t testing.TB) {
	t.Helper()
	_ = p.conn.SetReadDeadline(time.Now().Add(5 * time.Second))
	_, m, err := p.conn.ReadMessage()
	if err == nil {
		err = p.Take(m)
	}
	if err != nil {
		t.Fatal(err)
	}
	if due := p.took.To(m); due != nil {
		p.due = due
	}
}

// answer sends what a page would have sent by now.
func (p *page) answer(t testing.TB) {
	t.Helper()
	if p.due == nil {
		return
	}
	if err := p.conn.WriteMessage(websocket.TextMessage, p.due); err != nil {
		t.Fatal(err)
	}
	p.due = nil
}

func TestFewMessagesAreOnTheirWayAndTheNextIsTheNewest(t *testing.T) {
	for name, on := range map[string]struct {
		size   image.Point
		flight int // messages
	}{
		"small":      {image.Pt(24, 16), maxFlight},
		"large":      {image.Pt(60, 60), 3}, // the first of 12 KB, the others of 3
		"very_large": {image.Pt(300, 200), 1},
	} {
		t.Run(name, func(t *testing.T) {
			o := New()
			url, _ := site(t, o)
			noise := rand.New(rand.NewPCG(1, 2)) // is not compressed
			f := frame.New(on.size.X, on.size.Y)
			show := func(r image.Rectangle) {
				for y := r.Min.Y; y < r.Max.Y; y++ {
					row := f.Row(y, r.Min.X, r.Max.X)
					for i := range row {
						row[i] = byte(noise.Uint32()) | 1
						if i%4 == 3 {
							row[i] = 255
						}
					}
				}
				var d frame.Damage
				d.Add(r)
				if err := o.Show(f, d); err != nil {
					t.Fatal(err)
				}
			}
			part := image.Rect(0, 0, on.size.X/2, on.size.Y/2)
			slow, quick := page{conn: dial(t, url)}, page{conn: dial(t, url)}
			show(f.Bounds())
			for n := range 50 { // the slow one does not answer
				if n > 0 {
					show(part.Add(image.Pt(n%10, n%7)))
				}
				quick.receive(t)
				quick.answer(t)
				if !bytes.Equal(quick.Frame().Pix, f.Pix) {
					t.Fatalf("frame %d: the quick viewer sees another", n)
				}
			}
			for range on.flight {
				slow.receive(t)
			}
			if m := o.Stats().Messages; m != uint64(50+on.flight) {
				t.Errorf("%d messages were sent", m)
			}
			slow.answer(t)
			slow.receive(t)
			if slow.Sequence != 50 || !bytes.Equal(slow.Frame().Pix, f.Pix) {
				t.Errorf("the slow viewer is at frame %d", slow.Sequence)
			}
		})
	}
}

func TestAnswersThatNoPageGivesEndTheConnection(t *testing.T) {
	for name, text := range map[string]string{
		"of_more_than_came": "2", "of_nothing": "0", "none": "", "words": "shown", "negative": "-1", "a_ping_without_a_number": "ping", "a_ping_with_words": "ping now", "a_ping_beyond_a_number": "ping 9007199254740992", "too_long": strings.Repeat("1", maxText+1), "twice": "1 1",
	} {
		t.Run(name, func(t *testing.T) {
			o := New()
			url, ended := site(t, o)
			f := outputtest.Pattern(image.Pt(4, 4), 0)
			_ = o.Show(f, outputtest.All(f))
			conn := dial(t, url)
			(&page{conn: conn}).receive(t)
			if err := conn.WriteMessage(websocket.TextMessage, []byte(text)); err != nil {
				t.Fatal(err)
			}
			err := <-ended
			if name == "too_long" && errors.Is(err, websocket.ErrReadLimit) {
				return
			}
			if !errors.Is(err, ErrAnswer) {
				t.Errorf("ended by %v", err)
			}
			if _, _, err := conn.ReadMessage(); !websocket.IsCloseError(err, websocket.ClosePolicyViolation) {
				t.Errorf("the page is told %v", err)
			}
		})
	}
}

// Two hundred pages, ten of which never answer: the others see each frame, and nothing stays behind.
func TestManyViewersAndAFewThatAreStuck(t *testing.T) {
	o := New()
	url, ended := site(t, o)
	const viewers, stuck, frames = 200, 10, 30
	size := image.Pt(200, 40)
	var seen sync.WaitGroup
	var ready sync.WaitGroup
	ready.Add(viewers)
	for n := range viewers {
		conn := dial(t, url)
		if n < stuck {
			ready.Done()
			continue
		}
		seen.Go(func() {
			p := page{conn: conn}
			for first := true; p.Sequence < frames+1; first = false {
				p.receive(t)
				p.answer(t)
				if first {
					ready.Done()
				}
			}
			if !bytes.Equal(p.Frame().Pix, outputtest.Pattern(size, frames+1).Pix) {
				t.Error("the last frame is another")
			}
		})
	}
	f := outputtest.Pattern(size, 1)
	_ = o.Show(f, outputtest.All(f))
	ready.Wait()
	began := time.Now()
	for n := range frames {
		f := outputtest.Pattern(size, n+2)
		if err := o.Show(f, outputtest.All(f)); err != nil {
			t.Fatal(err)
		}
	}
	seen.Wait()
	t.Logf("%d frames to %d viewers in %v, %+v", frames, viewers, time.Since(began), o.Stats())
	if s := o.Stats(); s.Encoded > 3*(frames+1) {
		t.Errorf("%d messages were compressed for %d frames", s.Encoded, frames)
	}
	if err := o.Close(); err != nil {
		t.Error(err)
	}
	for range viewers - stuck {
		if err := <-ended; err != nil {
			t.Errorf("ended by %v", err)
		}
	}
}
