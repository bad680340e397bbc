// Package check measures how a theme looks: colours apart, contrast, sizes, safe areas, flashing, each against a
// published limit. It measures rendered frames and resolved parts; it must not change either, nor decide what is drawn.
// Floats are at home here and nowhere near a picture.
package check
