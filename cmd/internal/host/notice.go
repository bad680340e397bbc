package host

import (
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"syscall"
	"time"

	"rafter/engine"
)

// Notice is something the operator should know: a code for programs, sentences for people.
type Notice struct {
	Code NoticeCode
	Text string
	// Path is the log, the host, the feed or the field that is meant, if one is.
	Path string
	// Gap is the time that is missing, if any is.
	Gap time.Duration
}

// NoticeCode tells notices apart.
type NoticeCode string

// The notices that there are.
const (
	Began    NoticeCode = "began"     // a new game
	Resumed  NoticeCode = "resumed"   // an unfinished game was taken up again
	Damage   NoticeCode = "damaged"   // a log could not be read, or not to its end
	Slept    NoticeCode = "slept"     // the computer was asleep
	Stood    NoticeCode = "stood"     // the program was held up
	NotSaved NoticeCode = "not_saved" // the log cannot be written now
	Saved    NoticeCode = "saved"     // it can again, and has been: only as news
	// NotCurrent: nothing is heard from where the game is played.
	NotCurrent NoticeCode = "not_current"
	SourceLost NoticeCode = "source_lost" // the feed that keeps the game is lost; Path is its name
	AtOdds     NoticeCode = "at_odds"     // a desk's value stands against that feed's; Path is the field
)

// Said remembers which notices people were told, so that each is told once for as long as it stands, whatever its words come
// to meanwhile. The zero value remembers none.
type Said struct{ stand, spare []standing }

// standing tells notices apart whose words change while they stand.
type standing struct {
	code NoticeCode
	path string
}

// News returns those of all that did not stand the last time, and that a log is saved again. Of what else ends those tell who
// have ended it.
func (s *Said) News(all []Notice) (news []Notice) {
	now := s.spare[:0]
	for _, n := range all {
		one := standing{n.Code, n.Path}
		if now = append(now, one); !slices.Contains(s.stand, one) {
			news = append(news, n)
		}
	}
	for _, was := range s.stand {
		if was.code == NotSaved && !slices.Contains(now, was) {
			news = append(news, Notice{Code: Saved, Path: was.path, Text: "All of the game is saved. Log: " + was.path})
		}
	}
	s.stand, s.spare = now, s.stand
	return news
}

// Notices returns what is wrong or should be checked now, the gravest first. What concerns the clock stands
// until somebody starts or sets the clock.
func (h *Host) Notices() []Notice {
	h.mu.Lock()
	defer h.mu.Unlock()
	var all []Notice
	if n, is := h.notCurrent(); is {
		all = append(all, n)
	}
	if h.log != nil {
		if s := h.log.Status(); s.Err != nil {
			all = append(all, Notice{Code: NotSaved, Text: notSavedText(s.Path, s.Waiting, s.Err), Path: s.Path})
		}
	}
	for _, w := range h.retired {
		if s := w.Status(); s.Err != nil {
			all = append(all, Notice{Code: NotSaved, Text: notSavedText(s.Path, s.Waiting, s.Err), Path: s.Path})
		}
	}
	if h.keeper.Lost {
		all = append(all, h.sourceLost())
	}
	all = append(all, h.notices...)
	for _, o := range h.keeper.Odds {
		all = append(all, Notice{Code: AtOdds, Text: o.Text, Path: o.Field})
	}
	return all
}

// answered drops the notices that the command settles.
func (h *Host) answered(c engine.Command) {
	switch c.Do {
	case engine.ClockStart, engine.ClockSet, engine.ClockNudge:
		h.notices = nil
	}
}

func notSavedText(path string, waiting int, err error) string {
	var why, advice string
	switch {
	case errors.Is(err, syscall.ENOSPC):
		why, advice = "The disk is full", "Make room on it"
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
		why, advice = "The log's folder cannot be written to", "Make it writable, or begin with --log in another folder"
	default:
		why, advice = "The log cannot be written ("+err.Error()+")", "Look at the disk"
	}
	return fmt.Sprintf("%s: %s not saved yet. The game goes on in memory. %s; nothing needs to be started again. Log: %s",
		why, counted(waiting, "entry is", "entries are"), advice, path)
}

func sleptNotice(gap time.Duration, running bool) Notice {
	text := "The computer slept (or its clock was set) for " + spoken(gap) + ". "
	if running {
		text += "The game clock has not counted that time: check it with the official."
	} else {
		text += "The game clock stood."
	}
	return Notice{Code: Slept, Text: text, Gap: gap}
}

func stoodNotice(gap time.Duration, running bool) Notice {
	text := "The program was held up for " + spoken(gap) + ". "
	if running {
		text += "The game clock has counted that time: check it with the official."
	} else {
		text += "The game clock stood."
	}
	return Notice{Code: Stood, Text: text, Gap: gap}
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// spoken writes a time as one would say it, to the unit that matters.
func spoken(d time.Duration) string {
	d = d.Round(time.Second / 10)
	switch {
	case d < 10*time.Second:
		return fmt.Sprintf("%d.%d s", d/time.Second, d%time.Second/(time.Second/10))
	case d < time.Minute:
		return fmt.Sprintf("%d s", d/time.Second)
	case d < time.Hour:
		return fmt.Sprintf("%d min %d s", d/time.Minute, d%time.Minute/time.Second)
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h %d min", d/time.Hour, d%time.Hour/time.Minute)
	}
	return fmt.Sprintf("%d days", d/(24*time.Hour))
}
