package serve

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"net"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"rafter/engine"
	"rafter/engine/feed"
)

// schemas compiles those that the host itself serves.
func (st *stand) schemas() map[string]*jsonschema.Schema {
	st.t.Helper()
	c := jsonschema.NewCompiler()
	names := []string{"answer", "ask_log", "ask_outputs", "ask_rules", "command", "delay", "entries", "event", "game_command", "league", "opening", "outputs", "ping", "pong", "problem", "resend", "rules", "snapshot", "standing", "view", "welcome"}
	for _, name := range names {
		_, text := st.get("/schema/"+name+".json", nil)
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
		if err == nil {
			err = c.AddResource("mem:///schema/"+name+".json", doc)
		}
		if err != nil {
			st.t.Fatal(err)
		}
	}
	all := map[string]*jsonschema.Schema{}
	for _, name := range names {
		all[name] = c.MustCompile("mem:///schema/" + name + ".json")
	}
	return all
}

// reader reads the feed and holds each message to its schema.
type reader struct {
	t        testing.TB
	conn     *websocket.Conn
	schemas  map[string]*jsonschema.Schema // nil: for speed
	desk     bool                          // it may read names
	patience time.Duration                 // of a read; 0: 5 s
}

func (st *stand) read(role feed.Role) *reader {
	st.t.Helper()
	r := &reader{t: st.t, conn: st.dial("/feed"), schemas: st.schemas()}
	r.say(feed.Opening{Versions: []int{feed.Version}, Role: role})
	return r
}

func (r *reader) say(m any) {
	r.t.Helper()
	data, err := feed.Encode(m)
	if err == nil {
		err = r.conn.WriteMessage(websocket.TextMessage, data)
	}
	if err != nil {
		r.t.Fatal(err)
	}
}

func (r *reader) next() any {
	r.t.Helper()
	_ = r.conn.SetReadDeadline(time.Now().Add(cmp.Or(r.patience, 5*time.Second)))
	_, data, err := r.conn.ReadMessage()
	if err != nil {
		r.t.Fatal(err)
	}
	if !r.desk && bytes.Contains(data, []byte("Quillon")) {
		r.t.Fatalf("a player's name is in %s", data)
	}
	if r.schemas != nil {
		name := decode(r.t, data)["type"].(string)
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err == nil {
			err = r.schemas[name].Validate(doc)
		}
		if err != nil {
			r.t.Fatalf("%s\n%v", data, err)
		}
	}
	m, err := feed.FromHost(data)
	if err != nil {
		r.t.Fatal(err)
	}
	return m
}

func TestAViewerSeesTheViewAfterEachEvent(t *testing.T) {
	st := open(t, nil)
	st.do(start)
	r := st.read(feed.Viewer)
	if w, ok := r.next().(*feed.Welcome); !ok || w.Version != 1 || w.Role != feed.Viewer || w.Program != "rafter test" {
		t.Fatalf("%+v", w)
	}
	snap, ok := r.next().(*feed.Snapshot)
	if !ok || snap.Seq != 1 || snap.Game != st.host.Snapshot().ID || snap.Log != nil || snap.Display.Rounding != "floor" {
		t.Fatalf("%+v", snap)
	}
	for n, c := range []engine.Command{two, {Do: engine.Roster, Team: engine.Home, By: "4", Text: "Quillon New"}, {Do: engine.ShowLower, Team: engine.Home, By: "4"}, {Do: engine.Undo}, stop} {
		st.do(c)
		m := r.next().(*feed.Happened)
		v := decode(t, m.View)
		if m.Seq != int64(n+2) || m.Event.Number != n+2 || v["last_event"] != float64(n+2) {
			t.Errorf("event %d with number %d, of a view after %v", m.Seq, m.Event.Number, v["last_event"])
		}
		g := st.host.Game()
		want := g.Until(m.Event.At).View(m.Event.At)
		if got := v["home"].(map[string]any)["score"]; got != float64(want.Home.Score) {
			t.Errorf("score %v, want %d", got, want.Home.Score)
		}
	}
	if _, _, err := st.host.Do("keys", engine.Command{Do: engine.GameNew}); err != nil {
		t.Fatal(err)
	}
	if again, ok := r.next().(*feed.Snapshot); !ok || again.Game == snap.Game {
		t.Errorf("another game begins with %+v", again)
	}
	st.do(two)
	if m := r.next().(*feed.Happened); m.Event.Number != 1 || m.Seq != 8 {
		t.Errorf("%+v", m)
	}
}

// Who comes to look is told what has happened lately, and after a correction what of it still stands.
func TestAViewerIsToldWhatHappenedLately(t *testing.T) {
	st := open(t, nil)
	for range 20 {
		st.do(start)
		st.do(two)
		st.do(stop)
	}
	r := st.read(feed.Viewer)
	r.next()
	told := func(list []feed.Entry) (numbers []int, back []int) {
		for _, e := range list {
			numbers = append(numbers, e.Event.Number)
			if !e.Live {
				back = append(back, e.Event.Number)
			}
		}
		return numbers, back
	}
	numbers, back := told(r.next().(*feed.Snapshot).Recent)
	if want := []int{26, 29, 32, 35, 38, 41, 44, 47, 50, 53, 56, 59}; !slices.Equal(numbers, want) || back != nil {
		t.Errorf("told of %v, %v taken back; want %v", numbers, back, want)
	}
	st.do(two)
	if m := r.next().(*feed.Happened); m.Recent != nil {
		t.Errorf("told all anew: %v", m.Recent)
	}
	st.do(engine.Command{Do: engine.Void, Event: 59})
	if numbers, back := told(r.next().(*feed.Happened).Recent); len(numbers) != 12 || numbers[11] != 61 || !slices.Equal(back, []int{59}) {
		t.Errorf("told of %v, %v taken back", numbers, back)
	}
	late := st.read(feed.Viewer)
	late.next()
	if numbers, back := told(late.next().(*feed.Snapshot).Recent); len(numbers) != 12 || numbers[11] != 61 || !slices.Equal(back, []int{59}) {
		t.Errorf("who comes later is told of %v, %v taken back", numbers, back)
	}
}

// A relay can play the game it is sent, and has the same state without the names.
func TestARelayPlaysTheSameGame(t *testing.T) {
	st := open(t, nil)
	for _, c := range []engine.Command{start, two, {Do: engine.Undo}, {Do: engine.Redo}} {
		st.do(c)
	}
	r := st.read(feed.Relay)
	r.next()
	snap := r.next().(*feed.Snapshot)
	g, err := engine.NewGame(snap.Log.Setup)
	if err != nil {
		t.Fatal(err)
	}
	for _, ev := range snap.Log.Events {
		if err := g.Follow(ev); err != nil {
			t.Fatal(err)
		}
	}
	for range 5 {
		st.do(two)
		m := r.next().(*feed.Happened)
		if m.View != nil {
			t.Error("a relay needs no view")
		}
		if err := g.Follow(m.Event); err != nil {
			t.Fatal(err)
		}
	}
	at := st.host.Now()
	got, _ := json.Marshal(g.View(at))
	shown := st.host.Game().View(at)
	st.s.names.View(&shown)
	want, _ := json.Marshal(shown)
	if !bytes.Equal(got, want) {
		t.Errorf("the relay shows\n%s\nthe host\n%s", got, want)
	}
}

func TestResendAndPing(t *testing.T) {
	st := open(t, nil)
	for range 3 {
		st.do(two)
	}
	r := st.read(feed.Viewer)
	r.next()
	if snap := r.next().(*feed.Snapshot); snap.Seq != 3 {
		t.Fatalf("snapshot %d", snap.Seq)
	}
	st.do(two)
	st.do(two)
	for seq := int64(4); seq <= 5; seq++ {
		if m := r.next().(*feed.Happened); m.Seq != seq {
			t.Fatalf("%d, want %d", m.Seq, seq)
		}
	}
	r.say(feed.Resend{After: 3})
	for seq := int64(4); seq <= 5; seq++ {
		if m := r.next().(*feed.Happened); m.Seq != seq {
			t.Fatalf("again %d, want %d", m.Seq, seq)
		}
	}
	// What came before the host had anybody to tell it to is not written; nor what is yet to come.
	r.say(feed.Resend{After: 99})
	if snap, ok := r.next().(*feed.Snapshot); !ok || snap.Seq != 5 {
		t.Fatalf("%+v", snap)
	}
	before := int64(st.host.Now())
	r.say(feed.Ping{Asked: -7})
	p := r.next().(*feed.Pong)
	if now := int64(st.host.Now()); p.Asked != -7 || p.Received < before || p.Sent < p.Received || p.Sent > now {
		t.Errorf("%+v, between %d and %d", p, before, now)
	}
}

// endsFor says texts on a connection, which the host is to end for that code.
func (st *stand) endsFor(t *testing.T, conn *websocket.Conn, kind int, say []string, code string) {
	t.Helper()
	before := st.s.refused.message.Load()
	for _, text := range say {
		if conn.WriteMessage(kind, []byte(text)) != nil {
			break // ended already
		}
	}
	got := ends(t, conn)
	if got == "" && len(say) > 20 && st.s.refused.message.Load() > before {
		return // what the host has not read is answered with a reset, which may overtake its reason
	}
	if got != code {
		t.Errorf("ended by %q, want %s", got, code)
	}
}

// ends reads until the host ends the connection, and returns the problem that it named.
func ends(t testing.TB, conn *websocket.Conn) string {
	t.Helper()
	code := ""
	for {
		_ = conn.SetReadDeadline(time.Now().Add(8 * time.Second))
		_, data, err := conn.ReadMessage()
		if err != nil {
			var late net.Error
			if errors.As(err, &late) && late.Timeout() {
				t.Error("the connection was not ended")
			}
			if websocket.IsCloseError(err, websocket.CloseMessageTooBig) { // RFC 6455 section 7.4.1: 1009
				return "1009"
			}
			return code
		}
		if m := decode(t, data); m["type"] == "problem" {
			code = m["code"].(string)
		}
	}
}

func TestWhatNoViewerMayDo(t *testing.T) {
	st := open(t, nil)
	opening := `{"type":"opening","versions":[1],"role":"viewer"}`
	for _, c := range []struct {
		name, code string
		say        []string
		binary     bool
	}{
		{"a_desk", feed.NotPaired, []string{`{"type":"opening","versions":[1],"role":"desk","token":"x"}`}, false},
		{"another_version", feed.NoVersion, []string{`{"type":"opening","versions":[2],"role":"viewer"}`}, false},
		{"no_opening", feed.BadMessage, []string{`{"type":"ping","asked_ns":1}`}, false},
		{"two_openings", feed.BadMessage, []string{opening, opening}, false},
		{"a_command", feed.BadMessage, []string{opening, `{"type":"command","number":1,"command":{"do":"clock_start"}}`}, false},
		{"no_json", feed.BadMessage, []string{opening, `{`}, false},
		{"binary", feed.BadMessage, []string{opening}, true},
		{"too_long", "1009", []string{opening, `{"type":"ping","asked_ns":1` + strings.Repeat(" ", feed.MaxFromViewer) + `}`}, false},
		{"too_fast", feed.TooFast, append([]string{opening}, strings.Split(strings.Repeat(`{"type":"ping","asked_ns":1} `, 60), " ")[:60]...), false},
		{"resends", feed.TooFast, append([]string{opening}, strings.Split(strings.Repeat(`{"type":"resend","after":0} `, 6), " ")[:6]...), false},
	} {
		t.Run(c.name, func(t *testing.T) {
			kind := websocket.TextMessage
			if c.binary {
				kind = websocket.BinaryMessage
			}
			st.endsFor(t, st.dial("/feed"), kind, c.say, c.code)
		})
	}
	if len(st.host.Game().Events()) != 0 {
		t.Error("somebody on the feed changed the game")
	}
}

func TestTooManyRelays(t *testing.T) {
	st := open(t, func(c *Config) { c.Bounds.Relays = 3 })
	joins := func(n int) (net.Conn, string) {
		t.Helper()
		conn, err := st.enter(n, "/feed")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() })
		_, _ = conn.Write(fromClient(fin|text, `{"type":"opening","versions":[1],"role":"relay"}`))
		var said []byte
		for buf := make([]byte, 4096); ; {
			n, err := conn.Read(buf)
			said = append(said, buf[:n]...)
			for _, word := range []string{`"log":`, feed.TooMany} {
				if bytes.Contains(said, []byte(word)) {
					return conn, word
				}
			}
			if err != nil {
				t.Fatalf("%.200q, %v", said, err)
			}
		}
	}
	first, a := joins(1)
	second, b := joins(1)
	last, c := joins(1)
	if a+b+c != `"log":"log":"log":` {
		t.Errorf("%s, %s, %s", a, b, c)
	}
	if _, got := joins(1); got != feed.TooMany {
		t.Errorf("one too many from one address: %s", got)
	}
	if _, got := joins(2); got != `"log":` {
		t.Errorf("from another: %s", got)
	}
	if _, err := ended(last, 2*time.Second); err != nil {
		t.Errorf("the last of the one that has most: %v", err)
	}
	for _, n := range []int{1, 2} { // two and one now
		if _, got := joins(n); got != feed.TooMany {
			t.Errorf("one too many from address %d: %s", n, got)
		}
	}
	if _, got := joins(3); got != `"log":` {
		t.Errorf("from a third: %s", got)
	}
	if _, err := ended(second, 2*time.Second); err != nil {
		t.Errorf("the second of the one that has two: %v", err)
	}
	if _, got := joins(4); got != feed.TooMany {
		t.Errorf("from a fourth, where each has one: %s", got)
	}
	_ = first.SetReadDeadline(time.Now().Add(10 * time.Millisecond))
	if _, err := first.Read(make([]byte, 1)); !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("one that is the only one of its address: %v", err)
	}
}

// A relay that comes while a game goes on gets the log as another has had it, what has happened since, and what time it is.
func TestALongGameIsWrittenOnceForManyRelays(t *testing.T) {
	st := open(t, nil)
	for range 10 {
		st.do(two)
	}
	relay := func() *feed.Snapshot {
		t.Helper()
		r := st.read(feed.Relay)
		r.next()
		snap := r.next().(*feed.Snapshot)
		for seq := snap.Seq; seq < int64(len(st.host.Game().Events())); {
			m := r.next().(*feed.Happened)
			if seq++; m.Seq != seq {
				t.Fatalf("event %d after %d", m.Seq, seq-1)
			}
		}
		_ = r.conn.Close()
		return snap
	}
	first := relay()
	for range keepMessages / 2 {
		st.do(two)
	}
	for st.s.board.at() < 10+keepMessages/2 {
		time.Sleep(time.Millisecond)
	}
	second := relay()
	if second.Seq != first.Seq || len(second.Log.Events) != 10 || second.Now <= first.Now {
		t.Errorf("%d events up to message %d, at %d; before up to %d, at %d", len(second.Log.Events), second.Seq, second.Now, first.Seq, first.Now)
	}
	st.do(two)
	for st.s.board.at() < 11+keepMessages/2 {
		time.Sleep(time.Millisecond)
	}
	if third := relay(); third.Seq != 11+keepMessages/2 || len(third.Log.Events) != 11+keepMessages/2 {
		t.Errorf("%d events up to message %d", len(third.Log.Events), third.Seq)
	}
	st.do(engine.Command{Do: engine.GameNew})
	st.do(two)
	r := st.read(feed.Relay)
	r.next()
	if snap := r.next().(*feed.Snapshot); snap.Game == first.Game || len(snap.Log.Events) > 1 {
		t.Errorf("another game begins with %d events of game %s", len(snap.Log.Events), snap.Game)
	}
}

// A reader who takes nothing holds up neither the game nor the others, and gets on with a snapshot when it reads again.
func TestASlowReaderHoldsUpNobody(t *testing.T) {
	st := open(t, nil)
	stuck := st.read(feed.Viewer)
	r := st.read(feed.Viewer)
	r.next()
	r.next()
	r.schemas, stuck.schemas = nil, nil // other tests hold messages to them
	var most time.Duration
	var wait sync.WaitGroup
	const events = 2 * keepMessages
	wait.Go(func() {
		for seq := int64(1); seq <= events; {
			switch m := r.next().(type) {
			case *feed.Happened:
				if m.Seq != seq {
					t.Errorf("%d, want %d", m.Seq, seq)
				}
				seq = m.Seq + 1
			case *feed.Snapshot:
				seq = m.Seq + 1
			}
		}
	})
	for n := range events {
		began := time.Now()
		st.do([]engine.Command{start, stop}[n%2])
		most = max(most, time.Since(began))
	}
	wait.Wait()
	t.Logf("the slowest command took %v", most)
	for seq := int64(0); seq < events; {
		switch m := stuck.next().(type) {
		case *feed.Happened:
			seq = m.Seq
		case *feed.Snapshot:
			seq = m.Seq
		}
	}
	if _, text := st.get("/metrics", nil); !strings.Contains(text, "rafter_feed_connections 2") {
		t.Error(text)
	}
	st.stop()
	if code := ends(t, r.conn); code != feed.HostEnds {
		t.Errorf("ended by %q", code)
	}
}

func TestConnectionsAndRequestsAreBounded(t *testing.T) {
	st := open(t, func(c *Config) { c.Bounds = Bounds{Connections: 20, Requests: 2} })
	var held []net.Conn
	defer func() {
		for _, c := range held {
			_ = c.Close()
		}
	}()
	for range 20 {
		c, err := net.Dial("tcp", st.addr)
		if err != nil {
			t.Fatal(err)
		}
		held = append(held, c)
	}
	for n := 0; ; n++ {
		if room := st.s.listener.Load(); room != nil && room.open() == 20 {
			break
		}
		if n > 200 {
			t.Fatal("not all are connected")
		}
		time.Sleep(5 * time.Millisecond)
	}
	c, err := net.Dial("tcp", st.addr)
	if err != nil {
		t.Fatal(err)
	}
	held = append(held, c)
	_ = held[18].SetReadDeadline(time.Now().Add(2 * time.Second)) // on the doorstep, and there for longest
	if _, err := held[18].Read(make([]byte, 1)); err == nil || errors.Is(err, os.ErrDeadlineExceeded) || st.s.listener.Load().open() > 20 {
		t.Errorf("one connection too many: %v", err)
	}
	_ = held[0].Close()
	for n := 0; st.s.listener.Load().open() > 19 && n < 200; n++ {
		time.Sleep(5 * time.Millisecond)
	}
	codes := map[int]int{}
	for range 100 {
		answer, _ := st.get("/healthz", nil)
		codes[answer.StatusCode]++
	}
	if codes[200] < 80 || codes[200] > 95 || codes[429] == 0 { // 20 a second from here, 80 at once
		t.Errorf("%v", codes)
	}
	if statuses, _, ended := st.answers(strings.Repeat("GET /healthz HTTP/1.1\r\nHost: "+st.addr+"\r\n\r\n", 200)); len(statuses) > 95 || !ended {
		t.Errorf("who asks too often goes on on the same connection: %d answers, ended %t", len(statuses), ended)
	}
}

// An answer to a ping is of the game of the last snapshot: what crosses the beginning of another is not answered, since each
// game's instants count from its own zero, which the snapshots tell on the host's one clock.
func TestAPingIsAnsweredByTheClockOfOneGame(t *testing.T) {
	st := open(t, nil)
	r := st.read(feed.Relay)
	r.next()
	snap := r.next().(*feed.Snapshot)
	zero, games, pongs := snap.Zero, 1, 0
	time.Sleep(300 * time.Millisecond) // longer than any game that follows
	for round := range 12 {
		r.say(feed.Ping{Asked: int64(round)})
		if _, _, err := st.host.Do("keys", engine.Command{Do: engine.GameNew}); err != nil {
			t.Fatal(err)
		}
		r.say(feed.Ping{Asked: int64(round)})
		began := time.Now()
		for answered := false; !answered; {
			switch m := r.next().(type) {
			case *feed.Snapshot:
				if m.Zero <= zero {
					t.Errorf("game %d begins at %d, the one before at %d", games, m.Zero, zero)
				}
				zero = m.Zero
				games++
				r.say(feed.Ping{Asked: -1 - int64(round)})
			case *feed.Pong:
				pongs++
				answered = m.Asked == -1-int64(round)
				// The first game is long over, the others are younger than this round and the waits before it.
				if age := time.Duration(m.Sent); m.Sent < m.Received || games > 1 && age > time.Since(began)+250*time.Millisecond {
					t.Errorf("game %d is %v old by %+v", games, age, m)
				}
			}
		}
		time.Sleep(110 * time.Millisecond) // not too fast
	}
	if games != 13 || pongs < 12 {
		t.Errorf("%d games, %d answers", games, pongs)
	}
}
