package main

import (
	"flag"
	"fmt"
	"net"
	"os"
	"runtime"
	"strconv"
	"time"
)

// start plays the demo game: in the window where there is a display, else as text with a picture. Without a
// display it needs nothing but Go.
func start(d *dev, args []string) error {
	seconds := 0
	err := noWords(parse(d, args, func(f *flag.FlagSet) {
		f.IntVar(&seconds, "seconds", 0, "end by itself after so many seconds; 0 plays on")
	}))
	if err != nil {
		return err
	}
	began := time.Now()
	program, place, pages := "rafter", "demo.png", freeAddress()
	words := []string{"demo", "--picture", place, "--listen", pages}
	if hasDisplay() {
		if missing := thisSystem(d).install(window); len(missing) == 0 {
			program, words = "rafter-window", []string{"--demo", "--listen", pages}
		} else {
			fmt.Fprintln(d.say, "without them there is no window; going on as text")
		}
	} else {
		fmt.Fprintln(d.say, "no display: the demo game goes on as text")
	}
	fmt.Fprintf(d.say, "building %s (the first time takes a few minutes)\n", program)
	built, err := d.compile(program)
	if err != nil {
		return err
	}
	if seconds > 0 {
		words = append(words, "--seconds", strconv.Itoa(seconds))
	}
	fmt.Fprintf(d.say, "built in %s; ", time.Since(began).Round(time.Second/10))
	if program == "rafter" {
		fmt.Fprintf(d.say, "the score goes by below, the pages are at the addresses, the picture is %s\n", place)
	} else {
		fmt.Fprintln(d.say, "look at the window and at the pages below; Space is the clock, the strip says what the other keys do")
	}
	cmd := d.command(nil, built, words...)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, d.out, d.say
	if err := cmd.Run(); d.ctx.Err() == nil {
		return failed(cmd, err)
	}
	return nil // ended from the keyboard
}

// freeAddress is where a host listens unless told, or where that is taken another port of this computer.
func freeAddress() string {
	const usual = "127.0.0.1:28150"
	l, err := net.Listen("tcp", usual)
	if err != nil {
		return "127.0.0.1:0"
	}
	_ = l.Close() // it was only to see
	return usual
}

// hasDisplay tells whether a window could be seen.
func hasDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return os.Getenv("DISPLAY") != ""
}
