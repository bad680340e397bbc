package hosting

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"time"
)

// door is a listener in front of TLS: who speaks plain HTTP there is told in words what to do.
type door struct {
	net.Listener
	wall func() time.Time
}

func (d door) Accept() (net.Conn, error) {
	c, err := d.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return &first{Conn: c, wall: d.wall}, nil
}

// handshake begins each connection of TLS: RFC 8446 section 5.1, and RFC 5246 section 6.2.1.
const handshake = 22

// first looks at the first byte of a connection. It is read by one goroutine.
type first struct {
	net.Conn
	wall func() time.Time
	seen bool
}

// NetConn returns the connection that is looked at, as the one of TLS does.
func (c *first) NetConn() net.Conn { return c.Conn }

func (c *first) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	if c.seen || n == 0 {
		return n, err
	}
	c.seen = true
	if p[0] == handshake {
		return n, err
	}
	c.refuse(p[:n])
	return 0, io.EOF
}

// refuse answers a plain request, once it is all there: a connection that is closed with something unread may take the
// answer along.
func (c *first) refuse(begun []byte) {
	const most, patience = 8 << 10, time.Second
	_ = c.Conn.SetDeadline(c.wall().Add(patience)) // whoever is slower gets no answer
	request := append([]byte(nil), begun...)
	for more := make([]byte, 1024); len(request) < most && !bytes.Contains(request, []byte("\r\n\r\n")); {
		n, err := c.Conn.Read(more)
		if request = append(request, more[:n]...); err != nil {
			break
		}
	}
	text := fmt.Sprintf("this host speaks TLS: the address begins with https, as in https://%s/\n", c.Conn.LocalAddr())
	_, _ = fmt.Fprintf(c.Conn, "HTTP/1.1 400 Bad Request\r\nContent-Type: text/plain; charset=utf-8\r\nContent-Length: %d\r\nConnection: close\r\n\r\n%s", len(text), text)
}
