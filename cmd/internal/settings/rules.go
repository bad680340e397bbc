package settings

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"rafter/engine"
	"rafter/engine/rules"
	"rafter/overlay/toml"
)

// FindRules returns the finder of rule sets by name: a published one, else a file of house rules, whose relative name
// starts at dir. What it refuses is an *engine.Error; that of a file holds each mistake with its row and column.
func FindRules(dir string) func(name string) (rules.Set, error) {
	return func(name string) (rules.Set, error) {
		if set, ok := rules.ByName(name); ok {
			return set, nil
		}
		path := name
		if !filepath.IsAbs(path) {
			path = filepath.Join(dir, path)
		}
		set, err := LoadRules(path)
		names := strings.Join(rules.Names(), ", ") + ", or a file of house rules"
		switch {
		case err == nil:
			return set, nil
		case !errors.Is(err, fs.ErrNotExist):
			return set, engine.Refuse(engine.BadValue, name, "house rules as rafter rules check passes them", err.Error())
		case isFile(name):
			return set, engine.Refuse(engine.UnknownRules, name, names, fmt.Sprintf("there is no file %s", path))
		}
		return set, engine.Refuse(engine.UnknownRules, name, names, fmt.Sprintf("there is no rule set %q%s; there are %s", name, toml.DidYouMean(name, rules.Names()), names))
	}
}

// isFile tells whether a name can only be meant for a file.
func isFile(name string) bool { return strings.ContainsAny(name, `./\`) }

// LoadRules reads a file of house rules.
func LoadRules(path string) (rules.Set, error) {
	f, err := os.Open(path)
	if err != nil {
		return rules.Set{}, err
	}
	defer func() { _ = f.Close() }()                           // only read
	data, err := io.ReadAll(io.LimitReader(f, toml.MaxSize+1)) // one more, so that too long is seen
	if err != nil {
		return rules.Set{}, err
	}
	return ParseRules(filepath.Base(path), data)
}

// ParseRules reads house rules: from names the published set that they start from, [set] what they change, under the
// names that `rafter rules show` prints. The error is toml.Errors: every value out of its range, every unknown name and
// values that do not go together. name stands in its messages.
func ParseRules(name string, data []byte) (rules.Set, error) {
	t, err := toml.Parse(name, data)
	if err != nil {
		return rules.Set{}, err
	}
	from := t.Choice("from", rules.Names(), "")
	if !t.Has("from") {
		t.Refuse("from", "from is missing: the rule set that the house rules start from, one of %s", strings.Join(rules.Names(), ", "))
	}
	set, known := rules.ByName(from)
	changed := t.Table("set")
	if !known { // the values are still looked at
		set, _ = rules.ByName(rules.Names()[0])
	}
	putSet(changed, &set, known)
	return set, t.Done()
}

// putSet puts the values of a table into the rule set, and returns those that were right. What is wrong is refused by
// its row and column; whether the values go together can be told only where the rule set is the one that is meant.
func putSet(t *toml.Table, set *rules.Set, meant bool) (put []rules.Pair) {
	var pairs []rules.Pair
	for _, key := range t.Keys() {
		if _, ok := set.Get(key); !ok {
			t.RefuseKey(key, "%v", set.Put(key, ""))
			continue
		}
		toml.As(t, key, "", func(value string) (string, error) {
			pairs = append(pairs, rules.Pair{Key: key, Value: value})
			return value, nil
		})
	}
	for i, err := range set.PutAll(pairs) {
		switch {
		case err == nil:
			put = append(put, pairs[i])
		case meant || !errors.Is(err, rules.ErrContradict):
			t.Refuse(pairs[i].Key, "%v", err)
		}
	}
	return put
}
