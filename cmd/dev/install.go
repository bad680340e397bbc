package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// part is something that a task needs from the system and Go does not bring.
type part struct {
	use     string // what it is for; tasks ask by use
	needs   string // a program of the PATH, or a file as a glob
	debian  string // the package of Debian and Ubuntu that has it
	because string
}

// The uses that tasks ask for.
const (
	window  = "building the window"
	xserver = "a screen without a monitor"
	keys    = "a hand at the window"
	decode  = "checking pictures with other programs"
	arm     = "running as arm64"
	browser = "looking at the pages"
)

// parts names every system package of the repo, once.
var parts = []part{
	{window, "gcc", "gcc", "C compiler for the window library"},
	{window, "pkg-config", "pkg-config", "finds the C libraries"},
	{window, "/usr/include/stdlib.h", "libc6-dev", "C headers"},
	{window, "/usr/include/X11/Xlib.h", "libx11-dev", "X11 headers"},
	{window, "/usr/include/X11/Xcursor/Xcursor.h", "libxcursor-dev", "X11 headers: pointer"},
	{window, "/usr/include/X11/extensions/XInput2.h", "libxi-dev", "X11 headers: input"},
	{window, "/usr/include/X11/extensions/Xinerama.h", "libxinerama-dev", "X11 headers: screens"},
	{window, "/usr/include/X11/extensions/Xrandr.h", "libxrandr-dev", "X11 headers: modes"},
	{window, "/usr/include/X11/extensions/xf86vmode.h", "libxxf86vm-dev", "X11 headers: gamma"},
	{window, "/usr/include/GL/gl.h", "libgl1-mesa-dev", "OpenGL headers"},
	{window, "/usr/include/alsa/asoundlib.h", "libasound2-dev", "sound headers, for the horn"},
	{xserver, "Xvfb", "xvfb", "the screen"},
	{xserver, "/usr/lib/*/dri/swrast_dri.so", "libgl1-mesa-dri", "OpenGL by the processor"},
	{keys, "xdotool", "xdotool", "types keys and moves windows"},
	{decode, "ffmpeg", "ffmpeg", "a PNG decoder that is not ours"},
	{decode, "tesseract", "tesseract-ocr", "reads the clock off the picture"},
	{decode, "/usr/share/tesseract-ocr/*/tessdata/eng.traineddata", "tesseract-ocr-eng", "the letters that it knows"},
	{browser, "chromium", "chromium", "a browser without a window, for the pages"},
	{arm, "qemu-aarch64-static", "qemu-user-static", "runs the arm64 tests here"},
}

// system is what installing asks of the machine; tests put their own in.
type system struct {
	has  func(needs string) bool
	root bool
	run  func(name string, args ...string) error
	say  func(format string, args ...any)
}

// thisSystem asks the real machine. Files are looked for under every multiarch folder too.
func thisSystem(d *dev) *system {
	return &system{
		has: func(needs string) bool {
			if !strings.HasPrefix(needs, "/") {
				_, err := exec.LookPath(needs)
				return err == nil
			}
			if runtime.GOOS != "linux" {
				return true // those headers are a need of Linux alone
			}
			here, _ := filepath.Glob(needs)
			arch, _ := filepath.Glob(strings.Replace(needs, "/usr/include/", "/usr/include/*/", 1))
			return len(here)+len(arch) > 0
		},
		root: os.Geteuid() == 0,
		run: func(name string, args ...string) error {
			return d.quietly([]string{"DEBIAN_FRONTEND=noninteractive"}, name, args...)
		},
		say: func(format string, args ...any) { fmt.Fprintf(d.say, format+"\n", args...) },
	}
}

// lacks returns the parts of the uses that are not there.
func (s *system) lacks(uses ...string) (missing []part) {
	for _, p := range parts {
		if slices.Contains(uses, p.use) && !s.has(p.needs) {
			missing = append(missing, p)
		}
	}
	return missing
}

// install brings what the uses lack and returns what is still missing, having said which packages and why.
// It installs only for root on Debian and Ubuntu: nobody is asked for a password, nothing is done silently.
func (s *system) install(uses ...string) []part {
	missing := s.lacks(uses...)
	if len(missing) == 0 {
		return nil
	}
	var packages []string
	for _, p := range missing {
		s.say("missing: %s (%s) for %s", p.debian, p.because, p.use)
		packages = append(packages, p.debian)
	}
	command := append([]string{"apt-get", "install", "-y", "--no-install-recommends"}, packages...)
	switch {
	case !s.has("apt-get"):
		s.say("install what carries these on your system; the names above are Debian's")
		return missing
	case !s.root:
		s.say("to install them:\n  sudo %s", strings.Join(command, " "))
		return missing
	}
	s.say("installing %s", strings.Join(packages, " "))
	err := s.run(command[0], command[1:]...)
	if err != nil { // most often the package lists are old or were never fetched
		if err = s.run("apt-get", "update"); err == nil {
			err = s.run(command[0], command[1:]...)
		}
	}
	if err != nil {
		s.say("that failed: %v", err)
	}
	return s.lacks(uses...)
}
