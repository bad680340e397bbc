package hosting

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"image"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.uber.org/goleak"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/host"
	"rafter/cmd/internal/picture"
	"rafter/cmd/internal/serve"
	"rafter/engine"
	"rafter/engine/rules"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

var maple = sync.OnceValues(func() (*picture.Looks, error) { return picture.Load("maple") })

// place is a site that serves a game of invented teams for one test.
type place struct {
	*Site
	t    *testing.T
	stop func() // and wait
}

func begin(t *testing.T, change func(*Config)) *place {
	t.Helper()
	set, _ := rules.ByName("nfhs")
	now := host.SystemTime()
	h, _, err := host.Open(host.Config{Setup: engine.Setup{Rules: set}, Time: now})
	if err != nil {
		t.Fatal(err)
	}
	c := Config{Serving: cli.Serving{Listen: "127.0.0.1:0"}, Desks: filepath.Join(t.TempDir(), "desks.json"), Time: now}
	if change != nil {
		change(&c)
	}
	looks, err := maple()
	if err != nil {
		t.Fatal(err)
	}
	s, err := Open(c)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, serve.Config{Host: h, Looks: looks, Size: image.Pt(640, 360)}) }()
	p := &place{Site: s, t: t}
	p.stop = sync.OnceFunc(func() {
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		_ = h.Close()
	})
	t.Cleanup(p.stop)
	return p
}

// ask sends a request and returns the status and the text of the answer.
func (p *place) ask(config *tls.Config, r *http.Request) (int, string, error) {
	p.t.Helper()
	transport := &http.Transport{DisableKeepAlives: true, TLSClientConfig: config}
	answer, err := transport.RoundTrip(r)
	if err != nil {
		return 0, "", err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	return answer.StatusCode, string(text), err
}

func (p *place) get(config *tls.Config, url string) (int, string, error) {
	p.t.Helper()
	r, err := http.NewRequest(http.MethodGet, url, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	return p.ask(config, r)
}

// spend spends a code as a desk of that name.
func (p *place) spend(code, name string) (status int, text string) {
	p.t.Helper()
	r, _ := http.NewRequest(http.MethodPost, p.url(p.own[0], "http", "/pair"), strings.NewReader(fmt.Sprintf(`{"code":%q,"name":%q}`, code, name)))
	r.Header.Set("Content-Type", "application/json")
	status, text, err := p.ask(nil, r)
	if err != nil {
		p.t.Fatal(err)
	}
	return status, text
}

func TestEveryAddressIsServed(t *testing.T) {
	p := begin(t, nil)
	var names []string
	for _, a := range p.Addresses() {
		names = append(names, a.Name)
		want := map[string]int{"desk": 403, "feed": 400, "control": 400}[a.Name] // unpaired; no WebSocket: RFC 6455 section 4.2.1
		if want == 0 {
			want = 200
		}
		url := strings.Replace(a.URL, "ws://", "http://", 1)
		if code, _, err := p.get(nil, url); err != nil || code != want {
			t.Errorf("%s %s: %d, %v; want %d", a.Name, a.URL, code, err, want)
		}
	}
	if got := strings.Join(names, " "); got != "pages on-air scores desk feed control" {
		t.Errorf("the addresses are of %s", got)
	}
	advice := strings.Join(p.Advice(), "\n")
	if want := fmt.Sprintf("only this computer can reach these pages; others can with: --listen 0.0.0.0:%d", p.at.Port()); advice != want {
		t.Errorf("the advice is: %s", advice)
	}
	if lines := p.Try(t.Context()); len(lines) > 0 {
		t.Errorf("it tries what is this computer's alone: %v", lines)
	}
	p.stop()
	if c, err := net.Dial("tcp", p.at.String()); err == nil {
		_ = c.Close()
		t.Error("the port is still open")
	}
}

func TestBeyondThisComputerItIsTriedAndSaid(t *testing.T) {
	p := begin(t, func(c *Config) { c.Listen = "0.0.0.0:0" })
	if _, far := p.phone(); !far {
		t.Skip("this computer is on no network")
	}
	said := strings.Join(append(p.Advice(), p.Try(t.Context())...), "\n")
	for _, want := range []string{"everybody on the networks", "a desk that was paired", "--tls prevents it", "this computer reaches itself at these addresses", "hotspot"} {
		if !strings.Contains(said, want) {
			t.Errorf("it does not say %q:\n%s", want, said)
		}
	}
	if strings.Contains(said, "does not answer") {
		t.Errorf("an address of its own does not answer:\n%s", said)
	}
	for _, a := range p.own {
		if code, text, err := p.get(nil, p.url(a, "http", "/healthz")); err != nil || code != 200 || text != "ok\n" {
			t.Errorf("%v: %d %q %v", a, code, text, err)
		}
	}
	p.stop()
	if said := strings.Join(p.Try(t.Context()), "\n"); strings.Count(said, "does not answer, not even to this computer") != len(p.own) {
		t.Errorf("when nobody serves, it says:\n%s", said)
	}
}

func TestPairing(t *testing.T) {
	p := begin(t, nil)
	first, err := p.Pairing()
	if err != nil {
		t.Fatal(err)
	}
	if again, _ := p.Pairing(); again != first || !p.Good(first) {
		t.Errorf("a good code is not kept: %v, %v", first, again)
	}
	code := strings.Replace(first.Code, "-", "", 1)
	if first.URL != first.Desk+"#"+code || len(code) != 8 || first.Far { // a fragment is sent to nobody: RFC 3986 section 3.5
		t.Errorf("it leads to %+v", first)
	}
	if status, text := p.spend(first.Code, "Tablet"); status != 200 || !strings.Contains(text, `"token"`) {
		t.Fatalf("%d %s", status, text)
	}
	if p.Good(first) {
		t.Error("a code that was used is called good")
	}
	if soon, _ := p.Pairing(); soon != first {
		t.Error("another code follows at once, as often as strangers guess")
	}
	p.mu.Lock()
	p.made -= codeRests
	p.mu.Unlock()
	second, err := p.Pairing()
	if err != nil || second.Code == first.Code || !p.Good(second) {
		t.Errorf("after a code that was used comes %+v, %v", second, err)
	}
	if third, _ := p.Renew(); third.Code == second.Code || !p.Good(second) || !p.Good(third) {
		t.Error("a new code ends the one before, or is none")
	}
}

func TestTLS(t *testing.T) {
	p := begin(t, func(c *Config) { c.TLS = true })
	roots := x509.NewCertPool()
	roots.AddCert(p.secure.Leaf)
	trusts := &tls.Config{RootCAs: roots}
	url := p.url(p.own[0], "http", "/healthz")
	if !strings.HasPrefix(url, "https://127.0.0.1:") {
		t.Fatalf("the address is %s", url)
	}
	if code, text, err := p.get(trusts, url); err != nil || code != 200 || text != "ok\n" {
		t.Errorf("%d %q %v", code, text, err)
	}
	old := trusts.Clone()
	old.MinVersion, old.MaxVersion = tls.VersionTLS10, tls.VersionTLS11
	if _, _, err := p.get(old, url); err == nil { // RFC 8996: neither may be used
		t.Error("TLS 1.1 is spoken")
	}
	if _, _, err := p.get(nil, url); err == nil {
		t.Error("a client that trusts nobody trusts this")
	}
	if err := p.try(t.Context(), p.own[0]); err != nil {
		t.Errorf("it does not reach itself: %v", err)
	}
	advice := strings.Join(p.Advice(), "\n")
	if !strings.Contains(advice, "go on only where the SHA-256 fingerprint") || strings.Count(advice, ":") < 31 {
		t.Errorf("the advice is %s", advice)
	}
	// A WebSocket goes through it, with the key and the answer of RFC 6455 section 1.3.
	r, _ := http.NewRequest(http.MethodGet, p.url(p.own[0], "http", "/feed"), nil)
	for k, v := range map[string]string{"Connection": "Upgrade", "Upgrade": "websocket", "Sec-WebSocket-Version": "13", "Sec-WebSocket-Key": "dGhlIHNhbXBsZSBub25jZQ=="} {
		r.Header.Set(k, v)
	}
	r.Header.Set("Origin", "https://"+p.at.String())
	transport := &http.Transport{TLSClientConfig: trusts}
	if answer, err := transport.RoundTrip(r); err != nil || answer.StatusCode != 101 || answer.Header.Get("Sec-WebSocket-Accept") != "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=" {
		t.Errorf("a WebSocket: %+v %v", answer, err)
	} else {
		_ = answer.Body.Close()
	}
	// Plain HTTP, from a browser that sends more than a little.
	plain := strings.Replace(url, "https", "http", 1)
	r, _ = http.NewRequest(http.MethodGet, plain, nil)
	r.Header.Set("Cookie", strings.Repeat("a", 4000))
	code, text, err := p.ask(nil, r)
	if want := "the address begins with https, as in https://" + p.at.String() + "/"; err != nil || code != 400 || !strings.Contains(text, want) {
		t.Errorf("plain HTTP: %d %q %v", code, text, err)
	}
	// An origin is one of this host's own only with its scheme: RFC 6454 section 4.
	for origin, want := range map[string]int{"https://" + p.at.String(): 200, "http://" + p.at.String(): 403} {
		r, _ := http.NewRequest(http.MethodGet, url, nil)
		r.Header.Set("Origin", origin)
		if code, _, err := p.ask(trusts, r); err != nil || code != want {
			t.Errorf("origin %s: %d %v", origin, code, err)
		}
	}
}

// Who connects and says nothing, or half a request, is not waited for by others.
func TestWhoStaysSilentAtTheDoorHoldsUpNobody(t *testing.T) {
	p := begin(t, func(c *Config) { c.TLS = true })
	for _, says := range []string{"", "GET / HT"} {
		c, err := net.Dial("tcp", p.at.String())
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close()
		_, _ = io.WriteString(c, says)
	}
	if err := p.try(t.Context(), p.own[0]); err != nil {
		t.Error(err)
	}
}

func TestWhatCannotBeOpenedSaysWhyAndLeavesNothing(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	broken := write("broken.pem", "-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n")
	for _, c := range []struct {
		why  string
		with func(*Config)
		says string
		hint string
	}{
		{"the port is taken", func(c *Config) { c.Listen = taken.Addr().String() }, taken.Addr().String(), "another program has that port"},
		{"another computer's address", func(c *Config) { c.Listen = "192.0.2.1:28150" }, "192.0.2.1", "name another with --listen"}, // RFC 5737
		{"no address", func(c *Config) { c.Listen = "28150" }, `"28150" is not an address`, ""},
		{"no such certificate", func(c *Config) { c.Cert, c.Key = "none.pem", "none.pem" }, "none.pem", "PEM files"},
		{"a broken certificate", func(c *Config) { c.Cert, c.Key = broken, broken }, "", "PEM files"},
		{"a list of desks that is none", func(c *Config) { c.Desks = write("desks.json", "{}") }, "desks.json", "pair the desks again"},
		{"a token that is too short", func(c *Config) { c.TokenFile = write("token", "short\n") }, "token", "--token-file"},
		{"a certificate that cannot be kept", func(c *Config) { c.TLS, c.Desks = true, filepath.Join(broken, "desks.json") }, "", ""},
	} {
		config := Config{Serving: cli.Serving{Listen: "127.0.0.1:0"}, Desks: filepath.Join(dir, "none", "desks.json"), Time: host.SystemTime()}
		c.with(&config)
		s, err := Open(config)
		var e *cli.Error
		if err == nil || s != nil || !errors.As(err, &e) || !strings.Contains(err.Error(), c.says) || !strings.Contains(e.Hint, c.hint) || e.Hint == "" {
			t.Errorf("%s: %v, hint %+v", c.why, err, e)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "none")); err == nil {
		t.Error("a folder was made for nothing")
	}
}

func TestARelayPairsNobody(t *testing.T) {
	p := begin(t, func(c *Config) { c.Relay = true })
	for _, a := range p.Addresses() {
		if a.Name == "desk" || a.Name == "control" {
			t.Errorf("it names %s", a.URL)
		}
	}
	if status, text := p.spend("ABCDEFGH", "x"); status == 200 {
		t.Errorf("%d %s", status, text)
	}
}

// terminal is what a host says, safe to read meanwhile.
type terminal struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (t *terminal) Write(b []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.text.Write(b)
}

func (t *terminal) say(format string, args ...any) { fmt.Fprintf(t, format+"\n", args...) }

func (t *terminal) until(test *testing.T, what string, times int) string {
	test.Helper()
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
		t.mu.Lock()
		text := t.text.String()
		t.mu.Unlock()
		if strings.Count(text, what) >= times {
			return text
		}
	}
	test.Fatalf("it has not said %q %d times: %s", what, times, t.text.String())
	return ""
}

func TestTheTerminalShowsACodeAndAnotherWhenAskedFor(t *testing.T) {
	p := begin(t, nil)
	var shown terminal
	keys, typed := io.Pipe()
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		p.Attend(ctx, Terminal{Say: shown.say, Squares: &shown, Typed: keys})
	}()
	text := shown.until(t, "and type ", 1)
	if strings.Contains(text, "█") {
		t.Error("a code that no phone can use is drawn")
	}
	_, _ = io.WriteString(typed, "\n")
	text = shown.until(t, "and type ", 2)
	_, code, _ := strings.Cut(text, "and type ")
	_, next, _ := strings.Cut(code, "and type ")
	if code[:9] == next[:9] || !strings.Contains(text, "Enter shows another") {
		t.Errorf("it shows %s", text)
	}
	if status, text := p.spend(next[:9], "Tablet"); status != 200 {
		t.Fatalf("%d %s", status, text)
	}
	shown.until(t, "Tablet was paired and may command the game", 1)
	cancel()
	<-done
	_ = typed.Close()
}

func TestTheTerminalDrawsWhatAPhoneCanScan(t *testing.T) {
	p := begin(t, func(c *Config) { c.Listen = "0.0.0.0:0" })
	if _, far := p.phone(); !far {
		t.Skip("this computer is on no network")
	}
	var shown terminal
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		p.Attend(ctx, Terminal{Say: shown.say, Squares: &shown})
	}()
	text := shown.until(t, asBefore+"\n", 30) // two codes of 15 rows and more
	cancel()
	<-done
	var codes []string
	for line := range strings.Lines(text) {
		switch {
		case !strings.HasPrefix(line, blackOnWhite):
			codes = append(codes, "")
		case len(codes) > 0:
			codes[len(codes)-1] += line
		}
	}
	var read []string
	for _, c := range codes {
		if c == "" {
			continue
		}
		got, err := readBack(screen(t, c))
		if err != nil {
			t.Fatal(err)
		}
		read = append(read, got.GetText())
	}
	url, _ := p.Watching()
	pairing, _ := p.Pairing()
	if want := []string{url, pairing.URL}; strings.Join(read, " ") != strings.Join(want, " ") {
		t.Errorf("a phone reads %v, want %v", read, want)
	}
}

func TestASavedThemeIsInThePagesAndAMistakeIsSaid(t *testing.T) {
	p := begin(t, nil)
	dir := t.TempDir()
	save := func(text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, "theme.toml"), []byte("format = 1\nname = \"mine\"\nabout = \"For a test.\"\nfrom = \"maple\"\n"+text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	save("")
	edits := Follow(dir, func() (*picture.Looks, error) { return picture.Load(dir) })
	var shown terminal
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() {
		defer close(done)
		edits.Run(ctx, p.Site, shown.say)
	}()
	save("[colours]\nplate = \"#203040\"\n")
	shown.until(t, "the pages show the theme as it was saved", 1)
	save("[colours]\nplate = \"blue\"\n")
	text := shown.until(t, "the pages stay as they were", 1)
	if !strings.Contains(text, "theme.toml:6:9") {
		t.Errorf("it says %s", text)
	}
	cancel()
	<-done
	if err := edits.Close(); err != nil {
		t.Error(err)
	}
	none := Follow("maple", nil) // one that ships
	none.Run(t.Context(), p.Site, shown.say)
	if err := none.Close(); err != nil {
		t.Error(err)
	}
}
