// Package ocr has digits read off pictures by tesseract, a program that was made for printed pages. It prepares nothing
// and judges nothing: what a picture should say is its caller's to know.
package ocr

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"rafter/overlay/frame"
)

// ErrMissing tells that the program is not on this machine, and what to install.
var ErrMissing = errors.New("needs tesseract with its English letters: install tesseract-ocr and tesseract-ocr-eng (Debian, Ubuntu)")

// Reader runs the program. It is safe for concurrent use.
type Reader struct {
	ctx     context.Context
	program string
}

// New finds the program. What it starts ends with ctx.
func New(ctx context.Context) (*Reader, error) {
	program, err := exec.LookPath("tesseract")
	if err != nil {
		return nil, ErrMissing
	}
	said, err := exec.CommandContext(ctx, program, "--list-langs").Output()
	if err != nil || !bytes.Contains(said, []byte("\neng\n")) {
		return nil, ErrMissing
	}
	return &Reader{ctx, program}, nil
}

// batch is how many pictures one process gets: starting one takes as long as reading ten.
const batch = 150

// Read returns what stands in each picture: one line of digits, colons and points, "" where nothing is read. Of a
// picture only its lightness counts. An error is of the program or its temporary files.
func (r *Reader) Read(pictures []*frame.Frame) ([]string, error) {
	texts := make([]string, len(pictures))
	type part struct{ from, to int }
	parts := make(chan part)
	failed := make(chan error)
	workers := min(runtime.NumCPU(), (len(pictures)+batch-1)/batch)
	for range workers {
		go func() {
			var err error
			for p := range parts {
				if err == nil {
					err = r.read(pictures[p.from:p.to], texts[p.from:p.to])
				}
			}
			failed <- err
		}()
	}
	for from := 0; from < len(pictures); from += batch {
		parts <- part{from, min(from+batch, len(pictures))}
	}
	close(parts)
	var err error
	for range workers {
		err = errors.Join(err, <-failed)
	}
	if err != nil {
		return nil, err
	}
	return texts, nil
}

// read has one process read some pictures.
func (r *Reader) read(pictures []*frame.Frame, texts []string) (err error) {
	dir, err := os.MkdirTemp("", "rafter-ocr-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	var list, says bytes.Buffer
	for i, f := range pictures {
		path := filepath.Join(dir, fmt.Sprintf("%d.pgm", i))
		if err := os.WriteFile(path, grey(f), 0o600); err != nil {
			return err
		}
		fmt.Fprintln(&list, path)
	}
	names := filepath.Join(dir, "list.txt")
	if err := os.WriteFile(names, list.Bytes(), 0o600); err != nil {
		return err
	}
	// One line a picture (--psm 7); what it would call words or one letter reads far worse.
	c := exec.CommandContext(r.ctx, r.program, names, "stdout", "--psm", "7", "--dpi", "150", "-c", "tessedit_char_whitelist=0123456789:.")
	c.Env = append(os.Environ(), "OMP_THREAD_LIMIT=1") // its threads wait for one another longer than they work
	c.Stderr = &says
	out, err := c.Output()
	if err != nil {
		return fmt.Errorf("tesseract: %w: %s", err, lastOf(says.String()))
	}
	pages := strings.Split(string(out), "\f")
	if n := len(pictures); len(pages) == n+1 && pages[n] == "" { // older ones end every page with it
		pages = pages[:n]
	}
	if len(pages) != len(pictures) {
		return fmt.Errorf("tesseract gave %d pages for %d pictures: %s", len(pages), len(pictures), lastOf(says.String()))
	}
	for i, p := range pages {
		texts[i] = strings.TrimSpace(p)
	}
	return nil
}

// grey writes a picture as a portable graymap. Source: the pgm format, P5.
func grey(f *frame.Frame) []byte {
	out := fmt.Appendf(nil, "P5\n%d %d\n255\n", f.W, f.H)
	for i := 0; i < len(f.Pix); i += 4 {
		out = append(out, uint8((int(f.Pix[i])*54+int(f.Pix[i+1])*183+int(f.Pix[i+2])*19)>>8))
	}
	return out
}

// lastOf returns the end of what a program said.
func lastOf(s string) string {
	const most = 400
	s = strings.TrimSpace(s)
	return s[max(0, len(s)-most):]
}
