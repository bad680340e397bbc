package cobracli

import (
	"fmt"
	"image"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"rafter/cmd/internal/cli"
	"rafter/overlay/paint"
)

// Switch adds a flag without a value.
func Switch(c *cobra.Command, name string) *bool {
	f := cli.FlagNamed(name)
	return c.Flags().BoolP(f.Name, f.Short, false, f.Usage)
}

// Text adds a flag with a value of any kind.
func Text(c *cobra.Command, name, fallback string) *string {
	return Checked(c, name, fallback, func(string) error { return nil })
}

// Checked adds a flag whose value check accepts, or says why not: then it is wrong usage.
func Checked(c *cobra.Command, name, fallback string, check func(string) error) *string {
	f := cli.FlagNamed(name)
	s := fallback
	c.Flags().VarP(&value{&s, f.Value, check}, f.Name, f.Short, f.Usage)
	return &s
}

// Size adds --size.
func Size(c *cobra.Command, fallback string) *image.Point {
	size, _ := cli.ParseSize(fallback)
	Checked(c, "size", fallback, func(s string) (err error) {
		size, err = cli.ParseSize(s)
		return err
	})
	return &size
}

// Background adds --background; the zero colour is none.
func Background(c *cobra.Command) *paint.Colour {
	var colour paint.Colour
	Checked(c, "background", "none", func(s string) (err error) {
		if s == "none" {
			colour = paint.Colour{}
			return nil
		}
		if colour, err = cli.ParseColour(s); err != nil {
			err = fmt.Errorf("%q is neither none nor a colour like #1a2b3c", s)
		}
		return err
	})
	return &colour
}

// Motion adds --motion; true is reduced.
func Motion(c *cobra.Command) *bool {
	reduced := false
	Checked(c, "motion", cli.Full, func(s string) (err error) {
		reduced, err = cli.ParseMotion(s)
		return err
	})
	return &reduced
}

// Serving adds --listen, --tls, --cert, --key and --token-file; what it returns has passed its check by the time that the
// command runs.
func Serving(c *cobra.Command, listen string) *cli.Serving {
	s := cli.Serving{Listen: listen}
	Checked(c, "listen", listen, func(v string) error {
		s.Listen = v
		_, err := cli.ParseListen(v)
		return err
	})
	for name, at := range map[string]*string{"cert": &s.Cert, "key": &s.Key, "token-file": &s.TokenFile} {
		Checked(c, name, "", func(v string) error { *at = v; return nil })
	}
	tls := Switch(c, "tls")
	c.PreRunE = func(*cobra.Command, []string) error {
		s.TLS = *tls || s.Cert != ""
		if err := s.Check(); err != nil {
			return cli.Wrong("see: "+c.CommandPath()+" --help", "%w", err)
		}
		return nil
	}
	return &s
}

// value is a flag's value; its type is what help shows.
type value struct {
	s     *string
	shown string
	check func(string) error
}

func (v *value) String() string {
	if v.s == nil {
		return ""
	}
	return *v.s
}
func (v *value) Type() string { return v.shown }
func (v *value) Set(s string) error {
	if err := v.check(s); err != nil {
		return err
	}
	*v.s = s
	return nil
}

// flagError says which flag, what of it, and what would have worked.
func flagError(c *cobra.Command, err error) error {
	hint := "see: " + c.CommandPath() + " --help"
	text := strings.TrimPrefix(err.Error(), "invalid argument ")
	if name, ok := strings.CutPrefix(text, "unknown flag: --"); ok {
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
		if near := cli.NearFlag(name, names); near != "" {
			hint = "did you mean --" + near + "? " + hint
		}
		return cli.Wrong(hint, "%s has no flag --%s", c.CommandPath(), name)
	}
	if _, short, ok := strings.Cut(text, "unknown shorthand flag: "); ok { // 'x' in -xy
		letter, _, _ := strings.Cut(strings.TrimPrefix(short, "'"), "'")
		return cli.Wrong(hint, "%s has no flag -%s", c.CommandPath(), letter)
	}
	if _, after, ok := strings.Cut(text, " flag: "); ok { // "bad" for "--size" flag: why
		_, flag, _ := strings.Cut(text, `for "`)
		flag, _, _ = strings.Cut(flag, `"`)
		return cli.Wrong(hint, "%s: %s", flag[strings.LastIndex(flag, " ")+1:], after)
	}
	return cli.Wrong(hint, "%s", text)
}
