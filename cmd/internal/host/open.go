package host

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"time"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
)

func (h *Host) open(c Config) (Notice, error) {
	switch {
	case c.Log != "":
		later := ""
		if _, ended, _ := journalfile.Peek(h.disk, c.Log); ended { // what is wrong with it is found when it is read
			later = h.unfinished(filepath.Dir(c.Log))
		}
		notice, _, err := h.resume(c.Log)
		if errors.Is(err, fs.ErrNotExist) {
			return h.begin(c.Setup, c.Log, true)
		}
		if later != "" && err == nil {
			notice.Text += fmt.Sprintf(" It had been put away, and one that is not stands in %s: to go on with that, name it with --log.", later)
		}
		return h.note(notice), err
	case c.Folder != "":
		notice, found, err := h.newest(c)
		if found || err != nil {
			return notice, err
		}
		return h.begin(c.Setup, filepath.Join(c.Folder, journalfile.Name(h.time.Wall())), false)
	}
	game, err := engine.NewGame(c.Setup)
	if err != nil {
		return Notice{}, err
	}
	header, err := h.header(c.Setup)
	h.game, h.id = game, header.ID
	h.setInstant(0)
	return Notice{Code: Began, Text: "A new game, kept in memory alone."}, err
}

// unfinished returns the newest log in a folder whose game was not put away; empty where there is none. One log may be
// named again and again, while game new begins others beside it.
func (h *Host) unfinished(folder string) string {
	paths, _ := journalfile.List(h.disk, folder) // none where it cannot be listed
	i := slices.IndexFunc(paths, func(path string) bool {
		_, ended, err := journalfile.Peek(h.disk, path)
		return err == nil && !ended
	})
	if i < 0 {
		return ""
	}
	return paths[i]
}

// newest looks for the newest unfinished game in the folder.
func (h *Host) newest(c Config) (notice Notice, found bool, err error) {
	paths, err := journalfile.List(h.disk, c.Folder)
	if err != nil {
		// Not to be listed, so hardly to be written: begin says so.
		return Notice{}, false, nil
	}
	seen := map[string]bool{} // game ids: a log that was continued in another file is not the newest
	for _, path := range paths {
		id, ended, err := journalfile.Peek(h.disk, path)
		if err != nil || ended || seen[id] {
			seen[id] = seen[id] || err == nil
			h.noteUnreadable(path, err)
			continue
		}
		seen[id] = true
		notice, finished, err := h.resume(path)
		if errors.Is(err, journalfile.ErrLocked) {
			return Notice{}, false, err
		}
		if err != nil {
			h.noteUnreadable(path, err)
			continue
		}
		if finished || h.overtaken(c.Setup) {
			h.putAway()
			continue
		}
		return h.note(notice), true, nil
	}
	return Notice{}, false, nil
}

func (h *Host) note(n Notice) Notice {
	h.notices = append(h.notices, n)
	return n
}

// noteUnreadable leaves a note of a log that was passed over for what is wrong with it. Another program's file
// is none of ours.
func (h *Host) noteUnreadable(path string, err error) {
	if err == nil || errors.Is(err, journal.Foreign) || errors.Is(err, journal.Empty) {
		return
	}
	h.note(Notice{Code: Damage, Path: path, Text: fmt.Sprintf("A log was passed over and left as it is: %s: %v.", path, err)})
}

// overtaken tells whether nothing has happened in the game taken up and the settings have changed since it began.
func (h *Host) overtaken(setup engine.Setup) bool {
	if len(h.game.Events()) > 0 {
		return false
	}
	anew, err := engine.NewGame(setup)
	return err == nil && !sameSetup(h.game.Opening(), anew.Opening())
}

func sameSetup(a, b engine.Setup) bool {
	return a.Rules == b.Rules && sameTeam(a.Home, b.Home) && sameTeam(a.Away, b.Away)
}

func sameTeam(a, b engine.TeamSetup) bool {
	return a.Name == b.Name && a.Short == b.Short && a.Colour == b.Colour && slices.Equal(a.Roster, b.Roster)
}

// putAway closes a game that is over, so that it is not looked at again.
func (h *Host) putAway() {
	h.log.Append(journal.Record{End: &journal.End{At: cut(h.now())}})
	_ = h.log.Close() // a log that cannot be written now is looked at again next time
	h.game, h.log = nil, nil
}

// begin begins a game with its log at path.
func (h *Host) begin(setup engine.Setup, path string, exact bool) (Notice, error) {
	game, err := engine.NewGame(setup)
	if err != nil {
		return Notice{}, err
	}
	header, err := h.header(setup)
	if err != nil {
		return Notice{}, err
	}
	log := journalfile.New(h.disk, path, exact, []journal.Record{{Header: &header}}, journal.Beat{})
	if err := log.Place(); errors.Is(err, journalfile.ErrLocked) {
		return Notice{}, err
	}
	h.game, h.log, h.id = game, log, header.ID
	h.setInstant(0)
	log.Start()
	s := log.Status()
	n := Notice{Code: Began, Path: s.Path, Text: "A new game. Its log is " + s.Path + "."}
	if s.Err != nil {
		n = Notice{Code: NotSaved, Path: s.Path, Text: "A new game. " + notSavedText(s.Path, s.Waiting, s.Err)}
	}
	return n, nil
}

func (h *Host) header(setup engine.Setup) (journal.Header, error) {
	var id [8]byte
	if _, err := io.ReadFull(h.random, id[:]); err != nil {
		return journal.Header{}, fmt.Errorf("no random number for the game's id: %w", err)
	}
	return journal.Header{
		Format: journal.Format, Program: journal.Program, ID: hex.EncodeToString(id[:]),
		Began: journal.Wall(h.time.Wall()), Setup: setup,
	}, nil
}

// next puts the game away and begins another, in a log beside the old one. Nothing here waits for the disk: the new
// log's goroutine makes its file.
func (h *Host) next(at clock.Instant, setup engine.Setup) error {
	game, err := engine.NewGame(setup)
	if err != nil {
		return err
	}
	header, err := h.header(setup)
	if err != nil {
		return err
	}
	if h.log != nil {
		h.log.Append(journal.Record{End: &journal.End{At: at}})
		h.log.Finish()
		h.retired = append(h.retired, h.log)
		path := filepath.Join(h.folder, journalfile.Name(h.time.Wall()))
		h.log = journalfile.New(h.disk, path, false, []journal.Record{{Header: &header}}, journal.Beat{})
		h.log.Start()
	}
	h.game, h.id, h.notices, h.beat.running = game, header.ID, nil, false
	h.shift += h.now()
	h.setInstant(0)
	return nil
}

// resume takes up the game in the log at path. finished tells that it is over.
func (h *Host) resume(path string) (notice Notice, finished bool, err error) {
	writer, log, err := journalfile.Open(h.disk, path)
	var game *engine.Game
	if err == nil {
		game, err = log.Game()
		if err != nil {
			_ = writer.Close() // nothing was handed over
		}
	}
	if err != nil && log != nil && !errors.Is(err, journal.Failed) {
		return h.resumeBeside(path, log, err)
	}
	if err != nil {
		return Notice{}, false, inFile(path, err)
	}
	copied := writer.TornCopy()
	notice, finished = h.takeUp(log, game, writer)
	if log.Torn > 0 {
		notice.Text += " Its last line was cut off while it was written and is left out"
		if copied != "" {
			notice.Text += "; a copy is in " + copied
		}
		notice.Text += "."
	}
	return notice, finished, nil
}

// resumeBeside goes on with the good part of a damaged log in a file beside it. The log itself stays as it is,
// and the next time the file beside is found by its game id and gone on with.
func (h *Host) resumeBeside(path string, log *journal.Log, why error) (Notice, bool, error) {
	game, err := log.Game()
	if game == nil {
		return Notice{}, false, inFile(path, err)
	}
	if err != nil {
		log.Keep(len(game.Events()))
	}
	for n := 2; n < maxBeside; n++ {
		beside := journalfile.Numbered(path, n)
		id, _, err := journalfile.Peek(h.disk, beside)
		if err == nil && id == log.Header.ID {
			return h.resume(beside)
		}
		if !errors.Is(err, fs.ErrNotExist) {
			continue
		}
		writer := journalfile.New(h.disk, beside, true, log.Records, log.Last)
		if err := writer.Place(); errors.Is(err, journalfile.ErrLocked) {
			return Notice{}, false, err
		}
		notice, finished := h.takeUp(log, game, writer)
		notice.Code = Damage
		notice.Text = fmt.Sprintf("%s %s (%v) and is left as it is; what stands before that (%s) goes on in %s. ",
			path, wrongWith(why), why, counted(log.Events, "event", "events"), beside) + notice.Text
		return notice, finished, nil
	}
	return Notice{}, false, fmt.Errorf("%s %s (%w), and %d names after it are taken: move old logs out of the folder", path, wrongWith(why), why, maxBeside-2)
}

// wrongWith says of a log whether it is damaged, or holds what perhaps a newer version wrote.
func wrongWith(why error) string {
	if errors.Is(why, journal.Unknown) {
		return "holds a line that this version does not know, perhaps of a newer one"
	}
	return "is damaged"
}

// maxBeside bounds the search for a free name beside a damaged log.
const maxBeside = 100

func inFile(path string, err error) error {
	var pathError *fs.PathError
	if errors.As(err, &pathError) || errors.Is(err, journalfile.ErrLocked) {
		return err // says so itself
	}
	return fmt.Errorf("%s: %w", path, err)
}

// takeUp goes on with a game that was read. A clock that ran is stopped where the log last knew of it; instants
// go on by the time of day, so that the gap is kept.
func (h *Host) takeUp(log *journal.Log, game *engine.Game, writer *journalfile.Writer) (Notice, bool) {
	h.game, h.log, h.id = game, writer, log.Header.ID
	last := log.At()
	wall := h.time.Wall()
	gap := min(max(wall.Sub(log.Wall(last)), 0), maxGap)
	game.ViewInto(&h.beat.view, last)
	stopped := h.beat.view.Clock.Running
	if stopped {
		stop := engine.Command{Do: engine.ClockStop}
		if ev, changed, err := game.Do("resume", stop, last, engine.Maybe[clock.Instant]{}); err == nil && changed {
			h.append(journal.Record{Event: &ev})
		}
	}
	h.setInstant(cut(last.Add(gap + time.Millisecond - 1)))
	h.append(journal.Record{Resume: &journal.Resume{At: h.from, Wall: journal.Wall(wall)}})
	status := writer.Status()
	writer.Start()
	n := Notice{Code: Resumed, Path: status.Path, Gap: gap}
	n.Text = fmt.Sprintf("Going on with the game in %s after %s.", status.Path, spoken(gap))
	if status.Err != nil {
		n.Text += " " + notSavedText(status.Path, status.Waiting, status.Err)
	}
	if stopped {
		n.Text += fmt.Sprintf(" The clock was running and is stopped at %s: check it with the official.", h.beat.view.Clock.Text)
	}
	return n, h.beat.view.Period.Phase == engine.Over
}

// maxGap bounds what a wrong date on the computer can add to the game's time.
const maxGap = 30 * 24 * time.Hour

// closeLogs ends the logs; a game that is over is put away.
func (h *Host) closeLogs() error {
	var problems []error
	if h.log != nil {
		at := cut(h.now())
		h.writeBeat(at)
		if h.beat.view.Period.Phase == engine.Over {
			h.append(journal.Record{End: &journal.End{At: at}})
		}
		problems = append(problems, h.closeLog(h.log, len(h.game.Events()) > 0))
	}
	for _, w := range h.retired {
		problems = append(problems, h.closeLog(w, true))
	}
	return errors.Join(problems...)
}

// closeLog ends a log. What its disk would not take goes to the spare folder, if anything has happened in the game.
func (h *Host) closeLog(w *journalfile.Writer, played bool) error {
	err := w.Close()
	if err == nil || !played || h.spare == "" {
		return err
	}
	path, failed := w.SaveIn(h.spare)
	if failed != nil {
		return errors.Join(err, failed)
	}
	return fmt.Errorf("%w; the whole game is kept in %s: go on with it by --log", err, path)
}
