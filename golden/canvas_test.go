package golden

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"net/http"
	"net/http/httptest"
	"os"
	"path"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/gorilla/websocket"

	"rafter/overlay/frame"
	"rafter/overlay/output/web"
)

var canvases = flag.String("canvas", "", "a file for the hash of each case as a browser shows it; without it none is started")

// The last way out: the page of an output in Chromium. From one picture of it over black and one over white the premultiplied
// pixels follow exactly. Source: W3C Compositing and Blending Level 1, section 9.1.4, source over.
func TestCanvasesHaveTheSamePixels(t *testing.T) {
	if *canvases == "" {
		t.Skip("not run: go run ./cmd/dev chain does, with -canvas")
	}
	cases, stage := everyCase(t)
	slices.SortStableFunc(cases, func(a, b Case) int { return cmp.Or(cmp.Compare(a.Size.X, b.Size.X), cmp.Compare(a.Size.Y, b.Size.Y)) })
	file, err := os.Create(*canvases)
	if err != nil {
		t.Fatal(err)
	}
	var lock sync.Mutex
	to := json.NewEncoder(file)
	all, stop := chromedp.NewExecAllocator(t.Context(), chromedp.DefaultExecAllocatorOptions[:]...)
	defer stop()
	browser, end := chromedp.NewContext(all)
	defer end()
	if err := chromedp.Do(browser, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	const tabs = 4 // while one waits for its screen, another is read
	next := make(chan Case)
	var pages sync.WaitGroup
	for range tabs {
		ctx, close := chromedp.NewContext(browser)
		defer close()
		p := newPage(t, ctx)
		pages.Go(func() {
			for c := range next {
				f, err := stage.Render(c)
				if err != nil {
					t.Error(err)
					continue
				}
				got, err := p.show(f)
				if err != nil {
					t.Errorf("%s: %v", c.Name, err)
					continue
				}
				if n, at := differing(got, f); n > 0 {
					t.Errorf("%s: %d bytes of the page are not the frame's, the first at %v", c.Name, n, at)
				}
				lock.Lock()
				err = to.Encode(map[string]string{"case": c.Name, "canvas": fmt.Sprintf("%x", got.Hash())})
				lock.Unlock()
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	for _, c := range cases {
		next <- c
	}
	close(next)
	pages.Wait()
	if err := file.Close(); err != nil {
		t.Error(err)
	}
}

// differing counts the bytes in which two frames differ, and says where the first does.
func differing(got, want *frame.Frame) (n int, first image.Point) {
	for i := range want.Pix {
		if got.Pix[i] == want.Pix[i] {
			continue
		}
		if n++; n == 1 {
			first = image.Pt(i/4%want.W, i/4/want.W)
		}
	}
	return n, first
}

// canvasPage is the page of an output in a tab of its own.
type canvasPage struct {
	ctx  context.Context
	out  *web.Output
	size image.Point
	n    int64
}

func newPage(t *testing.T, ctx context.Context) *canvasPage {
	t.Helper()
	p := &canvasPage{ctx: ctx, out: web.New()}
	var busy sync.WaitGroup
	serve := http.NewServeMux()
	file := func(w http.ResponseWriter, name string) {
		data, err := web.Page.ReadFile("page/" + name)
		if err != nil {
			http.Error(w, err.Error(), http.StatusNotFound)
			return
		}
		w.Header().Set("Content-Type", map[string]string{".html": "text/html", ".css": "text/css", ".js": "text/javascript"}[path.Ext(name)])
		_, _ = w.Write(data)
	}
	serve.HandleFunc("GET /onair/case", func(w http.ResponseWriter, _ *http.Request) { file(w, "onair.html") })
	serve.HandleFunc("GET /page/{file}", func(w http.ResponseWriter, r *http.Request) { file(w, r.PathValue("file")) })
	serve.HandleFunc("GET /onair/case/socket", func(w http.ResponseWriter, r *http.Request) {
		conn, err := (&websocket.Upgrader{}).Upgrade(w, r, nil)
		if err != nil {
			t.Error(err)
			return
		}
		busy.Add(1)
		defer busy.Done()
		began := time.Now()
		_ = p.out.Serve(t.Context(), conn, web.Times{Wall: time.Now, Now: func() time.Duration { return time.Since(began) }}) // the page leaves at the end
	})
	server := httptest.NewServer(serve)
	beats := time.NewTicker(500 * time.Millisecond) // as a host's: two seconds of silence, and the page says that it is not current
	ended := make(chan struct{})
	busy.Go(func() {
		for {
			select {
			case <-beats.C:
				p.out.Beat(0)
			case <-ended:
				return
			}
		}
	})
	t.Cleanup(func() {
		beats.Stop()
		close(ended)
		_ = p.out.Close()
		server.Close()
		busy.Wait()
	})
	if err := chromedp.Do(ctx, chromedp.Navigate(server.URL+"/onair/case")); err != nil {
		t.Fatal(err)
	}
	return p
}

// around is how much beside a picture is looked at.
const around = 16

// show puts a frame on the page, and returns what stands there: the picture and what is around it, and where the page has
// another size than before, all of it.
func (p *canvasPage) show(f *frame.Frame) (*frame.Frame, error) {
	box := f.Ink()
	if box.Empty() {
		box = image.Rect(0, 0, 1, 1)
	}
	seen := box.Inset(-around).Intersect(f.Bounds())
	if size := image.Pt(f.W, f.H); size != p.size {
		p.size, seen = size, f.Bounds()
		if err := chromedp.Do(p.ctx, chromedp.EmulateViewport(int64(size.X), int64(size.Y))); err != nil {
			return nil, err
		}
	}
	var all frame.Damage
	all.Add(box)
	p.n++
	if err := p.out.ShowAt(f, all, web.Moment{At: p.n, Made: p.n, Box: box}); err != nil {
		return nil, err
	}
	// The browser may be a moment behind with what it has painted, so a difference counts when it stays.
	for end, tries := time.Now().Add(3*time.Second), 1; ; tries++ {
		got, err := p.look(seen)
		late := tries >= 8 && time.Now().After(end)
		if err == nil && (late || bytes.Equal(got.Pix, f.Pix)) || err != nil && late {
			return got, err
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// look returns what stands in a part of the page, all around it being transparent.
func (p *canvasPage) look(part image.Rectangle) (*frame.Frame, error) {
	black, err := p.over("black", part)
	if err != nil {
		return nil, err
	}
	white, err := p.over("white", part)
	if err != nil {
		return nil, err
	}
	f, err := between(black, white)
	if err != nil {
		return nil, err
	}
	return place(f, p.size, part), nil
}

// shown is resolved when the page has put up the newest message and drawn it over a colour.
const shown = `new Promise((done) => {
	const drawn = () => requestAnimationFrame(() => requestAnimationFrame(() => done(true)));
	const look = () => {
		if (window.rafter?.sequence !== %d) return setTimeout(look, 2);
		document.documentElement.style.background = %q;
		drawn();
	};
	look();
})`

// over takes a picture of a part of the page over a colour.
func (p *canvasPage) over(colour string, part image.Rectangle) (*image.RGBA, error) {
	_, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](fmt.Sprintf(shown, p.n, colour), chromedp.EvalAwaitPromise))
	if err != nil {
		return nil, err
	}
	shot, err := chromedp.Run(p.ctx, func(ctx context.Context, tab *chromedp.Target) ([]byte, error) {
		asked := struct {
			Clip  map[string]int `json:"clip"`
			Quick bool           `json:"optimizeForSpeed"`
		}{map[string]int{"x": part.Min.X, "y": part.Min.Y, "width": part.Dx(), "height": part.Dy(), "scale": 1}, true}
		var got struct {
			Data []byte `json:"data"`
		}
		err := tab.Call(ctx, "Page.captureScreenshot", asked, &got)
		return got.Data, err
	})
	if err != nil {
		return nil, err
	}
	m, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		return nil, err
	}
	whole := image.NewRGBA(image.Rectangle{Max: m.Bounds().Size()})
	draw.Draw(whole, whole.Rect, m, m.Bounds().Min, draw.Src)
	return whole, nil
}

// between returns the premultiplied pixels of what stands over black and over white. Over black they are themselves, and white
// shines through by what the alpha leaves; that has to be the same for all three colours.
func between(black, white *image.RGBA) (*frame.Frame, error) {
	size := black.Rect.Size()
	f := frame.New(size.X, size.Y)
	if white.Rect != black.Rect || len(f.Pix) != len(black.Pix) {
		return nil, fmt.Errorf("pictures of %v and %v", size, white.Rect.Size())
	}
	for i := 0; i < len(f.Pix); i += 4 {
		b, w := black.Pix[i:i+4], white.Pix[i:i+4]
		through := w[0] - b[0]
		if w[1]-b[1] != through || w[2]-b[2] != through || b[3] != 255 || w[3] != 255 {
			return nil, fmt.Errorf("at %d, %d stands %v over black and %v over white, which no pixel does", i/4%size.X, i/4/size.X, b, w)
		}
		copy(f.Pix[i:], b[:3])
		f.Pix[i+3] = 255 - through
	}
	return f, nil
}
