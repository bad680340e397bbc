package check

import (
	"math"

	"rafter/overlay/paint"
)

// Lab is a colour in CIE L*a*b* under D65: L 0 (black) to 100 (white).
// Source: CIE 15, ISO/CIE 11664-4.
type Lab struct{ L, A, B float64 }

// linear is light, each channel 0 to 1.
type linear struct{ r, g, b float64 }

// LabOf returns the L*a*b* of an opaque sRGB colour; alpha plays no part.
func LabOf(c paint.Colour) Lab { return linearOf(c).lab() }

// linearOf decodes sRGB. Source: IEC 61966-2-1:1999.
func linearOf(c paint.Colour) linear { return linear{decode(c.R), decode(c.G), decode(c.B)} }

func decode(code uint8) float64 {
	c := float64(code) / 255
	if c <= 0.04045 {
		return c / 12.92
	}
	return math.Pow((c+0.055)/1.055, 2.4)
}

// encode returns the nearest code, halves up, of light cut to 0..1. Source: IEC 61966-2-1:1999.
func encode(l float64) uint8 {
	l = min(max(l, 0), 1)
	if l <= 0.0031308 {
		l *= 12.92
	} else {
		l = 1.055*math.Pow(l, 1/2.4) - 0.055
	}
	return uint8(math.Floor(l*255 + 0.5))
}

// xyz returns the tristimulus values, those of white being 3127/3290, 1 and 3583/3290.
// Source: BT.709 primaries and D65 x .3127 y .3290, exact rational rows.
func (l linear) xyz() (x, y, z float64) {
	x = 506752./1228815*l.r + 87881./245763*l.g + 12673./70218*l.b
	y = 87098./409605*l.r + 175762./245763*l.g + 12673./175545*l.b
	z = 7918./409605*l.r + 87881./737289*l.g + 1001167./1053270*l.b
	return x, y, z
}

func (l linear) lab() Lab {
	x, y, z := l.xyz()
	f := func(t float64) float64 {
		if t > 216./24389 {
			return math.Cbrt(t)
		}
		return (24389./27*t + 16) / 116
	}
	fx, fy, fz := f(x*3290/3127), f(y), f(z*3290/3583)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// chromaticity returns u' and v' of CIE 1976, and whether there is light enough to have one.
func (l linear) chromaticity() (u, v float64, ok bool) {
	x, y, z := l.xyz()
	d := x + 15*y + 3*z
	if d == 0 {
		return 0, 0, false
	}
	return 4 * x / d, 9 * y / d, true
}

// luminance is relative luminance, 0 to 1. Source: WCAG 2.2, relative luminance.
func (l linear) luminance() float64 { return 0.2126*l.r + 0.7152*l.g + 0.0722*l.b }

// Difference is CIEDE2000 with all weights 1: below about 2 two colours side by side are hard to tell apart.
// Source: ISO/CIE 11664-6; Sharma, Wu, Dalal 2005.
func Difference(p, q Lab) float64 {
	const pow7of25 = 25 * 25 * 25 * 25 * 25 * 25 * 25
	rise := func(c float64) float64 { c7 := math.Pow(c, 7); return math.Sqrt(c7 / (c7 + pow7of25)) }
	g := 0.5 * (1 - rise((math.Hypot(p.A, p.B)+math.Hypot(q.A, q.B))/2))
	c1, h1 := polar(p.A*(1+g), p.B)
	c2, h2 := polar(q.A*(1+g), q.B)
	dL, dC := q.L-p.L, c2-c1
	var dh float64
	hue := h1 + h2 // where either has no hue the sum is the other's
	if c1*c2 != 0 {
		dh = h2 - h1
		apart := math.Abs(dh) > 180+1e-9 // published pairs lie at exactly 180°
		switch {
		case apart && dh > 0:
			dh -= 360
		case apart:
			dh += 360
		}
		switch {
		case !apart:
			hue /= 2
		case hue < 360:
			hue = (hue + 360) / 2
		default:
			hue = (hue - 360) / 2
		}
	}
	dH := 2 * math.Sqrt(c1*c2) * sin(dh/2)
	L, C := (p.L+q.L)/2, (c1+c2)/2
	t := 1 - 0.17*cos(hue-30) + 0.24*cos(2*hue) + 0.32*cos(3*hue+6) - 0.20*cos(4*hue-63)
	away := (L - 50) * (L - 50)
	sL := 1 + 0.015*away/math.Sqrt(20+away)
	sC, sH := 1+0.045*C, 1+0.015*C*t
	turn := (hue - 275) / 25
	rT := -sin(60*math.Exp(-turn*turn)) * 2 * rise(C)
	l, c, h := dL/sL, dC/sC, dH/sH
	return math.Sqrt(l*l + c*c + h*h + rT*c*h)
}

// polar returns chroma, and hue in degrees from 0; a colour without chroma has hue 0.
func polar(a, b float64) (chroma, hue float64) {
	if a == 0 && b == 0 {
		return 0, 0
	}
	hue = math.Atan2(b, a) * 180 / math.Pi
	if hue < 0 {
		hue += 360
	}
	return math.Hypot(a, b), hue
}

func sin(degrees float64) float64 { return math.Sin(degrees * math.Pi / 180) }
func cos(degrees float64) float64 { return math.Cos(degrees * math.Pi / 180) }
