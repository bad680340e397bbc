package cli

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"
)

// Progress tells how far a long job is, with the time that is left, in a line that is written over and over. Where
// nobody looks at a terminal it says nothing.
type Progress struct {
	out         io.Writer // nil: nobody looks
	now         func() time.Duration
	what        string
	began, last time.Duration
	wide        int // what is written there
}

// NewProgress begins to tell of a job. now is the time since some fixed moment.
func NewProgress(out io.Writer, now func() time.Duration, what string) *Progress {
	p := &Progress{what: what, now: now, began: now()}
	if IsTerminal(out) {
		p.out = out
	}
	return p
}

// IsTerminal tells whether one of the program's streams is a terminal, where a person reads or types.
func IsTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	nobody, none := os.Stat(os.DevNull) // a device of the same kind
	return err == nil && info.Mode()&os.ModeCharDevice != 0 && (none != nil || !os.SameFile(info, nobody))
}

// Tell says that so much is done, in thousandths.
func (p *Progress) Tell(thousandths int) {
	if p.out == nil {
		return
	}
	now := p.now()
	if p.wide > 0 && now-p.last < 200*time.Millisecond {
		return
	}
	p.last = now
	text := fmt.Sprintf("%s: %d %%", p.what, thousandths/10)
	if gone := now - p.began; gone > time.Second && thousandths > 10 {
		left := gone * time.Duration(1000-thousandths) / time.Duration(thousandths)
		text += fmt.Sprintf(", about %d s left", (left+time.Second/2)/time.Second)
	}
	p.write(text)
}

// Done takes the line away.
func (p *Progress) Done() {
	if p.out != nil && p.wide > 0 {
		p.write("")
		_, _ = io.WriteString(p.out, "\r")
	}
}

func (p *Progress) write(text string) {
	_, _ = fmt.Fprintf(p.out, "\r%s%s", text, strings.Repeat(" ", max(0, p.wide-len(text))))
	p.wide = len(text)
}
