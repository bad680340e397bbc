package host

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"rafter/cmd/internal/journalfile"
	"rafter/engine"
	"rafter/engine/clock"
	"rafter/engine/enginetest"
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

// longLog is the log of a game of 2,000 events with the beats of the hour for which its clock ran.
func longLog(b *testing.B) []byte {
	b.Helper()
	game, _ := enginetest.Night(2000)
	again, err := engine.NewGame(game.Opening())
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
	began := journal.Wall(time.Date(2026, 11, 25, 18, 30, 0, 0, time.UTC))
	put(journal.Record{Header: &journal.Header{Format: journal.Format, Program: journal.Program, ID: "long", Began: began, Setup: game.Opening()}})
	beats := 0
	var at clock.Instant
	for _, e := range game.Events() {
		for at = at.Add(BeatEvery); at < e.At; at = at.Add(BeatEvery) {
			if v := again.View(at); v.Clock.Running {
				put(journal.Record{Beat: &journal.Beat{At: at, Left: time.Duration(v.Clock.RemainingMS) * time.Millisecond}})
				beats++
			}
		}
		at = e.At
		put(journal.Record{Event: &e})
		if err := again.Replay(e); err != nil {
			b.Fatal(err)
		}
	}
	if beats < 14_000 || beats > 15_000 {
		b.Fatalf("%d beats, want an hour of them", beats)
	}
	return text
}

// BenchmarkResume is from a folder with a log to the game being played on: all but the syncs that follow.
func BenchmarkResume(b *testing.B) {
	folder := b.TempDir()
	path := filepath.Join(folder, "2026-11-25-1830.log")
	text := longLog(b)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		b.StopTimer()
		if err := os.WriteFile(path, text, 0o600); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		h, notice, err := Open(Config{Folder: folder, Setup: setup(b)})
		b.StopTimer()
		if err != nil || notice.Code != Resumed || h.game.Events()[1999].Number != 2000 {
			b.Fatalf("%+v, %v", notice, err)
		}
		shut(b, h)
		b.StartTimer()
	}
}

// BenchmarkJSONLines reads the same file with encoding/json into plain values, and checks and plays nothing.
func BenchmarkJSONLines(b *testing.B) {
	path := filepath.Join(b.TempDir(), "long.log")
	text := longLog(b)
	if err := os.WriteFile(path, text, 0o600); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		lines := 0
		for in := json.NewDecoder(f); in.More(); lines++ {
			var line struct {
				Seq    int
				Header json.RawMessage
				Event  *struct {
					Number  int
					At      int64 `json:"at_ns"`
					Desk    string
					Command map[string]any
				}
				Beat *journal.Beat
				CRC  string
			}
			if err := in.Decode(&line); err != nil {
				b.Fatal(err)
			}
		}
		if err := f.Close(); err != nil || lines < 16_000 {
			b.Fatalf("%d lines, %v", lines, err)
		}
	}
}
