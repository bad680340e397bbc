//go:build linux

package display

import (
	"bufio"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"
)

// A server that ends with its last client stands for every one that resets then.
func TestTheServerStaysBetweenTheCheckAndTheWindow(t *testing.T) {
	path, err := exec.LookPath("Xvfb")
	if err != nil {
		t.Skip("Xvfb is not installed: it is the server of this test")
	}
	says, number, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	server := exec.Command(path, "-terminate", "-nolisten", "tcp", "-displayfd", "3")
	server.ExtraFiles = []*os.File{number}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Wait() }()
	t.Cleanup(func() { _ = server.Process.Kill() })
	number.Close()
	name, err := bufio.NewReader(says).ReadString('\n')
	if err != nil {
		t.Fatalf("the server does not say its number: %v", err)
	}
	t.Setenv("DISPLAY", ":"+strings.TrimSpace(name))
	if err := Check(); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-ended:
		t.Errorf("the server had no client left and ended: %v", err)
	case <-time.After(500 * time.Millisecond):
	}
}
