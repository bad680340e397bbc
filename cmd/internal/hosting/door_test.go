package hosting

import (
	"bytes"
	"errors"
	"io"
	"net"
	"strings"
	"testing"
	"time"
)

// spoken is a connection of which all is known: what comes in pieces, and what is answered.
type spoken struct {
	net.Conn // none of the rest is called
	comes    []byte
	piece    int
	answered bytes.Buffer
}

func (c *spoken) Read(p []byte) (int, error) {
	n := copy(p[:min(len(p), c.piece)], c.comes)
	if c.comes = c.comes[n:]; n == 0 {
		return 0, io.EOF
	}
	return n, nil
}
func (c *spoken) Write(p []byte) (int, error) { return c.answered.Write(p) }
func (c *spoken) SetDeadline(time.Time) error { return nil }
func (c *spoken) LocalAddr() net.Addr         { return &net.TCPAddr{IP: net.IPv4(192, 0, 2, 7), Port: 28150} } // RFC 5737
func through(comes []byte, piece int) (*spoken, []byte, error) {
	c := &spoken{comes: comes, piece: piece}
	got, err := io.ReadAll(&first{Conn: c, wall: time.Now})
	return c, got, err
}

func TestADoorReadsAPlainRequestToItsEnd(t *testing.T) {
	request := "GET /scores HTTP/1.1\r\nHost: 192.0.2.7:28150\r\nCookie: " + strings.Repeat("c", 3000) + "\r\n\r\n"
	for _, piece := range []int{1, 7, 4096} {
		c, got, err := through([]byte(request+"more"), piece)
		if err != nil || len(got) > 0 || len(c.comes) > 4 || !strings.Contains(c.answered.String(), "https://192.0.2.7:28150/") {
			t.Errorf("in pieces of %d: %d bytes went in, %d are unread, answered %q, %v", piece, len(got), len(c.comes), c.answered.String(), err)
		}
	}
	c, _, _ := through(bytes.Repeat([]byte("x"), 1<<20), 4096)
	if read := 1<<20 - len(c.comes); read > 16<<10 {
		t.Errorf("%d bytes of no request at all were read", read)
	}
}

// Whatever comes, either all of it goes on to TLS and nothing is answered, or nothing does and one short answer is given.
func FuzzDoor(f *testing.F) {
	f.Fuzz(func(t *testing.T, comes []byte, piece uint8) {
		c, got, err := through(bytes.Clone(comes), int(piece)+1)
		if err != nil && !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
		if len(comes) == 0 || comes[0] == handshake {
			if !bytes.Equal(got, comes) || c.answered.Len() > 0 {
				t.Errorf("%d of %d bytes went on, answered %q", len(got), len(comes), c.answered.String())
			}
			return
		}
		answer := c.answered.String()
		if len(got) > 0 || !strings.HasPrefix(answer, "HTTP/1.1 400 ") || strings.Count(answer, "HTTP/1.1") != 1 {
			t.Errorf("%d bytes went on, answered %q", len(got), answer)
		}
	})
}
