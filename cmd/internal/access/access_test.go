package access

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestACodeIsGoodOnceAndForAWhile(t *testing.T) {
	c := NewCodes(nil)
	code, err := c.Make(time.Hour)
	if err != nil || len(code) != codeLength || strings.Trim(code, alphabet) != "" {
		t.Fatalf("%q, %v", code, err)
	}
	typed := strings.ToLower(code[:4]) + "-" + code[4:] + " "
	if err := c.Use(typed, time.Hour+CodeLasts-1); err != nil {
		t.Errorf("%q was refused: %v", typed, err)
	}
	if err := c.Use(code, time.Hour+1); !errors.Is(err, ErrCode) {
		t.Errorf("used twice: %v", err)
	}
	late, _ := c.Make(2 * time.Hour)
	if err := c.Use(late, 2*time.Hour+CodeLasts); !errors.Is(err, ErrCode) {
		t.Errorf("used when it had ended: %v", err)
	}
	if err := c.Use("", 0); !errors.Is(err, ErrCode) {
		t.Errorf("an empty code: %v", err)
	}
}

func TestGuessingEndsAllCodes(t *testing.T) {
	c := NewCodes(nil)
	code, _ := c.Make(0)
	for i := range maxWrong {
		want := ErrCode
		if i == maxWrong-1 {
			want = ErrGuessed
		}
		if err := c.Use("AAAAAAAA", 1); !errors.Is(err, want) {
			t.Fatalf("guess %d: %v", i, err)
		}
	}
	if err := c.Use(code, 1); err == nil {
		t.Error("the code is still good")
	}
	if code, _ := c.Make(2); c.Use(code, 2) != nil {
		t.Error("the next code is not good")
	}
}

func TestCodesAreBoundedAndFair(t *testing.T) {
	c := NewCodes(nil)
	first, _ := c.Make(0)
	counts := map[rune]int{}
	for range 2000 {
		code, _ := c.Make(0)
		for _, r := range code {
			counts[r]++
		}
	}
	if len(c.list) != maxCodes || c.Use(first, 0) == nil {
		t.Errorf("%d codes are kept", len(c.list))
	}
	for _, r := range alphabet { // 516 are expected; six standard deviations are 134
		if counts[r] < 382 || counts[r] > 650 {
			t.Errorf("%c came %d times of 16000", r, counts[r])
		}
	}
	if _, err := NewCodes(bytes.NewReader(nil)).Make(0); err == nil {
		t.Error("a code without randomness")
	}
}

func TestTokensAreKeptHashed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "state", "tokens.json")
	made := time.Date(2026, 11, 20, 19, 0, 0, 0, time.UTC)
	tokens, err := OpenTokens(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	secret, token, err := tokens.Make("phone in the hall", made)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil || strings.Contains(string(data), secret) || !strings.Contains(string(data), token.Hash) {
		t.Errorf("the file holds\n%s\n%v", data, err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v, %v", info.Mode(), err)
	}
	again, err := OpenTokens(path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := again.Check(secret); err != nil || got != token {
		t.Errorf("%v, %v; want %v", got, err, token)
	}
	for _, wrong := range []string{"", secret + "A", secret[1:], strings.ToUpper(secret), token.Hash, token.ID} {
		if _, err := again.Check(wrong); !errors.Is(err, ErrToken) {
			t.Errorf("%q: %v", wrong, err)
		}
	}
}

// The host has the file open, as it were, while rafter token revoke changes it.
func TestRevokedElsewhere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens.json")
	host, _ := OpenTokens(path, nil)
	secret, token, err := host.Make("a", time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	other, _ := OpenTokens(path, nil)
	if err := other.Revoke("nobody"); !errors.Is(err, ErrUnknown) {
		t.Errorf("revoking nobody: %v", err)
	}
	if !host.Good(token.ID) {
		t.Error("not good before")
	}
	if err := other.Revoke(token.ID); err != nil {
		t.Fatal(err)
	}
	if _, err := host.Check(secret); !errors.Is(err, ErrToken) || host.Good(token.ID) {
		t.Errorf("still good: %v", err)
	}
	if list, err := host.List(); err != nil || len(list) != 0 {
		t.Errorf("%v, %v", list, err)
	}
	if err := host.Revoke(token.ID); !errors.Is(err, ErrUnknown) {
		t.Errorf("revoked twice: %v", err)
	}
	again, _, err := host.Make("a", time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := other.Check(again); err != nil || got.Name != "a" {
		t.Errorf("the name is not free again: %+v, %v", got, err)
	}
}

// What happens to the file while a game is played puts no desk out, unless the file is removed.
func TestABadDiskPutsNoDeskOut(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens.json")
	tokens, _ := OpenTokens(path, nil)
	secret, token, err := tokens.Make("a", time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.Check(secret); err != nil || !tokens.Good(token.ID) {
		t.Errorf("the desk is out: %v", err)
	}
	if _, err := tokens.Check(secret[1:]); !errors.Is(err, ErrToken) {
		t.Errorf("another token: %v", err)
	}
	if _, err := tokens.List(); err == nil {
		t.Error("who lists the desks is told nothing")
	}
	if _, _, err := tokens.Make("b", time.Unix(0, 0)); err == nil {
		t.Error("a desk was paired that would be forgotten")
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.Check(secret); !errors.Is(err, ErrToken) || tokens.Good(token.ID) {
		t.Errorf("once the file is removed: %v", err)
	}
}

// A list that has seen many desks does not grow, and still knows the latest of those that were revoked.
func TestRevokedTokensAreRememberedAndBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens.json")
	var old []Token
	for n := range maxTokens - 2 {
		old = append(old, Token{ID: fmt.Sprint(n), Made: time.Unix(int64(n), 0).UTC(), Hash: hashOf(fmt.Sprint(n)), Revoked: true})
	}
	data, err := json.Marshal(old)
	if err == nil {
		err = os.WriteFile(path, data, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	tokens, _ := OpenTokens(path, nil)
	for n := maxTokens - 2; n < maxTokens+2; n++ {
		_, token, err := tokens.Make("a", time.Unix(int64(n), 0))
		if err == nil {
			err = tokens.Revoke(token.ID)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	list := *tokens.list.Load()
	if len(list) != maxTokens || list[0].Made.Unix() != 2 || list[maxTokens-1].Made.Unix() != maxTokens+1 {
		t.Errorf("%d are remembered, from %v on", len(list), list[0].Made)
	}
}

func TestATokenInAFile(t *testing.T) {
	dir := t.TempDir()
	tokens, _ := OpenTokens(filepath.Join(dir, "tokens.json"), nil)
	path, made := filepath.Join(dir, "token"), time.Unix(0, 0)
	token, err := tokens.File(path, made)
	if err != nil || token.Name != FileName {
		t.Fatalf("%+v, %v", token, err)
	}
	if info, err := os.Stat(path); err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("its mode is %v, %v", info.Mode(), err)
	}
	data, _ := os.ReadFile(path)
	if got, err := tokens.Check(strings.TrimSuffix(string(data), "\n")); err != nil || got != token {
		t.Errorf("%+v, %v", got, err)
	}
	if again, err := tokens.File(path, made); err != nil || again != token {
		t.Errorf("the second time: %+v, %v", again, err)
	}
	if err := tokens.Revoke(FileName); err != nil {
		t.Fatal(err)
	}
	if _, err := tokens.File(path, made); err == nil || !strings.Contains(err.Error(), "was revoked: remove the file") {
		t.Errorf("revoked: %v", err)
	}
	own := filepath.Join(dir, "own")
	const secret = "abcdefghij-klmnopqrst"
	if err := os.WriteFile(own, []byte(secret+"\r\nmore"), 0o600); err != nil {
		t.Fatal(err)
	}
	if token, err := tokens.File(own, made); err != nil || token.Name != FileName {
		t.Errorf("%+v, %v", token, err)
	}
	if _, err := tokens.Check(secret); err != nil {
		t.Error(err)
	}
	for _, text := range []string{"", "\n" + secret, secret[:19], secret + " ", secret + "é", strings.Repeat("a", maxSecret+1)} {
		if err := os.WriteFile(own, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := tokens.File(own, made); err == nil || !strings.Contains(err.Error(), own) || text != "" && strings.Contains(err.Error(), secret[:19]) {
			t.Errorf("%q: %v", text, err)
		}
	}
	if _, err := tokens.File(os.DevNull, made); err == nil || !strings.Contains(err.Error(), "no ordinary file") {
		t.Errorf("what may never say anything: %v", err)
	}
	for _, path := range []string{dir, filepath.Join(dir, "none", "token")} {
		if _, err := tokens.File(path, made); err == nil {
			t.Errorf("%s was taken", path)
		}
	}
	if list, err := tokens.List(); err != nil || len(list) != 1 {
		t.Errorf("%v, %v", list, err)
	}
	for range maxTokens - 1 {
		if _, _, err := tokens.Make("desk", made); err != nil {
			t.Fatal(err)
		}
	}
	late := filepath.Join(dir, "late")
	if _, err := tokens.File(late, made); !errors.Is(err, ErrMany) {
		t.Errorf("one desk too many: %v", err)
	}
	if _, err := os.Stat(late); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a token that is nobody's is left: %v", err)
	}
}

func TestTokensMadeAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "tokens.json")
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			tokens, err := OpenTokens(path, nil)
			for range 8 {
				if _, _, e := tokens.Make("desk", time.Unix(0, 0)); e != nil || err != nil {
					t.Errorf("%v, %v", err, e)
				}
			}
		})
	}
	wait.Wait()
	tokens, _ := OpenTokens(path, nil)
	if list, err := tokens.List(); err != nil || len(list) != 32 {
		t.Errorf("%d tokens, %v", len(list), err)
	}
	for range maxTokens - 32 {
		if _, _, err := tokens.Make(strings.Repeat("é", 50), time.Unix(0, 0)); err != nil {
			t.Fatal(err)
		}
	}
	if _, _, err := tokens.Make("one more", time.Unix(0, 0)); !errors.Is(err, ErrMany) {
		t.Errorf("one too many: %v", err)
	}
	list, _ := tokens.List()
	names := map[string]bool{}
	for _, k := range list {
		names[k.Name] = true
	}
	if len(names) != maxTokens || list[0].Name != "desk" || list[32].Name != strings.Repeat("é", 40) || list[33].Name != strings.Repeat("é", 38)+" 2" {
		t.Errorf("%d names, %q %q %q", len(names), list[0].Name, list[32].Name, list[33].Name)
	}
}

// Events say by the name of a desk who keyed them, and undo goes by it.
func TestNamesTellDesksApart(t *testing.T) {
	tokens, _ := OpenTokens(filepath.Join(t.TempDir(), "tokens.json"), nil)
	for _, c := range []struct{ asked, got string }{
		{"phone", "phone"}, {"Phone", "Phone 2"}, {"phone", "phone 3"}, {"table", "table 2"}, {"Script", "Script 2"}, {"", "desk"}, {"desk", "desk 2"}, {"", "desk 3"},
	} {
		if _, token, err := tokens.Make(c.asked, time.Unix(0, 0)); err != nil || token.Name != c.got {
			t.Errorf("%q is named %q, %v; want %q", c.asked, token.Name, err, c.got)
		}
	}
}

// Nothing is called as another desk's id, or revoke could mean either.
func TestNoNameIsAnId(t *testing.T) {
	tokens, _ := OpenTokens(filepath.Join(t.TempDir(), "tokens.json"), nil)
	_, first, err := tokens.Make("phone", time.Unix(0, 0))
	if err != nil {
		t.Fatal(err)
	}
	if _, second, err := tokens.Make(first.ID, time.Unix(0, 0)); err != nil || second.Name != first.ID+" 2" {
		t.Errorf("named %q, %v", second.Name, err)
	}
}

func TestTheNextCodeWaitsUntilTheLastIsSpent(t *testing.T) {
	c := NewCodes(nil)
	code, _ := c.Make(0)
	if !c.Good(code, CodeLasts-1) || c.Good(code, CodeLasts) || c.Good("", 0) {
		t.Error("a code is good for as long as it lasts")
	}
	if code, _ = c.Make(0); c.Use(code, 1) != nil || c.Good(code, 2) {
		t.Error("a code that was used is still good")
	}
}

func TestADamagedFileIsNamed(t *testing.T) {
	for _, text := range []string{"", "{}", `[{"id":"a","name":"\u0007","sha256":"` + strings.Repeat("0", 64) + `"}]`, `[{"id":"a"}]`, `[{"id":"a","sha256":"00"}]`, `[{"key":1}]`, strings.Repeat(" ", maxFile+1)} {
		path := filepath.Join(t.TempDir(), "tokens.json")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := OpenTokens(path, nil); err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "pair the desks again") {
			t.Errorf("%.20q: %v", text, err)
		}
	}
}

// Whatever a list holds: one that is taken has tokens that can be told apart from nothing, and is written as it was read.
func FuzzList(f *testing.F) {
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := decode(data)
		if err != nil {
			return
		}
		text, err := json.Marshal(list)
		if err != nil {
			t.Fatal(err)
		}
		again, err := decode(text)
		if err != nil || len(again) != len(list) {
			t.Errorf("%s was written as %s: %v", data, text, err)
		}
		for i, k := range list {
			if k.ID == "" || len(k.Hash) != 64 || again[i].Hash != k.Hash || again[i].Name != k.Name {
				t.Errorf("%+v became %+v", k, again[i])
			}
		}
	})
}
