package host

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/journal"
)

// BenchmarkAppendAcknowledged is the time from a command to its event being on disk.
func BenchmarkAppendAcknowledged(b *testing.B) {
	disk := toldDisk{journalfile.OS(), make(chan struct{}, 1)}
	h, _, err := Open(Config{Folder: b.TempDir(), Setup: setup(b), Disk: disk})
	if err != nil {
		b.Fatal(err)
	}
	for n := 0; b.Loop(); {
		// Now and then a new game, so that it is not the size of the game that is measured.
		if n == 500 {
			b.StopTimer()
			if _, _, err := h.Do("keys", another); err != nil {
				b.Fatal(err)
			}
			n = 0
			b.StartTimer()
		}
		c := point
		c.Team = engine.Home + engine.Team(n%2)
		disk.forget()
		do(b, h, c)
		n++
		<-disk.synced
		for h.Acknowledged() < n {
			runtime.Gosched()
		}
	}
	shut(b, h)
}

// forget drops what was told of a sync before.
func (d toldDisk) forget() {
	select {
	case <-d.synced:
	default:
	}
}

// toldDisk tells of each sync, so that whoever waits for one does not take the processor from it.
type toldDisk struct {
	journalfile.Disk
	synced chan struct{}
}

type toldFile struct {
	journalfile.File
	synced chan struct{}
}

func (d toldDisk) Open(name string, flag int) (journalfile.File, error) {
	f, err := d.Disk.Open(name, flag)
	return toldFile{f, d.synced}, err
}

func (d toldDisk) Holds(name string, f journalfile.File) bool {
	return d.Disk.Holds(name, f.(toldFile).File)
}

func (f toldFile) Sync() error {
	defer func() {
		select {
		case f.synced <- struct{}{}:
		default:
		}
	}()
	return f.File.Sync()
}

// BenchmarkResume is the opening of a game of 2,000 events with an hour of beats.
func BenchmarkResume(b *testing.B) {
	folder := b.TempDir()
	path := filepath.Join(folder, "2026-11-25-1830.log")
	game, err := engine.NewGame(setup(b))
	if err != nil {
		b.Fatal(err)
	}
	var encoder journal.Encoder
	var text []byte
	put := func(r journal.Record) {
		if text, err = encoder.Append(text, r); err != nil {
			b.Fatal(err)
		}
	}
	put(journal.Record{Header: &journal.Header{Format: journal.Format, Program: journal.Program, ID: "a",
		Began: journal.Wall(time.Now()), Setup: setup(b)}})
	for n := range 14_400 {
		at := clock.Instant(n) * clock.Instant(BeatEvery)
		if n%7 == 0 && n/7 < 2000 {
			c := point
			c.Points = 1 - 2*(n/7%2) // the score ends at 999
			ev, _, err := game.Do("keys", c, at, engine.None)
			if err != nil {
				b.Fatal(err)
			}
			put(journal.Record{Event: &ev})
		}
		put(journal.Record{Beat: &journal.Beat{At: at, Left: time.Minute}})
	}
	if err := os.WriteFile(path, text, 0o600); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		h, notice, err := Open(Config{Folder: folder, Setup: setup(b)})
		if err != nil || notice.Code != Resumed {
			b.Fatalf("%+v, %v", notice, err)
		}
		shut(b, h)
	}
}
