package serve

import (
	"bytes"
	"fmt"
	"image"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"rafter/engine"
)

// plainPage is what a page of the same text costs: the bug's words in HTML, the clock's written anew ten times a second.
const plainPage = `<!DOCTYPE html><meta charset="utf-8"><title>plain</title>
<style>body { margin: 0; font: 600 40px/1.2 sans-serif; color: #fff } div { position: absolute; left: 96px; top: 900px; background: #222; padding: 12px }</style>
<div><span>HOLLOW CREEK</span> <span>0</span> <span>MARROW HILL</span> <span>0</span> <span>1st</span> <span id="clock"></span></div>
<script>
const began = performance.now(), clock = document.getElementById("clock");
setInterval(() => {
  const left = 59000 - (performance.now() - began);
  clock.textContent = Math.floor(left / 1000) + "." + Math.floor(left / 100) % 10;
}, 100);
</script>`

// BenchmarkPage is what Chromium spends on a clock that shows tenths, in milliseconds of the processor's time a second, less
// what it spends on a blank page: our page of the bug, and a plain page of the same text.
func BenchmarkPage(b *testing.B) {
	size := image.Pt(1920, 1080)
	st := open(b, func(c *Config) { c.Size = size })
	st.do(start)
	plain := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(plainPage)) }))
	defer plain.Close()
	page := browse(b)
	page.see("about:blank", size)
	time.Sleep(2 * time.Second) // the browser has done what it does at its start
	blank := page.spends(b)
	for _, c := range []struct{ name, url, ready string }{
		{"text", plain.URL, "clock.textContent !== ''"},
		{"bug", "http://" + st.addr + "/onair/bug", "window.rafter && window.rafter.messages > 1"},
	} {
		b.Run(c.name, func(b *testing.B) {
			if b.N > 1 {
				b.Fatal("one measurement is one operation")
			}
			st.do(engine.Command{Do: engine.ClockSet, Time: engine.Some(59900 * time.Millisecond)})
			page.see(c.url, size)
			page.until(c.ready)
			b.ReportMetric(page.spends(b)-blank, "ms/s")
			b.ReportMetric(blank, "blank-ms/s")
			if c.name == "bug" {
				b.ReportMetric(tell[float64](page, "air.width * air.height * 4 / 1000"), "KB")
			}
		})
	}
}

// BenchmarkCommandToPage is how long it takes from a command until its first pixels are on the canvas of a page in Chromium,
// over loopback: a score, whose digits move.
func BenchmarkCommandToPage(b *testing.B) {
	size := image.Pt(1920, 1080)
	st := open(b, func(c *Config) { c.Size = size })
	page := browse(b)
	page.see("http://"+st.addr+"/onair/bug", size)
	page.until("window.rafter && window.rafter.messages > 1 && window.rafter.clock.now() !== null")
	tell[bool](page, "window.put = [], window.rafter.shown = () => window.put.push(performance.timeOrigin + performance.now()), true")
	time.Sleep(2 * time.Second)
	const commands = 12 // of so few, the slowest is the 99th of a hundred
	var late []float64
	for range commands {
		began := time.Now()
		st.do(engine.Command{Do: engine.Score, Team: engine.Home, Points: 1})
		time.Sleep(120 * time.Millisecond)
		first := tell[float64](page, "window.put.splice(0)[0] || 0")
		if first == 0 {
			b.Fatal("a command was not seen")
		}
		late = append(late, first-float64(began.UnixMicro())/1000)
		time.Sleep(450 * time.Millisecond) // nothing moves any more
		tell[bool](page, "window.put.length = 0, true")
	}
	slices.Sort(late)
	b.ReportMetric(late[len(late)*99/100], "p99-ms")
	b.ReportMetric(late[len(late)/2], "median-ms")
}

// spends returns how many milliseconds a second the browser uses of processors.
func (b *tab) spends(t testing.TB) float64 {
	const seconds = 3
	time.Sleep(time.Second) // it comes to rest
	before, began := processorTime(t), time.Now()
	time.Sleep(seconds * time.Second)
	var used time.Duration
	for thread, now := range processorTime(t) {
		used += now - before[thread]
	}
	return float64(used.Microseconds()) / 1000 / time.Since(began).Seconds()
}

// family is a process and those below it, as Linux tells them.
func family(t testing.TB, first int) (pids []int) {
	t.Helper()
	parents := map[int]int{}
	stats, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range stats {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(name)))
		parents[pid], _ = strconv.Atoi(strings.Fields(string(text[bytes.LastIndexByte(text, ')')+1:]))[1])
	}
	for pid := range parents {
		for up := pid; up > 0; up = parents[up] {
			if up == first {
				pids = append(pids, pid)
				break
			}
		}
	}
	return pids
}

// processorTime is what each thread of the processes below this one has used, as Linux tells it to the nanosecond.
// Source: the kernel's Documentation/scheduler/sched-stats.rst, /proc/<pid>/schedstat.
func processorTime(t testing.TB) map[string]time.Duration {
	used := map[string]time.Duration{}
	for _, pid := range family(t, os.Getpid()) {
		if pid == os.Getpid() {
			continue
		}
		threads, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/schedstat", pid))
		for _, name := range threads {
			if text, err := os.ReadFile(name); err == nil {
				first, _, _ := strings.Cut(string(text), " ")
				ns, _ := strconv.ParseInt(first, 10, 64)
				used[name] = time.Duration(ns)
			}
		}
	}
	if len(used) == 0 {
		t.Skip("this system does not tell what a program uses: no /proc/PID/task/TID/schedstat")
	}
	return used
}
