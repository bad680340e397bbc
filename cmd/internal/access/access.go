// Package access keeps strangers from the game: pairing codes that are good once and for a few minutes, and the tokens
// that they buy, of which only hashes are kept. It must not speak to a network or read a clock; instants and randomness
// come in.
package access

import (
	"crypto/rand"
	"crypto/subtle"
	"errors"
	"io"
	"slices"
	"strings"
	"sync"
	"time"
)

// CodeLasts is how long a pairing code is good, and so long a stranger has to guess it.
const CodeLasts = 5 * time.Minute

const (
	// alphabet has no 0, O, 1, I or L: a code is read off a screen and typed into a phone. 31 characters.
	alphabet = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
	// codeLength makes 31^8, some 8.5e11: with maxWrong guesses at maxCodes, one in 5e5 is right.
	codeLength = 8
	// maxCodes are good at once; the oldest goes first.
	maxCodes = 16
	// maxWrong is how many wrong guesses end all codes. Whoever asks for them lets no address, and no few hundred of them,
	// guess so often while a phone is being paired, or strangers could end every code at will.
	maxWrong = 100_000
)

// What pairing is refused with.
var (
	ErrCode    = errors.New("that pairing code is not, or no longer, good: have the host show another")
	ErrGuessed = errors.New("too many wrong pairing codes: all of them have ended, have the host show another")
)

// Codes are the pairing codes that are good. All methods may be called from any goroutine.
type Codes struct {
	random io.Reader

	mu    sync.Mutex
	list  []code
	wrong int
}

type code struct {
	text  string
	until time.Duration
}

// NewCodes returns none. Random is crypto/rand's where it is nil.
func NewCodes(random io.Reader) *Codes {
	if random == nil {
		random = rand.Reader
	}
	return &Codes{random: random}
}

// Make returns a new code, good from now for CodeLasts. now counts from any fixed moment and never goes back.
func (c *Codes) Make(now time.Duration) (string, error) {
	text, err := draw(c.random, codeLength)
	if err != nil {
		return "", err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.expire(now)
	if len(c.list) == maxCodes {
		c.list = c.list[1:]
	}
	c.list = append(c.list, code{text, now + CodeLasts})
	c.wrong = 0
	return text, nil
}

// draw returns n characters, each of the alphabet with the same chance.
func draw(random io.Reader, n int) (string, error) {
	const fair = 256 - 256%len(alphabet) // bytes from here on would make some characters likelier
	text := make([]byte, 0, n)
	var b [1]byte
	for len(text) < n {
		if _, err := io.ReadFull(random, b[:]); err != nil {
			return "", err
		}
		if int(b[0]) < fair {
			text = append(text, alphabet[int(b[0])%len(alphabet)])
		}
	}
	return string(text), nil
}

// Use spends a code, in capitals or not and with or without spaces and hyphens. The error is ErrCode or ErrGuessed.
func (c *Codes) Use(text string, now time.Duration) error {
	text = strings.ToUpper(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, text))
	c.mu.Lock()
	defer c.mu.Unlock()
	c.expire(now)
	found := -1
	for i, k := range c.list {
		if subtle.ConstantTimeCompare([]byte(k.text), []byte(text)) == 1 {
			found = i
		}
	}
	switch {
	case found >= 0:
		c.list = append(c.list[:found], c.list[found+1:]...)
		return nil
	case len(c.list) == 0:
		return ErrCode
	}
	if c.wrong++; c.wrong >= maxWrong {
		c.list = nil
		return ErrGuessed
	}
	return ErrCode
}

// Good tells whether a code could still be used, for whoever shows it.
func (c *Codes) Good(text string, now time.Duration) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.expire(now)
	return slices.ContainsFunc(c.list, func(k code) bool { return k.text == text })
}

func (c *Codes) expire(now time.Duration) {
	kept := c.list[:0]
	for _, k := range c.list {
		if now < k.until {
			kept = append(kept, k)
		}
	}
	c.list = kept
}
