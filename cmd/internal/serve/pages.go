package serve

import (
	"bytes"
	"embed"
	"encoding/json"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"

	"rafter/engine"
	"rafter/engine/feed"
	"rafter/overlay/graphic"
	"rafter/overlay/output/web"
)

//go:embed page
var files embed.FS

// pages are drawn here with the game as it stands, so that they say something without a script, too.
var pages = template.Must(template.New("").Funcs(template.FuncMap{"bonus": bonus, "side": side, "period": period, "reading": reading}).ParseFS(files, "page/*.html"))

// bonus is what a team's lamp says, in words.
func bonus(t engine.Throws) string {
	return map[engine.Throws]string{engine.OneAndOne: "Bonus", engine.Two: "Double bonus", engine.TwoAndBall: "Bonus"}[t]
}

// period is where the game is, in words.
func period(p engine.PeriodView) string {
	if words := map[engine.Phase]string{engine.Before: "Before the game", engine.Interval: "Interval", engine.Halftime: "Half-time", engine.Over: "Final"}[p.Phase]; words != "" {
		return words
	}
	return p.Label
}

// reading is what the clock says there; nothing once the game is over.
func reading(v *engine.View) string {
	switch {
	case v.Period.Phase == engine.Over:
		return ""
	case v.Interval.OK:
		return v.Interval.Value.Text.String()
	}
	return v.Clock.Text.String()
}

// sided is a team with its side.
type sided struct {
	Side string
	Team engine.TeamView
}

func side(name string, t engine.TeamView) sided { return sided{name, t} }

// onAir lists the graphics that go on air.
func onAir() []graphic.Graphic {
	return slices.DeleteFunc(graphic.All(), func(g graphic.Graphic) bool { return !g.OnAir })
}

// kept is a line for the lower third, and the command that shows it as JSON.
type kept struct{ Text, Do string }

// keep returns the lines that the engine takes.
func keep(texts []string) (list []kept) {
	for _, text := range texts {
		if data, err := json.Marshal(engine.Command{Do: engine.Message, Text: text}); err == nil {
			list = append(list, kept{text, string(data)})
		}
	}
	return list
}

type outputLine struct{ Name, About string }

func (s *Server) serveIndex(w http.ResponseWriter, r *http.Request) {
	data := struct {
		View    *engine.View
		Outputs []outputLine
		Schemas []string // their paths
		Feed    string
		Near    bool
		Desks   bool
	}{Feed: s.scheme("ws") + "://" + r.Host + "/feed", Near: remote(r.RemoteAddr).IsLoopback(), Desks: s.tokens != nil}
	for _, name := range outputNames() {
		g, _ := graphic.ByName(name)
		line := outputLine{name, g.About}
		if line.About == "" {
			line.About = "what the game has on air, whichever that is"
		}
		data.Outputs = append(data.Outputs, line)
	}
	var b bytes.Buffer
	var err error
	data.Schemas, _ = fs.Glob(feed.Schemas, "schema/*.json") // the pattern is one
	s.board.look(func(v *engine.View) {
		data.View = v
		err = pages.ExecuteTemplate(&b, "index.html", data)
	})
	send(w, "text/html; charset=utf-8", b.Bytes(), err)
}

func (s *Server) serveScores(w http.ResponseWriter, _ *http.Request) {
	var b bytes.Buffer
	var err error
	s.board.look(func(v *engine.View) { err = pages.ExecuteTemplate(&b, "scores.html", v) })
	send(w, "text/html; charset=utf-8", b.Bytes(), err)
}

// fileTypes are what pages ask for.
var fileTypes = map[string]string{".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8"}

func (s *Server) serveFile(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	kind := fileTypes[path.Ext(name)]
	if kind == "" {
		http.NotFound(w, r)
		return
	}
	data, err := files.ReadFile("page/" + name)
	if err != nil {
		data, err = web.Page.ReadFile("page/" + name)
	}
	if err != nil {
		http.NotFound(w, r)
		return
	}
	send(w, kind, data, nil)
}

func (s *Server) serveSchema(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("file")
	data, err := feed.Schemas.ReadFile("schema/" + name)
	if err != nil || !strings.HasSuffix(name, ".json") {
		http.NotFound(w, r)
		return
	}
	send(w, "application/schema+json", data, nil)
}

func send(w http.ResponseWriter, kind string, data []byte, err error) {
	if err != nil {
		http.Error(w, "this page cannot be made; that is a mistake of this program's", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", kind)
	_, _ = w.Write(data) // the reader may have left
}
