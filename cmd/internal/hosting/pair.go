package hosting

import "time"

// Pairing is how a phone or tablet becomes a desk.
type Pairing struct {
	URL  string // what is scanned; the code stands in its fragment, which is sent to nobody
	Desk string // the address without the code
	Code string // to type instead, as ABCD-EFGH
	Far  bool   // another device can reach the address

	code string
}

// codeRests is how soon another code may follow by itself, so that guessing strangers do not fill a screen.
const codeRests = 10 * time.Second

// Pairing returns the code that is good now. One that was used or has ended is followed by another.
func (s *Site) Pairing() (Pairing, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.time.Now()
	if s.pairing.Code != "" && (s.codes.Good(s.pairing.code, now) || now-s.made < codeRests) {
		return s.pairing, nil
	}
	return s.pair(now)
}

// Renew is Pairing with a new code whatever became of the last, which stays good for its time.
func (s *Site) Renew() (Pairing, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.pair(s.time.Now())
}

func (s *Site) pair(now time.Duration) (Pairing, error) {
	code, err := s.codes.Make(now)
	if err != nil {
		return Pairing{}, err
	}
	a, far := s.phone()
	if !far {
		a = s.own[0]
	}
	desk := s.url(a, "http", "/desk")
	s.made = now
	s.pairing = Pairing{URL: desk + "#" + code, Desk: desk, Code: code[:len(code)/2] + "-" + code[len(code)/2:], Far: far, code: code}
	return s.pairing, nil
}

// Pairs tells whether desks can be paired here: not where the game is another host's.
func (s *Site) Pairs() bool { return s.codes != nil }

// Good tells whether the code can still be used.
func (s *Site) Good(p Pairing) bool { return s.codes.Good(p.code, s.time.Now()) }

// Watching returns the address of the score to read; far tells whether another device can reach it.
func (s *Site) Watching() (url string, far bool) {
	a, far := s.phone()
	if !far {
		a = s.own[0]
	}
	return s.url(a, "http", "/scores"), far
}

// newcomers returns the names of the desks that are paired and not in known, and notes them there.
func (s *Site) newcomers(known map[string]bool) (names []string) {
	list, err := s.tokens.List()
	if err != nil { // the next desk that shows a token says so
		return nil
	}
	for _, d := range list {
		if !known[d.ID] {
			known[d.ID] = true
			names = append(names, d.Name)
		}
	}
	return names
}
