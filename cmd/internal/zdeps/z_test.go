package zdeps

import (
	_ "github.com/adrg/xdg"
	_ "github.com/ebitengine/oto/v3"
	_ "github.com/go-text/typesetting/shaping"
	_ "github.com/gofrs/flock"
	_ "github.com/google/go-cmp/cmp"
	_ "github.com/hajimehoshi/ebiten/v2"
	_ "github.com/pelletier/go-toml/v2"
	_ "github.com/rivo/uniseg"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/schollz/progressbar/v3"
	_ "github.com/spf13/cobra"
	_ "go.uber.org/goleak"
	_ "golang.org/x/image/font/opentype"
	_ "golang.org/x/sys/unix"
	_ "golang.org/x/term"
	_ "golang.org/x/text/unicode/norm"
	_ "pgregory.net/rapid"
)
