package picture

import "rafter/overlay/check"

// Measure takes every measure of the theme. Of the options it fills in theme and fonts.
func (l *Looks) Measure(o check.Options) ([]check.Measure, error) {
	o.Theme, o.Fonts = l.theme, l.fonts.Clone()
	return check.Theme(o)
}

// Digits takes those of reading alone.
func (l *Looks) Digits(o check.Options) ([]check.Measure, error) {
	o.Theme, o.Fonts = l.theme, l.fonts.Clone()
	return check.Digits(o)
}

// About is what the theme says of itself.
func (l *Looks) About() string { return l.theme.About }
