package mutate

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

// bench builds the tests and runs them on mutants.
type bench struct {
	ctx       context.Context
	dir, work string
	say       io.Writer
	rooms     []*room
	all       []*Mutant
	binaries  []*binary
}

// binary is a room's tests, built.
type binary struct {
	room  *room
	place string
	tests []*test
}

// test is one test of a binary: how long it takes, how often it asks at most, and which mutants' places it comes to.
type test struct {
	name  string
	took  time.Duration
	asks  int
	comes []bool // by number
}

// build writes the schemata and builds the tests of every room.
func (b *bench) build() error {
	fmt.Fprintf(b.say, "%d mutants; building the tests\n", len(b.all))
	overlay, err := b.overlay(b.work, nil)
	if err != nil {
		return err
	}
	for i, r := range b.rooms {
		if !r.tested {
			continue
		}
		t := &binary{room: r, place: filepath.Join(b.work, strconv.Itoa(i)+".test")}
		if said, err := b.compile(t.place, overlay, r); err != nil {
			return fmt.Errorf("%w\n%s", err, said)
		}
		b.binaries = append(b.binaries, t)
	}
	return nil
}

// overlay writes the changed files into a folder, with the list of them that the compiler takes, whose place it returns.
func (b *bench) overlay(folder string, alone *Mutant) (string, error) {
	replace := map[string]string{}
	put := func(of string, text []byte) error {
		at := filepath.Join(folder, strconv.Itoa(len(replace))+".go")
		replace[of] = at
		return os.WriteFile(at, text, 0o666)
	}
	for _, r := range b.rooms {
		if len(r.mutants) == 0 {
			continue
		}
		for _, s := range r.sources {
			var here *Mutant
			if alone != nil && alone.source == s {
				here = alone
			}
			if err := put(s.place, r.schema(s, here)); err != nil {
				return "", err
			}
		}
		if err := put(r.helperPlace(), []byte(r.helperFile())); err != nil {
			return "", err
		}
	}
	list, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return "", err
	}
	place := filepath.Join(folder, "overlay.json")
	return place, os.WriteFile(place, list, 0o666)
}

func (b *bench) compile(to, overlay string, r *room) (said []byte, err error) {
	said, err = command(b.ctx, b.dir, "test", "-c", "-vet=off", "-overlay", overlay, "-o", to, r.path).CombinedOutput()
	if err != nil {
		err = fmt.Errorf("building the tests of %s: %w", r.name, err)
	}
	return said, err
}

// record runs every test once as it is, to learn how long it takes and what it comes to.
func (b *bench) record() error {
	type job struct {
		of *binary
		t  *test
	}
	var jobs []job
	for _, t := range b.binaries {
		out, err := b.command(b.ctx, t, 0, "-test.list=.").Output()
		if err != nil {
			return fmt.Errorf("listing the tests of %s: %w", t.room.name, err)
		}
		for name := range strings.FieldsSeq(string(out)) {
			if strings.HasPrefix(name, "Test") || strings.HasPrefix(name, "Fuzz") || strings.HasPrefix(name, "Example") {
				t.tests = append(t.tests, &test{name: name})
			}
		}
		for _, one := range t.tests {
			jobs = append(jobs, job{t, one})
		}
	}
	fmt.Fprintf(b.say, "running %d tests without a change\n", len(jobs))
	errs := make([]error, len(jobs))
	b.parallel(len(jobs), func(i int) {
		errs[i] = b.recordOne(jobs[i].of, jobs[i].t, filepath.Join(b.work, fmt.Sprintf("%d.record", i)))
	})
	for i, j := range jobs {
		if errs[i] != nil && b.ctx.Err() == nil {
			errs[i] = b.leaveOut(j.of, j.t, errs[i])
		}
	}
	return b.first(errs)
}

// first returns what ended the bench: being told to stop, else all that went wrong.
func (b *bench) first(errs []error) error {
	if b.ctx.Err() != nil {
		return b.ctx.Err()
	}
	return errors.Join(errs...)
}

// leaveOut takes out a test that fails on the changed build alone: it counts allocations, which asking costs.
func (b *bench) leaveOut(of *binary, t *test, why error) error {
	said, err := command(b.ctx, b.dir, "test", "-count=1", "-run=^"+regexp.QuoteMeta(t.name)+"$", of.room.path).CombinedOutput()
	if err != nil {
		return fmt.Errorf("%w\n%s", why, said)
	}
	fmt.Fprintf(b.say, "left out, since it fails where places ask which mutant they are: %s of %s\n", t.name, of.room.name)
	of.tests = slices.DeleteFunc(of.tests, func(o *test) bool { return o == t })
	return nil
}

func (b *bench) recordOne(of *binary, t *test, place string) error {
	cmd := b.command(b.ctx, of, 0, "-test.run=^"+regexp.QuoteMeta(t.name)+"$")
	cmd.Env = append(cmd.Env, recording+"="+place)
	began := time.Now()
	said, err := cmd.CombinedOutput()
	t.took = time.Since(began)
	if err != nil {
		return fmt.Errorf("%s of %s fails without a change: %w\n%s", t.name, of.room.name, err, said)
	}
	t.comes = make([]bool, len(b.all)+1)
	text, err := os.ReadFile(place)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	for word := range strings.FieldsSeq(string(text)) {
		n, err := strconv.Atoi(word)
		switch {
		case err != nil || n == 0 || n > len(b.all):
			return fmt.Errorf("%s of %s wrote of mutant %q", t.name, of.room.name, word)
		case n < 0: // it writes at each power of two
			t.asks = max(t.asks, -2*n)
		default:
			t.comes[n] = true
		}
	}
	return nil
}

// command runs a room's tests in its folder, as one mutant. Seeds are fixed, so that two runs give the same; a test
// that fails is not made smaller, nor kept.
func (b *bench) command(ctx context.Context, t *binary, number int, flags ...string) *exec.Cmd {
	flags = append(flags, "-test.failfast")
	if t.room.rapid {
		flags = append(flags, "-rapid.seed=1", "-rapid.nofailfile", "-rapid.shrinktime=0s")
	}
	cmd := exec.CommandContext(ctx, t.place, flags...)
	cmd.Dir = t.room.dir
	cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d", variable, number), "GOMAXPROCS=1")
	cmd.WaitDelay = time.Second
	return cmd
}

// parallel does n jobs, as many at once as there are processors; none is begun once the context is cancelled.
func (b *bench) parallel(n int, do func(int)) {
	jobs := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range jobs {
				do(i)
			}
		})
	}
	for i := range n {
		if b.ctx.Err() != nil {
			break
		}
		jobs <- i
	}
	close(jobs)
	wait.Wait()
}

// try runs the mutants, and says how far it is.
func (b *bench) try(chosen []*Mutant) error {
	errs := make([]error, len(chosen))
	began, said, done, left := time.Now(), time.Now(), 0, 0
	var lock sync.Mutex
	b.parallel(len(chosen), func(i int) {
		m := chosen[i]
		if m.single {
			m.outcome, errs[i] = b.alone(m, i)
		} else {
			m.outcome, errs[i] = b.one(m)
		}
		lock.Lock()
		defer lock.Unlock()
		done++
		if m.outcome == survived {
			left++
		}
		if time.Since(said) > 5*time.Second {
			said = time.Now()
			gone := said.Sub(began)
			fmt.Fprintf(b.say, "%d of %d tried, %d survive; about %s left\n", done, len(chosen), left, (gone * time.Duration(len(chosen)-done) / time.Duration(done)).Round(time.Second))
		}
	})
	return b.first(errs)
}

// number returns the mutant's number.
func (b *bench) number(m *Mutant) int { return m.room.first + slices.Index(m.room.mutants, m) }

// group is some tests of one binary, run together.
type group struct {
	of    *binary
	names []string
	cost  time.Duration
	asks  int
}

// cheap is how long a test may take to be run with others, before all that take longer.
const cheap = 50 * time.Millisecond

// groups returns the tests that come to a mutant's place, the cheapest first.
func (b *bench) groups(number int) []*group {
	var list []*group
	for _, t := range b.binaries {
		quick := &group{of: t}
		for _, one := range t.tests {
			switch {
			case !one.comes[number]:
			case one.took > cheap:
				list = append(list, &group{t, []string{one.name}, one.took, one.asks})
			default:
				quick.names = append(quick.names, one.name)
				quick.cost, quick.asks = quick.cost+one.took, quick.asks+one.asks
			}
		}
		if quick.names != nil {
			list = append(list, quick)
		}
	}
	slices.SortStableFunc(list, func(a, b *group) int { return int(a.cost - b.cost) })
	return list
}

// one runs the tests that come to a mutant's place until one fails.
func (b *bench) one(m *Mutant) (outcome, error) {
	number := b.number(m)
	for _, g := range b.groups(number) {
		result, err := b.run(g, number)
		if result != survived || err != nil {
			return result, err
		}
	}
	return survived, nil
}

// How much longer than they take, and how much more than they ask, tests may go on as a mutant.
const (
	patience = 20
	atLeast  = time.Minute
	leeway   = 1 << 20 // questions
)

// run tells whether the tests fail as a mutant, or do not come to an end.
func (b *bench) run(g *group, number int) (outcome, error) {
	ctx, stop := context.WithTimeout(b.ctx, patience*g.cost+atLeast)
	defer stop()
	names := make([]string, len(g.names))
	for i, name := range g.names {
		names[i] = regexp.QuoteMeta(name)
	}
	cmd := b.command(ctx, g.of, number, "-test.run=^("+strings.Join(names, "|")+")$")
	cmd.Env = append(cmd.Env, fmt.Sprintf("%s=%d", budget, patience*g.asks+leeway))
	err := cmd.Run()
	var exit *exec.ExitError
	switch {
	case b.ctx.Err() != nil:
		return untried, b.ctx.Err()
	case ctx.Err() != nil, errors.As(err, &exit) && exit.ExitCode() == ranAway:
		return hung, nil
	case exit != nil:
		return caught, nil
	}
	return survived, err
}

// alone builds the tests with one mutant in them and runs all that come to its room: its own first.
func (b *bench) alone(m *Mutant, i int) (outcome, error) {
	folder := filepath.Join(b.work, "alone"+strconv.Itoa(i))
	if err := os.Mkdir(folder, 0o777); err != nil {
		return untried, err
	}
	defer os.RemoveAll(folder)
	overlay, err := b.overlay(folder, m)
	if err != nil {
		return untried, err
	}
	for _, t := range b.nearest(m.room) {
		all := &group{of: &binary{room: t.room, place: filepath.Join(folder, "test")}}
		if _, err := b.compile(all.of.place, overlay, t.room); err != nil {
			return unbuilt, b.ctx.Err()
		}
		for _, one := range t.tests {
			all.names = append(all.names, one.name)
			all.cost, all.asks = all.cost+one.took, all.asks+one.asks
		}
		result, err := b.run(all, b.number(m))
		if result != survived || err != nil {
			return result, err
		}
	}
	return survived, nil
}

// nearest returns the binaries whose tests come to a room, its own first.
func (b *bench) nearest(r *room) []*binary {
	var list []*binary
	for _, t := range b.binaries {
		comes := t.room == r
		for _, one := range t.tests {
			comes = comes || slices.Contains(one.comes[r.first:r.first+len(r.mutants)], true)
		}
		if comes {
			list = append(list, t)
		}
	}
	slices.SortStableFunc(list, func(a, c *binary) int {
		switch {
		case a.room == r:
			return -1
		case c.room == r:
			return 1
		}
		return 0
	})
	return list
}
