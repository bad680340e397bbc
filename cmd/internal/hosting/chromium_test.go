//go:build !race

package hosting

import (
	"context"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// A page over TLS is a secure one, which may keep a phone awake, and is current like any other.
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
	for path, current := range map[string]string{
		"/onair/bug": "window.rafter && window.rafter.messages > 0 && !window.rafter.lost",
		"/scores":    "window.rafter && window.rafter.view !== null",
		"/desk":      "document.querySelector('form') !== null",
	} {
		if err := chromedp.Do(ctx, chromedp.Navigate(p.url(p.own[0], "http", path))); err != nil && path != "/desk" { // a 403 with a page
			t.Fatal(err)
		}
		for {
			ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("Boolean(isSecureContext && "+current+")"))
			if err != nil {
				t.Fatalf("%s: %v", path, err)
			}
			if ok {
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
}
