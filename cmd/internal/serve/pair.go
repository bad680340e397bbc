package serve

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"

	"rafter/cmd/internal/access"
	"rafter/overlay/graphic"
)

const (
	cookieAge = 30 * 24 * 60 * 60 // seconds
	maxBody   = 1 << 10           // of a request to pair, bytes
	maxName   = 40                // characters
	// guessRate is how many codes an address may try a second, and four times as many at once; this computer's own ten times
	// as many.
	guessRate = 1
)

// pairing is what a page asks with.
type pairing struct {
	Code string `json:"code"`
	Name string `json:"name"`
}

// paired is what it gets. The token is told once.
type paired struct {
	ID    string `json:"id"`
	Name  string `json:"name"`
	Token string `json:"token"`
}

// refusedPairing is what it gets instead.
type refusedPairing struct {
	Code    string `json:"code"`
	Message string `json:"message"`
}

// servePair sells a token for a code.
func (s *Server) servePair(w http.ResponseWriter, r *http.Request) {
	refuse := func(status int, code, message string) {
		s.refused.pairing.Add(1)
		sendJSON(w, status, refusedPairing{code, message})
	}
	if s.tokens == nil || s.codes == nil {
		refuse(http.StatusForbidden, "no_desks", "no desk can be paired with this host")
		return
	}
	if !s.guesses.take(connOf(r), s.time.Now()) {
		w.Header().Set("Retry-After", "2")
		refuse(http.StatusTooManyRequests, "too_fast", "too many codes from this address: wait two seconds and try again")
		return
	}
	asked, err := readPairing(r)
	if err != nil {
		refuse(http.StatusBadRequest, "bad_request", err.Error())
		return
	}
	if err := s.codes.Use(asked.Code, s.time.Now()); err != nil {
		refuse(http.StatusForbidden, "bad_code", err.Error())
		return
	}
	if old, given := s.credential(r); given { // a desk that pairs anew keeps no second token
		if token, err := s.tokens.Check(old); err == nil {
			_ = s.tokens.Revoke(token.ID) // where the list cannot be written, Make says so
		}
	}
	secret, token, err := s.tokens.Make(asked.Name, s.time.Wall())
	switch {
	case errors.Is(err, access.ErrMany):
		refuse(http.StatusForbidden, "too_many", err.Error())
	case err != nil:
		// What the disk says names folders of this computer.
		refuse(http.StatusInternalServerError, "not_kept", "the host could not write its list of desks: look at its disk, then pair with a new code")
	default:
		connOf(r).welcome() // its page comes next
		s.setCookie(w, secret, cookieAge)
		sendJSON(w, http.StatusOK, paired{token.ID, token.Name, secret})
	}
}

// readPairing reads what a page asks with, strictly. A form that another page has sent is no JSON by its type.
func readPairing(r *http.Request) (p pairing, err error) {
	if kind, _, _ := strings.Cut(r.Header.Get("Content-Type"), ";"); !strings.EqualFold(strings.TrimSpace(kind), "application/json") {
		return p, errors.New("expected Content-Type: application/json")
	}
	data, err := io.ReadAll(io.LimitReader(r.Body, maxBody+1))
	if err != nil || len(data) > maxBody || !utf8.Valid(data) {
		return p, errors.New("expected at most 1 KB of JSON")
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if d.Decode(&p) != nil || d.Decode(new(any)) != io.EOF {
		return p, errors.New(`expected {"code":"…","name":"…"}`)
	}
	p.Name = strings.Join(strings.Fields(p.Name), " ")
	if utf8.RuneCountInString(p.Name) > maxName || strings.ContainsFunc(p.Name, func(c rune) bool { return !unicode.IsPrint(c) }) {
		return p, errors.New("name: expected at most 40 letters, digits, signs and spaces")
	}
	return p, nil
}

// serveUnpair revokes the token that the request carries.
func (s *Server) serveUnpair(w http.ResponseWriter, r *http.Request) {
	secret, _ := s.credential(r)
	token, err := s.tokenOf(secret)
	if err == nil {
		err = s.tokens.Revoke(token.ID)
	}
	s.setCookie(w, "", -1)
	if err != nil {
		s.refused.token.Add(1)
		sendJSON(w, http.StatusUnauthorized, refusedPairing{"not_paired", access.ErrToken.Error()})
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

// tokenOf returns the token of a secret; access.ErrToken where there is none.
func (s *Server) tokenOf(secret string) (access.Token, error) {
	if s.tokens == nil {
		return access.Token{}, access.ErrToken
	}
	return s.tokens.Check(secret)
}

// cookieName is that of a desk's token at a port: a browser sends a cookie to every port of a computer (RFC 6265 section
// 8.5), and so each host there has one of its own.
func cookieName(port string) string { return "rafter_desk_" + port }

// setCookie gives a page its token, which no script can read and no other host's page can have sent.
// Source: RFC 6265bis sections 4.1.2 and 5.7 for SameSite.
func (s *Server) setCookie(w http.ResponseWriter, secret string, age int) {
	http.SetCookie(w, &http.Cookie{
		Name: s.cookie, Value: secret, Path: "/", MaxAge: age, HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteStrictMode,
	})
}

// serveDesk is the operator's page for who is paired, and for others the page to pair with.
func (s *Server) serveDesk(w http.ResponseWriter, r *http.Request) {
	secret, _ := s.credential(r)
	token, err := s.tokenOf(secret)
	page, status := "desk.html", http.StatusOK
	if err != nil {
		page, status = "pair.html", http.StatusForbidden
	}
	var b bytes.Buffer
	data := struct {
		Name     string // of the desk
		Public   string // how much of players' names goes on air
		Graphics []graphic.Graphic
		Messages []kept
	}{token.Name, s.names.String(), onAir(), s.messages}
	if err := pages.ExecuteTemplate(&b, page, data); err != nil {
		send(w, "", nil, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // the reader may have left
}

func sendJSON(w http.ResponseWriter, status int, v any) {
	data, _ := json.Marshal(v) // texts alone
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_, _ = w.Write(data) // the reader may have left
}
