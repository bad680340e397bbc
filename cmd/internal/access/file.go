package access

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"time"
)

// FileName is the name of a desk whose token is in a file.
const FileName = "token-file"

// Bounds on a token in a file, in characters: whoever writes one should not make it shorter than can be guessed.
const (
	minSecret = 20
	maxSecret = 200
)

// File pairs the desk whose token is the first line of a file. Where there is no file, one is written with a new token, for its
// user alone to read. The error says what is wrong with the file, and never what is in it.
func (t *Tokens) File(path string, made time.Time) (Token, error) {
	secret, err := readSecret(path)
	if errors.Is(err, fs.ErrNotExist) {
		return t.newFile(path, made)
	}
	if err != nil {
		return Token{}, err
	}
	if err := t.look(); err != nil {
		return Token{}, err
	}
	switch token, known := t.find(secret); {
	case !known:
		return t.add(secret, FileName, made)
	case token.Revoked:
		return Token{}, fmt.Errorf("%s: the token in it was revoked: remove the file, and a new one is written", path)
	default:
		return token, nil
	}
}

func readSecret(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	if !info.Mode().IsRegular() { // one that somebody else is to write would be waited for
		return "", fmt.Errorf("%s: no ordinary file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { _ = f.Close() }() // only read
	line, err := bufio.NewReader(io.LimitReader(f, maxSecret+2)).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return "", err
	}
	secret := strings.TrimRight(line, "\r\n")
	if len(secret) < minSecret || len(secret) > maxSecret || strings.Trim(secret, secretAlphabet) != "" {
		return "", fmt.Errorf("%s: its first line is no token: expected %d to %d letters, digits and -._~+/=; remove the file, and one is written", path, minSecret, maxSecret)
	}
	return secret, nil
}

// secretAlphabet is what may stand in a request's header. Source: RFC 6750 section 2.1, b64token.
const secretAlphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~+/="

// newFile writes a file with a new token. Nobody is paired where it cannot be written, and none is left where nobody is.
func (t *Tokens) newFile(path string, made time.Time) (token Token, err error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return Token{}, err
	}
	secret, err := t.draw()
	if err == nil {
		_, err = io.WriteString(f, secret+"\n")
	}
	if err = cmp.Or(err, f.Sync(), f.Close()); err == nil {
		token, err = t.add(secret, FileName, made)
	}
	if err != nil {
		_ = os.Remove(path) // what went wrong before counts
	}
	return token, err
}
