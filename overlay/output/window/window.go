// Package window is the native window: it puts frames on the screen pixel for pixel and hands the keys up in
// order. It draws nothing itself, scales nothing, and does not know what a key means.
//
// Importing it needs a display: without one the library underneath ends the program while it is being
// loaded. A program that may meet that asks overlay/output/display first.
package window

import (
	"errors"
	"fmt"
	"image"

	"github.com/hajimehoshi/ebiten/v2"

	"rafter/overlay/frame"
)

// ErrNone is that no window can be opened: the desktop or the graphics driver refuses.
var ErrNone = errors.New("no window can be opened")

// Config says how the window begins.
type Config struct {
	Title string
	// Size is the inside of the window in device pixels.
	Size image.Point
	// Transparent lets the desktop show through where the picture does; that needs a compositor.
	Transparent bool
}

// Stroke is a key going down or up. Code is its place on the keyboard by its W3C KeyboardEvent.code name.
type Stroke struct {
	Code string
	Down bool
}

// Input is what has happened since the last update.
type Input struct {
	// Size is the inside of the window in device pixels.
	Size image.Point
	// Keys in the order they were struck; a key that is held is reported once. All held keys are reported
	// up when the window loses the keyboard.
	Keys []Stroke
	// Close tells that the window was asked to close, by its title bar or by the desktop.
	Close bool
	shown *ebiten.Image
}

// ReadBack returns the pixels that the rectangle of the screen shows since the last frame, as the graphics
// processor has them; nil before the first. It is slow, and only for use within Update.
func (in *Input) ReadBack(r image.Rectangle) *frame.Frame {
	if in.shown == nil {
		return nil
	}
	r = r.Intersect(in.shown.Bounds())
	f := frame.New(r.Dx(), r.Dy())
	in.shown.SubImage(r).(*ebiten.Image).ReadPixels(f.Pix)
	return f
}

// Mode says which of a frame's pixels a pane shows.
type Mode uint8

const (
	// Picture shows the premultiplied pixels as they are, transparent where they are.
	Picture Mode = iota
	// Fill shows the premultiplied colours over black, opaque: one half of fill and key.
	Fill
	// Key shows the alpha as grey, opaque: the other half. A linear keyer shows fill + background × (1 − key).
	Key
)

// Pane is a frame at its place in the window. Damage covers what differs from the frame this pane showed before.
type Pane struct {
	Frame  *frame.Frame
	Damage frame.Damage
	Place  image.Point
	Mode   Mode
}

// Scene is what the window shows after an update: panes that do not overlap, on black (transparent, where the
// window is). Their frames are read until Shown.
type Scene struct {
	Panes      []Pane
	FullScreen bool
	// Size is the inside that the window should have, in device pixels; it is asked for when it changes, not in
	// full screen, and the desktop may give another. Zero asks for nothing.
	Size image.Point
	// Close ends Run.
	Close bool
}

// Loop is the program behind the window.
type Loop struct {
	// Update is called once before each frame that the screen shows, focused or not, at least about 60 times a
	// second; the scene it returns is the next one shown. An error ends Run.
	Update func(Input) (Scene, error)
	// Shown, if not nil, is called when that scene has been handed to the screen.
	Shown func()
}

// Run opens the window and returns when Update asks to close or fails, or when no window can be opened. It must
// be called from the main goroutine, once. A window that is taken away from outside ends the program without
// returning, so what must be kept has to be on the disk already.
func Run(c Config, l Loop) error {
	ebiten.SetWindowTitle(c.Title)
	ebiten.SetWindowResizingMode(ebiten.WindowResizingModeEnabled)
	ebiten.SetWindowClosingHandled(true)
	ebiten.SetRunnableOnUnfocused(true)
	// Sampled once a frame, so that no tap falls between two updates: at a fixed rate, some do.
	ebiten.SetTPS(ebiten.SyncWithFPS)
	// The screen keeps its pixels: only damage is written, and a screen without damage is not even swapped; the
	// loop then rests 1/60 s by itself, which is all the pacing an idle window needs where there is no vblank.
	ebiten.SetScreenClearedEveryFrame(false)
	size := inDIP(c.Size, scale())
	ebiten.SetWindowSize(size.X, size.Y)

	g := &game{loop: l}
	g.desktop = newDesktop(&g.keys)
	defer g.desktop.close()
	err := ebiten.RunGameWithOptions(g, &ebiten.RunGameOptions{
		ScreenTransparent: c.Transparent,
		X11ClassName:      c.Title,
		X11InstanceName:   c.Title,
	})
	if err != nil && !g.ran {
		return fmt.Errorf("%w: %w", ErrNone, err)
	}
	return err
}

// scale is device pixels a device-independent pixel of the monitor that the window is on, or will be.
func scale() float64 { return ebiten.Monitor().DeviceScaleFactor() }

func inDIP(px image.Point, scale float64) image.Point {
	return image.Pt(int(float64(px.X)/scale+0.5), int(float64(px.Y)/scale+0.5))
}

// game is what the library drives. Layout, Update and Draw are called in turn on one goroutine.
type game struct {
	loop    Loop
	keys    keys
	desktop *desktop
	size    image.Point // device pixels
	scene   Scene
	screen  screen
	ran     bool
}

// LayoutF makes the library's screen as large as the window's inside in device pixels, so that nothing is scaled.
func (g *game) LayoutF(width, height float64) (float64, float64) {
	s := scale()
	width, height = max(width*s, 1), max(height*s, 1)
	g.size = image.Pt(int(width+0.999), int(height+0.999)) // the library rounds up too
	return width, height
}

// Layout is never called: LayoutF is there.
func (g *game) Layout(width, height int) (int, int) { return width, height }

func (g *game) Update() error {
	g.ran = true
	g.desktop.update()
	scene, err := g.loop.Update(Input{
		Size:  g.size,
		Keys:  g.keys.take(),
		Close: ebiten.IsWindowBeingClosed(),
		shown: g.screen.on,
	})
	if err != nil {
		return err
	}
	if scene.Close {
		return ebiten.Termination
	}
	if scene.FullScreen != g.scene.FullScreen {
		ebiten.SetFullscreen(scene.FullScreen)
	}
	if scene.Size != g.scene.Size && scene.Size != (image.Point{}) && !scene.FullScreen {
		size := inDIP(scene.Size, scale())
		ebiten.SetWindowSize(size.X, size.Y)
	}
	g.scene = scene
	return nil
}

func (g *game) Draw(dst *ebiten.Image) {
	g.screen.show(dst, g.scene.Panes)
	if g.loop.Shown != nil {
		g.loop.Shown()
	}
}
