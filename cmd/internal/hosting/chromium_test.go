//go:build !race

package hosting

import (
	"context"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A page over TLS is a secure one, which may keep a phone awake, and is current like any other. What a phone scans makes it a
// desk: the cookie of its token goes over TLS alone.
func TestChromiumThroughTLS(t *testing.T) {
	if _, err := exec.LookPath("chromium"); err != nil || testing.Short() {
		t.Skip("there is no chromium here, or -short leaves it out: go run ./cmd/dev test installs it")
	}
	p := begin(t, func(c *Config) { c.TLS = true })
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	all, end := chromedp.NewExecAllocator(ctx, append(chromedp.DefaultExecAllocatorOptions[:], chromedp.Flag("ignore-certificate-errors", true))...)
	defer end()
	ctx, stop := chromedp.NewContext(all)
	defer stop()
	defer func() { _ = chromedp.Cancel(ctx) }()
	until := func(what string) {
		t.Helper()
		for ; ; time.Sleep(20 * time.Millisecond) {
			switch ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("Boolean("+what+")")); {
			case err != nil && ctx.Err() != nil:
				t.Fatalf("it never came about that %s: %v", what, err)
			case ok && err == nil: // an error is of a page that is being left
				return
			}
		}
	}
	pairing, err := p.Pairing()
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range []struct{ url, current string }{
		{p.url(p.own[0], "http", "/onair/bug"), "isSecureContext && window.rafter && window.rafter.messages > 0 && !window.rafter.lost"},
		{p.url(p.own[0], "http", "/scores"), "isSecureContext && window.rafter && window.rafter.view !== null"},
		{pairing.URL, "document.forms[0] && document.forms[0].code.value !== '' && location.hash === ''"},
	} {
		_ = chromedp.Do(ctx, chromedp.Navigate(page.url)) // a desk's is a 403 with a page in it
		until(page.current)
	}
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("document.forms[0].requestSubmit(), true")); err != nil {
		t.Fatal(err)
	}
	until("document.body.classList.contains('desk') && isSecureContext && document.cookie === ''")
	if p.Good(pairing) {
		t.Error("the code is still good")
	}
}
