package access

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/adrg/xdg"
	"github.com/gofrs/flock"
)

// Token is a desk that was paired. The secret itself is nowhere but on the desk.
type Token struct {
	ID   string    `json:"id"` // what the list shows and revoke takes
	Name string    `json:"name"`
	Made time.Time `json:"made"`
	Hash string    `json:"sha256"` // of the secret, hexadecimal
	// Revoked is kept so that a secret which lies in a file somewhere does not come to life again.
	Revoked bool `json:"revoked,omitempty"`
}

const (
	secretBytes = 32
	maxTokens   = 64 // paired; and as many that are revoked are remembered, the latest
	maxFile     = 64 << 10
	maxName     = 40 // characters
)

// What a token is refused with, and what revoke says of one that is not there.
var (
	ErrToken   = errors.New("this desk is not paired with this host, or no longer: pair it again")
	ErrMany    = fmt.Errorf("%d desks are paired: revoke one with rafter token revoke", maxTokens)
	ErrUnknown = errors.New("no desk of that name or id is paired")
)

// Tokens are the desks paired with a host, in a file that only its user can read. A program that revokes one while the
// host runs is noticed at the next check. All methods may be called from any goroutine.
type Tokens struct {
	path   string
	random io.Reader

	list atomic.Pointer[[]Token] // as the file was when it was last looked at; nobody writes it

	mu  sync.Mutex // of the file
	was stamp
}

// stamp tells one state of the file from another.
type stamp struct {
	size int64
	at   time.Time
}

// DefaultPath returns where the user's paired desks are kept.
func DefaultPath() string { return filepath.Join(xdg.StateHome, "rafter", "desks.json") }

// OpenTokens reads the file; one that is not there is empty. Random is crypto/rand's where it is nil. The error names
// the file and what is wrong in it.
func OpenTokens(path string, random io.Reader) (*Tokens, error) {
	if random == nil {
		random = rand.Reader
	}
	t := &Tokens{path: path, random: random}
	t.list.Store(&[]Token{})
	return t, t.read()
}

func (t *Tokens) read() error {
	f, err := os.Open(t.path)
	if errors.Is(err, fs.ErrNotExist) {
		t.list.Store(&[]Token{})
		t.was = stamp{}
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err != nil {
		return err
	}
	list, err := decode(data)
	if err != nil {
		return fmt.Errorf("%s: %w", t.path, err)
	}
	t.list.Store(&list)
	t.was = stamp{info.Size(), info.ModTime()}
	return nil
}

func decode(data []byte) ([]Token, error) {
	if len(data) > maxFile {
		return nil, fmt.Errorf("longer than %d bytes: remove the file and pair the desks again", maxFile)
	}
	var list []Token
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&list); err != nil {
		return nil, fmt.Errorf("not a list of tokens (%v): remove the file and pair the desks again", err)
	}
	for _, k := range list {
		if hash, err := hex.DecodeString(k.Hash); err != nil || len(hash) != sha256.Size || k.ID == "" {
			return nil, errors.New("a token without an id or a hash: remove the file and pair the desks again")
		}
		if utf8.RuneCountInString(k.Name) > maxName || strings.ContainsFunc(k.Name+k.ID, func(r rune) bool { return !unicode.IsPrint(r) }) {
			return nil, errors.New("a name that no desk can have: remove the file and pair the desks again")
		}
	}
	return list, nil
}

// Make pairs a desk and returns its secret, which is not kept. The name is cut to 40 characters; where another desk has it,
// a number follows it, since events say by their desk's name who keyed them.
func (t *Tokens) Make(name string, made time.Time) (secret string, token Token, err error) {
	if secret, err = t.draw(); err == nil {
		token, err = t.add(secret, name, made)
	}
	return secret, token, err
}

// draw returns a new secret.
func (t *Tokens) draw() (string, error) {
	var b [secretBytes]byte
	_, err := io.ReadFull(t.random, b[:])
	return base64.RawURLEncoding.EncodeToString(b[:]), err
}

// add registers a secret under a name.
func (t *Tokens) add(secret, name string, made time.Time) (token Token, err error) {
	var id [4]byte
	if _, err := io.ReadFull(t.random, id[:]); err != nil {
		return Token{}, err
	}
	token = Token{ID: hex.EncodeToString(id[:]), Made: made.UTC().Truncate(time.Second), Hash: hashOf(secret)}
	err = t.change(func(list []Token) ([]Token, error) {
		if len(paired(list)) >= maxTokens {
			return nil, ErrMany
		}
		token.Name = unique(name, paired(list))
		return append(list, token), nil
	})
	return token, err
}

// paired returns those that are not revoked.
func paired(list []Token) (kept []Token) {
	for _, k := range list {
		if !k.Revoked {
			kept = append(kept, k)
		}
	}
	return kept
}

// unique returns the name, with a number after it where it is taken.
func unique(name string, list []Token) string {
	taken := func(s string) bool {
		same := func(other string) bool { return strings.EqualFold(s, other) }
		return slices.ContainsFunc(own[:], same) || slices.ContainsFunc(list, func(k Token) bool { return same(k.Name) || same(k.ID) })
	}
	name = cmp.Or(name, "desk")
	try := cut(name, maxName)
	for n := 2; taken(try); n++ {
		suffix := " " + strconv.Itoa(n)
		try = cut(name, maxName-len(suffix)) + suffix
	}
	return try
}

// own are names that a host itself gives to hands in its events.
var own = [...]string{"table", "script", "demo", "source", "resume"}

// cut shortens to n characters.
func cut(s string, n int) string {
	for utf8.RuneCountInString(s) > n {
		_, size := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-size]
	}
	return s
}

func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// Check returns the token of a secret; ErrToken where there is none. It takes the same time whatever is wrong. Where the
// file cannot be read now, what was known holds: a bad disk puts no desk out of a game.
func (t *Tokens) Check(secret string) (Token, error) {
	_ = t.look()
	if k, ok := t.find(secret); ok && !k.Revoked {
		return k, nil
	}
	return Token{}, ErrToken
}

// find returns the token of a secret, be it revoked.
func (t *Tokens) find(secret string) (token Token, ok bool) {
	hash := []byte(hashOf(secret))
	for _, k := range *t.list.Load() {
		if subtle.ConstantTimeCompare([]byte(k.Hash), hash) == 1 {
			token, ok = k, true
		}
	}
	return token, ok
}

// Good tells whether the token of that id is still paired; where the file cannot be read now, whether it was.
func (t *Tokens) Good(id string) bool {
	_ = t.look()
	return t.Known(id)
}

// Known is Good as it was when the file was last looked at: it does not wait for a disk.
func (t *Tokens) Known(id string) bool {
	return slices.ContainsFunc(*t.list.Load(), func(k Token) bool { return k.ID == id && !k.Revoked })
}

// look reads the file again if another program has written it.
func (t *Tokens) look() error {
	t.mu.Lock()
	defer t.mu.Unlock()
	info, err := os.Stat(t.path)
	switch {
	case errors.Is(err, fs.ErrNotExist) && t.was == stamp{}:
		return nil
	case err == nil && t.was == stamp{info.Size(), info.ModTime()}:
		return nil
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	return t.read()
}

// List returns the desks that are paired, the first first.
func (t *Tokens) List() ([]Token, error) {
	if err := t.look(); err != nil {
		return nil, err
	}
	return paired(*t.list.Load()), nil
}

// Revoke ends the token of that id or name; ErrUnknown where there is none.
func (t *Tokens) Revoke(what string) error {
	return t.change(func(list []Token) ([]Token, error) {
		i := slices.IndexFunc(list, func(k Token) bool { return !k.Revoked && (k.ID == what || k.Name == what) })
		if i < 0 {
			return nil, ErrUnknown
		}
		revoked := list[i]
		revoked.Revoked = true
		list = append(slices.Delete(list, i, i+1), revoked)
		for len(list)-len(paired(list)) > maxTokens {
			oldest := slices.IndexFunc(list, func(k Token) bool { return k.Revoked })
			list = slices.Delete(list, oldest, oldest+1)
		}
		return list, nil
	})
}

// change writes the list that f makes of the present one, while no other program does. After an error nothing has
// changed.
func (t *Tokens) change(f func([]Token) ([]Token, error)) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := os.MkdirAll(filepath.Dir(t.path), 0o700); err != nil {
		return err
	}
	lock := flock.New(t.path + ".lock") // never removed: see the traps of lock files
	if err := lock.Lock(); err != nil {
		return err
	}
	defer lock.Unlock()
	if err := t.read(); err != nil {
		return err
	}
	list, err := f(slices.Clone(*t.list.Load()))
	if err != nil {
		return err
	}
	data, err := json.MarshalIndent(list, "", "\t")
	if err != nil {
		return err
	}
	if err := replace(t.path, append(data, '\n')); err != nil {
		return err
	}
	return t.read()
}

// replace writes a file that only its user can read; the old one is whole until the new one is (POSIX.1-2024 rename,
// fsync).
func replace(path string, data []byte) error {
	temp, err := os.CreateTemp(filepath.Dir(path), ".tokens-*") // its mode is 0600
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name())
	_, err = temp.Write(data)
	err = cmp.Or(err, temp.Sync(), temp.Close())
	if err == nil {
		err = os.Rename(temp.Name(), path)
	}
	if err != nil || runtime.GOOS == "windows" { // a folder's handle cannot be synced there
		return err
	}
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	return cmp.Or(d.Sync(), d.Close())
}
