package feed

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
)

// Who may send what, once more and by hand: nobody who watches commands, and no host is asked by another.
func TestWhoMaySendWhat(t *testing.T) {
	viewers, desks := "opening resend ping", "opening resend ping command league delay ask_log ask_rules ask_outputs"
	hosts := "welcome snapshot event pong entries rules outputs standing answer problem"
	seen := map[string]bool{}
	for _, m := range everything(t) {
		data, err := Encode(m)
		if err != nil {
			t.Fatal(err)
		}
		var head struct{ Type string }
		if err := json.Unmarshal(data, &head); err != nil {
			t.Fatal(err)
		}
		seen[head.Type] = true
		for _, who := range []struct {
			name string
			may  string
			read func([]byte) (any, error)
		}{{"a viewer", viewers, FromViewer}, {"a desk", desks, FromDesk}, {"a host", hosts, FromHost}} {
			_, err := who.read(data)
			if may := strings.Contains(" "+who.may+" ", " "+head.Type+" "); may != (err == nil) {
				t.Errorf("%s sends %s: %v", who.name, head.Type, err)
			}
		}
	}
	if n := len(strings.Fields(desks + " " + hosts)); len(seen) != n {
		t.Errorf("%d of %d messages were tried", len(seen), n)
	}
}

// The bounds of a message are those that are said, to the last one that is good.
func TestTheLastGoodValues(t *testing.T) {
	fields := func(n int) string {
		var b strings.Builder
		for i := range n - 2 {
			fmt.Fprintf(&b, `,"more%d":0`, i)
		}
		return `{"type":"problem","code":"c"` + b.String() + `}`
	}
	pad := func(m string, size int) string { return m + strings.Repeat(" ", size-len(m)) }
	ping, order := `{"type":"ping","asked_ns":1}`, `{"type":"command","number":1,"command":{"do":"clock_start"},"seen":0}`
	for _, c := range []struct {
		read func([]byte) (any, error)
		in   string
		good bool
	}{
		{FromViewer, pad(ping, 4096), true}, {FromViewer, pad(ping, 4097), false}, {FromDesk, pad(order, 65536), true}, {FromDesk, pad(order, 65537), false},
		{FromViewer, `{"type":"opening","versions":[1],"role":"viewer"}`, true}, {FromViewer, `{"type":"opening","versions":[1],"role":"relay"}`, true},
		{FromViewer, `{"type":"opening","versions":[1],"role":"desk"}`, true}, {FromViewer, `{"type":"opening","versions":[1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16],"role":"relay"}`, true},
		{FromViewer, `{"type":"opening","versions":[1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17],"role":"relay"}`, false}, {FromViewer, `{"type":"resend","after":0}`, true},
		{FromDesk, order, true}, {FromDesk, `{"type":"delay","number":1,"output":"","ms":0}`, true}, {FromDesk, `{"type":"delay","number":1,"output":"","ms":30000}`, true},
		{FromDesk, `{"type":"delay","number":0,"output":"","ms":1}`, false}, {FromDesk, `{"type":"league","number":1,"rules":"nfhs"}`, true}, {FromDesk, `{"type":"ask_log","before":0}`, true},
		{FromHost, pad(fields(3), 48<<20), true}, {FromHost, pad(fields(3), 48<<20+1), false},
		{FromHost, fields(16), true}, {FromHost, fields(17), false}, {FromHost, `{"type":"pong","asked_ns":0,"received_ns":0,"sent_ns":0,"silent_ms":-1}`, false},
	} {
		if m, err := c.read([]byte(c.in)); (err == nil) != c.good {
			t.Errorf("%.80s (%d bytes): %v, %v", c.in, len(c.in), m, err)
		}
	}
}

// What the schemas say to others' programs is what this one keeps to.
func TestTheSchemasSayTheBounds(t *testing.T) {
	for _, c := range []struct {
		file, path string
		want       float64
	}{
		{"entries", "properties entries maxItems", MaxEntries}, {"snapshot", "properties recent maxItems", MaxRecent}, {"event", "properties recent maxItems", MaxRecent},
		{"snapshot", "properties via maxItems", MaxVia}, {"delay", "properties ms maximum", MaxDelay},
	} {
		data, err := Schemas.ReadFile("schema/" + c.file + ".json")
		if err != nil {
			t.Fatal(err)
		}
		var at any
		if err := json.Unmarshal(data, &at); err != nil {
			t.Fatal(err)
		}
		for key := range strings.FieldsSeq(c.path) {
			in, _ := at.(map[string]any)
			at = in[key]
		}
		if at != c.want {
			t.Errorf("%s: %s is %v, want %v", c.file, c.path, at, c.want)
		}
	}
}
