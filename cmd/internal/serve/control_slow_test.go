package serve

import (
	"context"
	"math/rand/v2"
	"net"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gorilla/websocket"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/networktest"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/feed"
)

// The same touch through ways that take longer and longer, by the host's clock as a desk can know it: it is done as soon as it
// comes, or never. Time is the test's own.
func TestADeskOnASlowNetwork(t *testing.T) {
	for _, c := range []struct {
		way  time.Duration // one
		code engine.Code
	}{{40 * time.Millisecond, ""}, {host.MaxLate - 50*time.Millisecond, ""}, {host.MaxLate + 50*time.Millisecond, engine.TooLate}} {
		t.Run(c.way.String(), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				hall := networktest.NewHall(28150)
				n := &networktest.Network{Mean: c.way, Random: rand.New(rand.NewPCG(1, 2))}
				tokens, err := access.OpenTokens(filepath.Join(t.TempDir(), "desks.json"), nil)
				if err != nil {
					t.Fatal(err)
				}
				st := openOn(t, hall, func(c *Config) { c.Tokens, c.Codes = tokens, access.NewCodes(nil) })
				secret, _ := st.token("phone")
				through := websocket.Dialer{NetDialContext: func(ctx context.Context, kind, address string) (net.Conn, error) {
					far, err := hall.Dial(ctx, kind, address)
					near, other := net.Pipe()
					n.Join(other, far)
					return near, err
				}}
				conn, _, err := through.Dial("ws://"+st.addr+"/control", bearer(secret))
				if err != nil {
					t.Fatal(err)
				}
				h := &hand{reader: &reader{t: t, conn: conn, desk: true, patience: time.Minute}}
				h.say(openingDesk)
				reply[feed.Snapshot](h)
				began := time.Now()
				local := func() int64 { return int64(time.Since(began)) + 5e9 } // from a zero of its own
				var known feed.Estimate
				h.say(feed.Ping{Asked: local()})
				p := reply[feed.Pong](h)
				if err := known.Add(feed.Sample{Asked: p.Asked, Received: p.Received, Sent: p.Sent, Answered: local()}); err != nil {
					t.Fatal(err)
				}
				touched := clock.Instant(known.Host(local()))
				if off := touched.Sub(st.host.Now()); off.Abs() > 5*time.Millisecond {
					t.Fatalf("the desk's clock is off by %v", off)
				}
				h.say(feed.Order{Number: 1, Command: start, Touched: &touched})
				a := reply[feed.Answer](h)
				if (a.Refused != nil) != (c.code != "") || a.Refused != nil && a.Refused.Code != c.code {
					t.Errorf("%+v", a.Refused)
				}
				events := st.host.Game().Events()
				if (len(events) == 1) != (c.code == "") {
					t.Errorf("%d events", len(events))
				}
				if len(events) == 1 {
					if late := events[0].At.Sub(touched); late < c.way-5*time.Millisecond || late > c.way+5*time.Millisecond {
						t.Errorf("done %v after the touch", late)
					}
				}
				_ = conn.Close()
				st.stop()
				n.Wait()
			})
		})
	}
}
