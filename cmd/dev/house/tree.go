package house

import (
	"fmt"
	"go/ast"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// The limits keep a file readable in one sitting and a folder graspable at a glance.
const (
	maxLines = 700
	maxFiles = 12 // Go files a folder, tests apart
)

// topLevel is all that lies at the root of the tree.
var topLevel = []string{
	"engine", "overlay", "themes", "assets", "golden", "cmd",
	"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "go.mod", "go.sum", ".gitignore", ".gitattributes", ".ci",
}

func checkTree(t *tree) (problems []Problem) {
	for _, name := range top(t.dir) {
		if !slices.Contains(topLevel, name) {
			problems = append(problems, Problem{name, 0, "nothing else lies at the top level: put it into a room, or ignore it in .gitignore"})
		}
	}
	for _, r := range t.rooms {
		problems = append(problems, checkRoom(t, r)...)
	}
	return append(problems, checkPage(t)...)
}

// page says to contributors what holds, and by which tests.
const page = "DEVELOPERS.md"

var namedTest = regexp.MustCompile("`((?:Test|Fuzz)\\w+)`")

// checkPage looks for the tests that the page names: without its test a line of it is but a promise.
func checkPage(t *tree) (problems []Problem) {
	text, err := os.ReadFile(filepath.Join(t.dir, page))
	if err != nil {
		return nil // a module may have none
	}
	tests := map[string]bool{}
	for _, r := range t.rooms {
		for _, f := range r.files {
			for _, d := range f.syntax.Decls {
				if fn, ok := d.(*ast.FuncDecl); ok && f.test {
					tests[fn.Name.Name] = true
				}
			}
		}
	}
	number := 0
	for line := range strings.Lines(string(text)) {
		number++
		for _, m := range namedTest.FindAllStringSubmatch(line, -1) {
			if !tests[m[1]] {
				problems = append(problems, Problem{page, number, "there is no " + m[1] + ": name the test that holds this"})
			}
		}
	}
	return problems
}

// top names the entries of the root that git has or would take; where git is not there, those that .gitignore leaves.
func top(dir string) (names []string) {
	cmd := exec.Command("git", "ls-files", "--cached", "--others", "--exclude-standard", "-z", ".")
	cmd.Dir = dir
	out, err := cmd.Output()
	if err == nil && len(out) > 0 {
		for name := range strings.SplitSeq(strings.TrimSuffix(string(out), "\x00"), "\x00") {
			first, _, _ := strings.Cut(name, "/")
			names = append(names, first)
		}
		slices.Sort(names)
		return slices.Compact(names)
	}
	entries, _ := os.ReadDir(dir) // an unreadable root was reported by go list
	ignored := ignores(dir)
	for _, e := range entries {
		if e.Name() != ".git" && !slices.ContainsFunc(ignored, func(pattern string) bool { ok, _ := path.Match(pattern, e.Name()); return ok }) {
			names = append(names, e.Name())
		}
	}
	return names
}

// ignores returns the patterns of .gitignore for the root's own entries. Source: gitignore(5).
func ignores(dir string) (patterns []string) {
	text, _ := os.ReadFile(filepath.Join(dir, ".gitignore")) // there may be none
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			patterns = append(patterns, strings.Trim(line, "/"))
		}
	}
	return patterns
}

// checkRoom counts the room's files and lines, and looks for its one package comment.
func checkRoom(t *tree, r *room) (problems []Problem) {
	var documented []*file
	count := 0
	for _, f := range r.files {
		if f.lines > maxLines && !ast.IsGenerated(f.syntax) {
			problems = append(problems, Problem{f.name, 0, fmt.Sprintf("%d lines, the limit is %d: a file is read in one sitting, so cut it where the subject changes", f.lines, maxLines)})
		}
		if !f.test {
			count++
		}
		if f.syntax.Doc != nil && !isDirective(f.syntax.Doc) {
			documented = append(documented, f)
		}
	}
	if count > maxFiles {
		problems = append(problems, Problem{r.name, 0, fmt.Sprintf("%d Go files besides tests, the limit is %d: make a room of a part", count, maxFiles)})
	}
	switch {
	case len(documented) == 0:
		problems = append(problems, Problem{r.name, 0, "no package comment: say what the room is and what it must not do"})
	case len(documented) > 1:
		second := documented[1]
		problems = append(problems, Problem{second.name, t.line(second.syntax.Doc.Pos()), fmt.Sprintf("the package comment is in %s already: keep one", path.Base(documented[0].name))})
	}
	return problems
}

// isDirective tells whether a comment group says nothing to a reader (//go:build and its like).
func isDirective(g *ast.CommentGroup) bool { return strings.TrimSpace(g.Text()) == "" }
