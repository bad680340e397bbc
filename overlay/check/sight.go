package check

import "rafter/overlay/paint"

// Sight is a way of seeing colours.
type Sight uint8

// Normal sight, and the three kinds that lack one sort of cone altogether.
const (
	Normal Sight = iota
	Protan
	Deutan
	Tritan
	Sights
)

// String names the sight.
func (s Sight) String() string { return [...]string{"normal", "protan", "deutan", "tritan"}[s] }

// seen are rows over linear RGB at severity 1. Source: Machado, Oliveira, Fernandes 2009, IEEE TVCG 15(6).
var seen = [Sights][3][3]float64{
	Normal: {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	Protan: {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	Deutan: {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.01182, 0.04294, 0.968881}},
	Tritan: {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.3039}},
}

// See returns the colour that looks to normal sight as c looks to s; opaque sRGB.
func (s Sight) See(c paint.Colour) paint.Colour {
	l := s.light(linearOf(c))
	return paint.Colour{R: encode(l.r), G: encode(l.g), B: encode(l.b), A: 255}
}

// light is before it is cut to what a display can show.
func (s Sight) light(l linear) linear {
	m := &seen[s]
	row := func(i int) float64 { return m[i][0]*l.r + m[i][1]*l.g + m[i][2]*l.b }
	return linear{row(0), row(1), row(2)}
}

// Apart is the CIEDE2000 difference of two colours as s sees them.
func (s Sight) Apart(a, b paint.Colour) float64 { return Difference(LabOf(s.See(a)), LabOf(s.See(b))) }
