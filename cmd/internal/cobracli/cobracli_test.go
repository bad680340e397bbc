package cobracli_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"syscall"
	"testing"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
)

func program(run func(c *cobra.Command, args []string) error) *cobra.Command {
	root := &cobra.Command{Use: "hoop", Short: "an invented program"}
	still := &cobra.Command{Use: "still FILE", Short: "one frame", Example: "  hoop still --size 640x360 x.game", Args: cobracli.Args(1, 1, "FILE"), RunE: run}
	cobracli.Size(still, "1280x720")
	cobracli.Background(still)
	cobracli.Switch(still, "json")
	cobracli.Text(still, "out", "")
	return cobracli.Group(root, nil, still)
}

func TestErrorsAndExitCodes(t *testing.T) {
	for _, c := range []struct {
		name, line string
		run        func(*cobra.Command, []string) error
		code       int
		stderr     string
	}{
		{"done", "still x", nil, 0, ""},
		{"a_failure", "still x", func(*cobra.Command, []string) error { return errors.New("disk full") }, 1, "hoop: error: disk full\n"},
		{"a_failure_with_a_hint", "still x",
			func(*cobra.Command, []string) error { return cli.Fail("free some space", errors.New("disk full")) }, 1,
			"hoop: error: disk full\nhoop: hint: free some space\n"},
		{"a_wrapped_failure_keeps_its_hint", "still x",
			func(*cobra.Command, []string) error {
				return fmt.Errorf("x.png: %w", cli.Wrong("say which", "no log"))
			}, 2, "hoop: error: x.png: no log\nhoop: hint: say which\n"},
		{"said_already", "still x", func(*cobra.Command, []string) error { return cli.Silent }, 1, ""},
		{"no_such_command", "stil", nil, 2, "hoop: error: hoop has no command \"stil\"\nhoop: hint: did you mean: hoop still\n"},
		{"no_command_of_that_kind", "hall", nil, 2, "hoop: error: hoop has no command \"hall\"\nhoop: hint: see: hoop --help\n"},
		{"no_such_command_at_all", "fly", nil, 2, "hoop: error: hoop has no command \"fly\"\nhoop: hint: see: hoop --help\n"},
		{"no_such_flag", "still --zoom 3 x", nil, 2, "hoop: error: hoop still has no flag --zoom\nhoop: hint: see: hoop still --help\n"},
		{"no_such_short_flag", "still -x 3 x", nil, 2, "hoop: error: hoop still has no flag -x\nhoop: hint: see: hoop still --help\n"},
		{"a_misspelt_flag", "still --sise 3 x", nil, 2, "hoop: error: hoop still has no flag --sise\nhoop: hint: did you mean --size? see: hoop still --help\n"},
		{"a_misspelt_flag_with_its_value", "still --bakcground=none x", nil, 2, "hoop: error: hoop still has no flag --bakcground\nhoop: hint: did you mean --background? see: hoop still --help\n"},
		{"half_a_flag", "still --back none x", nil, 2, "hoop: error: hoop still has no flag --back\nhoop: hint: did you mean --background? see: hoop still --help\n"},
		{"a_bad_value", "still --size 10x10 x", nil, 2, "hoop: error: --size: 10x10 is not from 320x180 to 7680x4320\nhoop: hint: see: hoop still --help\n"},
		{"a_bad_colour", "still --background green x", nil, 2, "hoop: error: --background: \"green\" is neither none nor a colour like #1a2b3c\nhoop: hint: see: hoop still --help\n"},
		{"a_bad_value_of_a_short_flag", "still x -o", nil, 2, "hoop: error: flag needs an argument: 'o' in -o\nhoop: hint: see: hoop still --help\n"},
		{"a_missing_word", "still", nil, 2, "hoop: error: hoop still: FILE is missing\nhoop: hint: usage: hoop still FILE [flags]\n"},
		{"a_word_too_many", "still a b", nil, 2, "hoop: error: hoop still: \"b\" is one word too many\nhoop: hint: usage: hoop still FILE [flags]\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			run := c.run
			if run == nil {
				run = func(*cobra.Command, []string) error { return nil }
			}
			var out, errs bytes.Buffer
			code := cobracli.Run(program(run), strings.Fields(c.line), cobracli.Streams{Out: &out, Err: &errs})
			if code != c.code || errs.String() != c.stderr || out.Len() > 0 {
				t.Errorf("exit %d, want %d\nstdout %q\nstderr %q\nwant   %q", code, c.code, out.String(), errs.String(), c.stderr)
			}
		})
	}
}

func TestHelpThatWasAskedForIsData(t *testing.T) {
	var out, errs bytes.Buffer
	code := cobracli.Run(program(nil), []string{"still", "--help"}, cobracli.Streams{Out: &out, Err: &errs})
	for _, want := range []string{"usage: hoop still FILE", "hoop still --size 640x360 x.game", "--size WxH", "1280x720 unless told", "-o, --out FILE"} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("help does not say %q:\n%s", want, out.String())
		}
	}
	if code != 0 || errs.Len() > 0 {
		t.Errorf("exit %d, stderr %q", code, errs.String())
	}
}

type closed struct{}

func (closed) Write([]byte) (int, error) { return 0, fmt.Errorf("write |1: %w", syscall.EPIPE) }

func TestClosedPipeIsSuccess(t *testing.T) {
	run := func(c *cobra.Command, _ []string) error {
		_, err := io.WriteString(c.OutOrStdout(), "data")
		return err
	}
	var errs bytes.Buffer
	if code := cobracli.Run(program(run), []string{"still", "x"}, cobracli.Streams{Out: closed{}, Err: &errs}); code != 0 || errs.Len() > 0 {
		t.Errorf("exit %d, stderr %q", code, errs.String())
	}
}

func TestNoCommandIsWrongUsageWithHelp(t *testing.T) {
	var out, errs bytes.Buffer
	code := cobracli.Run(program(func(*cobra.Command, []string) error { return nil }), nil, cobracli.Streams{Out: &out, Err: &errs})
	if code != cli.Usage || out.Len() > 0 || !strings.Contains(errs.String(), "usage: hoop COMMAND") || !strings.Contains(errs.String(), "still") {
		t.Errorf("exit %d, stdout %q, stderr %q", code, out.String(), errs.String())
	}
}
