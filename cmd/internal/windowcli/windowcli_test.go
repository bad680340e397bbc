package windowcli

import (
	"image"
	"strings"
	"testing"
	"time"

	"rafter/cmd/internal/cli"
	"rafter/overlay/paint"
)

func TestWhatIsAskedIsRead(t *testing.T) {
	for _, tt := range []struct {
		args string
		want Options
	}{
		{"", Options{}},
		{"--demo --seconds 20", Options{Game: cli.Game{Demo: true}, Length: 20 * time.Second}},
		{"--log a.log --theme maple --graphic wall --size 1920x1080", Options{Game: cli.Game{Log: "a.log"}, Theme: "maple", Graphic: "wall", Size: image.Pt(1920, 1080)}},
		{"--background fill-and-key --strip off --full-screen --horn", Options{Background: FillAndKey, Strip: Off, FullScreen: true, Horn: true}},
		{"--key-colour #0000ff", Options{Background: KeyColour, KeyColour: paint.Colour{B: 255, A: 255}}},
		{"-script=x.game --trace t", Options{Game: cli.Game{Script: "x.game"}, Trace: "t"}},
		{"--horn=false", Options{}},
		{"--listen 0.0.0.0:80 --tls --token-file f", Options{Serving: cli.Serving{Listen: "0.0.0.0:80", TLS: true, TokenFile: "f"}}},
		{"--join http://192.168.1.20:28150 --fingerprint ab", Options{Game: cli.Game{Join: "http://192.168.1.20:28150", Fingerprint: "ab"}}},
		{"--source board.toml --log a.log --delay 400", Options{Game: cli.Game{Source: "board.toml", Log: "a.log"}, Serving: cli.Serving{Delay: 400 * time.Millisecond}}},
		{"--listen off", Options{Serving: cli.Serving{Listen: "off"}}},
		{"--cert c --key k", Options{Serving: cli.Serving{TLS: true, Cert: "c", Key: "k"}}},
		{"--motion reduced", Options{Motion: "reduced"}},
		{"check --json --hold", Options{Check: true, JSON: true, Hold: true}},
		{"--help", Options{Help: true}},
		{"check -h", Options{Help: true, Check: true}},
		{"--version", Options{Version: true}},
	} {
		got, err := Parse(strings.Fields(tt.args))
		if err != nil || got != tt.want {
			t.Errorf("%q: got %+v, %v, want %+v", tt.args, got, err, tt.want)
		}
	}
}

func TestWrongUsageSaysWhatAndWhy(t *testing.T) {
	for _, tt := range []struct{ args, says string }{
		{"--demos", "there is no flag --demos: did you mean --demo?"}, {"--bakground opaque", "there is no flag --bakground: did you mean --background?"}, {"--xyzzy", "there is no flag --xyzzy"},
		{"--size 10x10", "--size: 10x10 is not from 320x180 to 7680x4320"},
		{"--size big", `--size: "big" is not a size like 1920x1080`},
		{"--size", "--size needs a value"},
		{"--background green", `--background: "green" is none of transparent, key-colour, opaque, fill-and-key`},
		{"--motion none", `--motion: "none" is neither full nor reduced`},
		{"--key-colour green", `--key-colour: "green" is not a colour like #1a2b3c`},
		{"--key-colour #00ff00 --background opaque", "--key-colour does not go with --background opaque: use --background key-colour"},
		{"--demo --log x", "--demo and --log name different games: use one of them"},
		{"--join http://192.168.1.20:28150 --script x", "--script and --join name different games: use one of them"},
		{"--fingerprint ab", "--fingerprint is that of the host that is joined: name it with --join"},
		{"--source board.toml --join http://192.168.1.20:28150", "--source does not go with --join: a game that plays itself, or elsewhere, is not kept by a feed"},
		{"--source board.toml --demo", "--source does not go with --demo: a game that plays itself, or elsewhere, is not kept by a feed"},
		{"--token-file f --join http://192.168.1.20:28150", "--token-file does not go with --join: commands are given where the game is played"},
		{"--token-file f --listen off", "--tls, --cert and --token-file are for pages, and none are served: name where with --listen"},
		{"--cert c --key k --listen off", "--tls, --cert and --token-file are for pages, and none are served: name where with --listen"},
		{"--delay 30001", `--delay: "30001" is not a number of milliseconds from 0 to 30000`},
		{"--delay -1", `--delay: "-1" is not a number of milliseconds from 0 to 30000`},
		{"--cert c", "--cert and --key go together: the certificate's file and its key's"},
		{"--listen 80", `--listen: "80" is not an address and a port like 127.0.0.1:28150; 0.0.0.0:28150 is all of this computer's, off is nowhere`},
		{"--log=", "--log: its value is empty"},
		{"--seconds 0", `--seconds: "0" is not a number of seconds from 1 to 86400`},
		{"show", `"show" is one word too many`},
		{"--hold", "there is no flag --hold"},
		{"--demo=perhaps", `--demo: "perhaps" is neither true nor false`},
		{"check --key-colour #00ff00", "check takes no --key-colour: it draws every golden case as it is"},
		{"check --theme maple", "check takes no --theme: it draws every golden case as it is"},
	} {
		if _, err := Parse(strings.Fields(tt.args)); err == nil || err.Error() != tt.says {
			t.Errorf("%q: got %v, want %s", tt.args, err, tt.says)
		}
	}
}

func TestWhatIsNotAskedComesFromTheSettingsThenFromTheProgram(t *testing.T) {
	green := paint.Colour{G: 255, A: 255}
	for _, tt := range []struct {
		args string
		kept Kept
		want Options
	}{
		{"", Kept{}, Options{Theme: "maple", Graphic: "on-air", Size: image.Pt(1280, 720), Background: Opaque, KeyColour: green, Motion: "full"}},
		{"", Kept{"mine", "wall", "1920x1080", "key-colour", "reduced"},
			Options{Theme: "mine", Graphic: "wall", Size: image.Pt(1920, 1080), Background: KeyColour, KeyColour: green, Motion: "reduced"}},
		{"--theme x --graphic bug --size 640x360 --background transparent --motion full", Kept{"mine", "wall", "1920x1080", "opaque", "reduced"},
			Options{Theme: "x", Graphic: "bug", Size: image.Pt(640, 360), Background: Transparent, KeyColour: green, Motion: "full"}},
	} {
		asked, err := Parse(strings.Fields(tt.args))
		if err != nil {
			t.Fatal(err)
		}
		if got, err := asked.Or(tt.kept); err != nil || got != tt.want {
			t.Errorf("%q over %+v: got %+v, %v", tt.args, tt.kept, got, err)
		}
	}
	for _, k := range []Kept{{Size: "1x1"}, {Background: "blue"}, {Motion: "slow"}} {
		if _, err := (Options{}).Or(k); err == nil {
			t.Errorf("settings %+v were taken", k)
		}
	}
}

func TestHelpNamesEveryFlagAndKey(t *testing.T) {
	var b strings.Builder
	Help(&b, [][2]string{{"The game", ""}, {"Space", "start or stop the clock"}})
	for _, r := range rows {
		if !strings.Contains(b.String(), "--"+r.Name) {
			t.Errorf("help does not name --%s", r.Name)
		}
	}
	if !strings.Contains(b.String(), "Space") {
		t.Error("help does not name the keys")
	}
}

// FuzzParse: no command line panics, and what is taken is within its bounds.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"--demo", "check --json", "--size 1x1 --seconds 9", "--key-colour #0f0f0f --background key-colour"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		o, err := Parse(strings.Fields(s))
		if err != nil {
			return
		}
		if s := o.Size; s != (image.Point{}) && (s.X < 320 || s.Y < 180 || s.X > 7680 || s.Y > 4320) {
			t.Errorf("it gave the size %v", s)
		}
		if o.Length < 0 || o.Length > 24*time.Hour || o.KeyColour != (paint.Colour{}) && o.KeyColour.A != 255 {
			t.Errorf("it gave %+v", o)
		}
	})
}
