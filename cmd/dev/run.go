package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"
)

// command is a child process that stops with the task. env is added to ours, a later value winning.
func (d *dev) command(env []string, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(d.ctx, name, args...)
	cmd.Env = append(os.Environ(), env...)
	// Interrupt before kill, so that a program may end its own children; then wait no longer.
	cmd.Cancel = func() error { return cmd.Process.Signal(os.Interrupt) }
	cmd.WaitDelay = 5 * time.Second
	return cmd
}

// run runs a program with its output where people read.
func (d *dev) run(env []string, name string, args ...string) error {
	cmd := d.command(env, name, args...)
	cmd.Stdout, cmd.Stderr = d.say, d.say
	return failed(cmd, cmd.Run())
}

// quietly runs a program and shows what it said only if it failed.
func (d *dev) quietly(env []string, name string, args ...string) error {
	cmd := d.command(env, name, args...)
	said, err := cmd.CombinedOutput()
	if err != nil {
		d.say.Write(said)
	}
	return failed(cmd, err)
}

// output runs a program and returns its standard output; what it says to people joins the error.
func (d *dev) output(env []string, name string, args ...string) (string, error) {
	cmd := d.command(env, name, args...)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return string(out), fmt.Errorf("%w\n%s", failed(cmd, err), bytes.TrimSpace(said.Bytes()))
	}
	return string(out), nil
}

// failed names the command in its error.
func failed(cmd *exec.Cmd, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%s: %w", strings.Join(append([]string{filepath.Base(cmd.Path)}, cmd.Args[1:]...), " "), err)
}

// The programs are built into .build, which git ignores.
const buildDir = ".build"

// compile builds one of our programs and returns where it is. The headless one is pure Go everywhere.
func (d *dev) compile(program string) (string, error) {
	place := filepath.Join(buildDir, program)
	if runtime.GOOS == "windows" {
		place += ".exe"
	}
	var env []string
	if program == "rafter" || runtime.GOOS == "windows" {
		env = []string{"CGO_ENABLED=0"}
	}
	err := d.quietly(env, "go", "build", "-trimpath", "-o", place, "./cmd/"+program)
	if err != nil {
		return "", err
	}
	return filepath.Abs(place)
}
