package feed

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"rafter/engine"
	"rafter/engine/enginetest"
	"rafter/engine/rules"
)

var write = flag.Bool("write", false, "write schema/game_command.json anew from the table of verbs")

const commandFile = "schema/game_command.json"

// object is a JSON object whose keys are written in their order.
type object []pair
type pair struct {
	key   string
	value any
}

func (o object) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, p := range o {
		if i > 0 {
			b = append(b, ',')
		}
		value, err := json.Marshal(p.value)
		if err != nil {
			return nil, err
		}
		b = append(fmt.Appendf(b, "%q:", p.key), value...)
	}
	return append(b, '}'), nil
}

const number = `^[0-9]{1,3}$`

func text(pattern string) object { return object{{"type", "string"}, {"pattern", pattern}} }

func words(list ...string) object { return object{{"enum", list}} }

// fieldSchema says what may stand in a field. What a pattern cannot say, such as the direction of letters, the engine refuses.
func fieldSchema(t *testing.T, f *engine.Field) object {
	t.Helper()
	const reading = `^([0-9]+:)?([0-9]+:)?[0-9]+(\.[0-9]{1,3})?$`
	switch f.Name {
	case "team":
		return words("home", "away")
	case "side":
		return words("home", "away", "off")
	case "player", "for":
		return text(number)
	case "person":
		return text(`^([0-9]{1,3}|coach)$`)
	case "numbers":
		return object{{"type", "array"}, {"items", text(number)}, {"minItems", 1}, {"maxItems", rules.MaxFloor}, {"uniqueItems", true}}
	case "foul":
		var names []string
		for k := range rules.KindCount {
			names = append(names, k.String())
		}
		return words(names...)
	case "timeout", "hometimeout", "awaytimeout":
		return words("full", "short")
	case "only":
		return words("player-only", "team-only")
	case "throws":
		return words("none", "one_and_one", "two", "two_and_ball")
	case "clock", "seconds":
		return text(reading)
	case "change":
		return text(`^[-+]?([0-9]+:)?([0-9]+:)?[0-9]+(\.[0-9]{1,3})?$`)
	case "period":
		return text(`^(ot)?[1-9][0-9]?$`)
	case "key", "graphic":
		return text(`^[a-z][a-z0-9_-]{0,39}$`)
	case "value":
		return text(`^[^ ]{1,200}$`)
	case "color":
		return text(`^#?[0-9a-fA-F]{6}$`)
	}
	var low, high int
	switch f.Form {
	case engine.Number:
		if _, err := fmt.Sscanf(f.Want, "a whole number, %d to %d", &low, &high); err == nil {
			return object{{"type", "integer"}, {"minimum", low}, {"maximum", high}}
		}
	case engine.Text:
		if _, err := fmt.Sscanf(f.Want, "%d to %d characters", &low, &high); err == nil {
			return object{{"type", "string"}, {"minLength", low}, {"maxLength", high}}
		}
	}
	t.Fatalf("the schema says nothing of the field %q (%s)", f.Name, f.Want)
	return nil
}

// commandSchema is written from the engine's tables.
func commandSchema(t *testing.T) []byte {
	var all []object
	var inner []object
	for v := engine.NoVerb + 1; v.String() != ""; v++ {
		props, required := object{{"do", object{{"const", v.String()}}}}, []string{"do"}
		for _, name := range v.Fields() {
			name, optional := strings.CutSuffix(name, "?")
			f, ok := engine.FieldNamed(name)
			if !ok {
				t.Fatalf("%s has no field %q", v, name)
			}
			props = append(props, pair{f.Key, fieldSchema(t, f)})
			if !optional {
				required = append(required, f.Key)
			}
		}
		revises := v == engine.Undo || v == engine.Redo || v == engine.Void || v == engine.Amend || v == engine.GameNew
		if v == engine.Amend {
			props, required = append(props, pair{"command", object{{"$ref", "#/$defs/played"}}}), append(required, "command")
		}
		o := object{{"title", v.String()}, {"type", "object"}, {"properties", props}, {"required", required}, {"additionalProperties", false}}
		if revises {
			all = append(all, o)
		} else {
			inner = append(inner, o)
		}
	}
	whole := object{
		{"$schema", "https://json-schema.org/draft/2020-12/schema"},
		{"title", "a command of the game"},
		{"description", "The line language of rafter run as JSON: do is the command's words joined by _ and stands first."},
		{"oneOf", append([]object{{{"$ref", "#/$defs/played"}}}, all...)},
		{"$defs", object{{"played", object{{"oneOf", inner}}}}},
	}
	data, err := json.Marshal(whole)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := json.Indent(&b, data, "", "  "); err != nil {
		t.Fatal(err)
	}
	b.WriteByte('\n')
	return b.Bytes()
}

func TestTheCommandsSchemaIsTheTableOfVerbs(t *testing.T) {
	want := commandSchema(t)
	if *write {
		if err := os.WriteFile(commandFile, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := os.ReadFile(commandFile); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%s is not what the tables of verbs and fields say (%v): run go test ./engine/feed -write and look at it", commandFile, err)
	}
}

// schemas compiles all of them. Closed ones take no field that they do not name, as a reader that is older than the
// host must not.
func schemas(t *testing.T, closed bool) map[string]*jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	files, err := fs.Glob(Schemas, "schema/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		data, _ := Schemas.ReadFile(file)
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if closed {
			shut(doc)
		}
		if err := c.AddResource("mem:///"+file, doc); err != nil {
			t.Fatalf("%s: %v", file, err)
		}
	}
	all := map[string]*jsonschema.Schema{}
	for _, file := range files {
		s, err := c.Compile("mem:///" + file)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if s.DraftVersion != 2020 {
			t.Errorf("%s is of draft %d", file, s.DraftVersion)
		}
		all[strings.TrimSuffix(strings.TrimPrefix(file, "schema/"), ".json")] = s
	}
	return all
}

func shut(doc any) {
	switch d := doc.(type) {
	case map[string]any:
		if _, ok := d["properties"]; ok {
			if _, ok := d["additionalProperties"]; !ok {
				d["additionalProperties"] = false
			}
		}
		for _, v := range d {
			shut(v)
		}
	case []any:
		for _, v := range d {
			shut(v)
		}
	}
}

func valid(s *jsonschema.Schema, data []byte) error {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return s.Validate(doc)
}

// The library is github.com/santhosh-tekuri/jsonschema/v6, which passes the JSON Schema test suite's 2020-12 part.
func TestEveryMessageIsOfItsSchema(t *testing.T) {
	open, closed := schemas(t, false), schemas(t, true)
	for _, m := range everything(t) {
		data, err := Encode(m)
		if err != nil {
			t.Fatal(err)
		}
		name, _ := nameOf(m)
		for _, s := range []*jsonschema.Schema{open[name], closed[name]} {
			if err := valid(s, data); err != nil {
				t.Errorf("%s\n%v", data, err)
			}
		}
	}
	for _, row := range types {
		if open[row.name] == nil {
			t.Errorf("%s has no schema", row.name)
		}
	}
	for _, c := range []struct{ schema, doc string }{
		{"opening", `{"type":"opening","versions":[],"role":"viewer"}`}, {"opening", `{"type":"opening","versions":[1],"role":"owner"}`},
		{"opening", `{"type":"opening","versions":[1],"role":"viewer","x":1}`}, {"snapshot", `{"type":"snapshot","seq":1,"game":"g","now_ns":1}`},
		{"ping", `{"type":"ping","asked_ns":1.5}`}, {"command", `{"type":"command","number":0,"command":{"do":"clock_start"}}`},
		{"event", `{"type":"event","seq":1,"now_ns":1,"event":{"number":1,"at_ns":1,"desk":"","command":{"do":"clock_strat"}}}`},
		{"problem", `{"type":"problem","code":"other","message":""}`}, {"view", `{}`}, {"answer", `{"type":"pong","number":1}`},
	} {
		if valid(open[c.schema], []byte(c.doc)) == nil {
			t.Errorf("%s takes %s", c.schema, c.doc)
		}
	}
}

// What a schema requires of a viewer or a desk is required: left out or null it is refused, by the schema and by who reads.
func TestWhatASchemaRequiresHasToBeThere(t *testing.T) {
	all, desks, tried := schemas(t, false), map[string]bool{}, 0
	for _, row := range types {
		desks[row.name] = row.desk
	}
	for _, m := range everything(t) {
		name, _ := nameOf(m)
		if !desks[name] {
			continue
		}
		data, err := Encode(m)
		if err != nil {
			t.Fatal(err)
		}
		for _, field := range all[name].Required {
			var doc map[string]any
			if err := json.Unmarshal(data, &doc); err != nil {
				t.Fatal(err)
			}
			for _, change := range []func(){func() { doc[field] = nil }, func() { delete(doc, field) }} {
				change()
				without, _ := json.Marshal(doc)
				if _, err := FromDesk(without); err == nil || valid(all[name], without) == nil {
					t.Errorf("%s is taken without %s: %s", name, field, without)
				}
				tried++
			}
		}
	}
	if tried < 30 {
		t.Errorf("%d tried", tried)
	}
}

// Views and events of plausible games by every rule set are of their schemas, with no field that those do not name.
func TestViewsAndEventsOfGamesAreOfTheirSchemas(t *testing.T) {
	all := schemas(t, true)
	verbs := map[engine.Verb]bool{}
	for _, name := range rules.Names() {
		set, _ := rules.ByName(name)
		g, at := enginetest.PlayBy(set, 11, 120)
		whole, err := engine.NewGame(g.Opening())
		if err != nil {
			t.Fatal(err)
		}
		for i, ev := range g.Events() {
			if err := whole.Replay(ev); err != nil {
				t.Fatal(err)
			}
			verbs[ev.Command.Do] = true
			m := Happened{Seq: int64(i + 1), Now: at, Event: ev}
			if i%10 == 0 {
				if m.View, err = json.Marshal(whole.View(ev.At)); err != nil {
					t.Fatal(err)
				}
			}
			data, err := Encode(m)
			if err == nil {
				err = valid(all["event"], data)
			}
			if err != nil {
				t.Fatalf("%s\n%v", data, err)
			}
		}
		data, err := Encode(Snapshot{Game: "g", Now: at, Log: &Log{Setup: g.Opening(), Events: []engine.Event{}}})
		if err == nil {
			err = valid(all["snapshot"], data)
		}
		if err != nil {
			t.Fatalf("%s\n%v", data, err)
		}
	}
	if len(verbs) < 20 {
		t.Errorf("only %d verbs were in these games", len(verbs))
	}
}

// What the engine reads and what the schema takes are one: each verb bare, with a field too many, and with each of
// its fields wrong.
func TestSchemaAndEngineAgreeAboutCommands(t *testing.T) {
	s := schemas(t, false)["game_command"]
	good := map[string]string{
		"team": `"home"`, "points": `2`, "count": `3`, "player": `"12"`, "person": `"coach"`, "for": `"00"`, "foul": `"technical"`, "timeout": `"full"`,
		"hometimeout": `"full"`, "awaytimeout": `"short"`, "only": `"team-only"`, "throws": `"two"`, "clock": `"4:32.1"`, "seconds": `"24"`, "change": `"-0.3"`,
		"period": `"ot2"`, "home": `43`, "away": `38`, "home_fouls": `7`, "away_fouls": `5`, "side": `"off"`, "numbers": `["4","12"]`, "key": `"mercy_lead"`,
		"value": `"35"`, "graphic": `"wall"`, "message": `"Doors open"`, "name": `"Hollow Creek"`, "short": `"HOL"`, "color": `"#b3262e"`, "event": `4`,
	}
	wrong := []string{`null`, `[]`, `{}`, `-1000`, `1.5`, `true`, `"\u0007"`, `"no such word, and too long for any number"`, `["1","1"]`, `""`}
	tried := 0
	for v := engine.NoVerb + 1; v.String() != ""; v++ {
		var fields []string
		for _, name := range v.Fields() {
			name = strings.TrimSuffix(name, "?")
			f, _ := engine.FieldNamed(name)
			if good[name] == "" {
				t.Fatalf("the test knows no value for %s", name)
			}
			fields = append(fields, fmt.Sprintf("%q:%s", f.Key, good[name]))
		}
		if v == engine.Amend {
			fields = append(fields, `"command":{"do":"clock_stop"}`)
		}
		doc := func(fields []string) string {
			return `{"do":"` + v.String() + `"` + strings.Join(append([]string{""}, fields...), ",") + `}`
		}
		docs := []string{doc(fields), doc(nil), doc(append(slices.Clone(fields), `"extra":1`))}
		for i := range fields {
			key, _, _ := strings.Cut(fields[i], ":")
			for _, w := range wrong {
				other := slices.Clone(fields)
				other[i] = key + ":" + w
				docs = append(docs, doc(other))
			}
			docs = append(docs, doc(slices.Delete(slices.Clone(fields), i, i+1)))
		}
		for i, d := range docs {
			var c engine.Command
			read, taken := json.Unmarshal([]byte(d), &c), valid(s, []byte(d))
			if tried++; (read == nil) != (taken == nil) && !finer(d) {
				t.Errorf("%s: the engine says %v, the schema %v", d, read, taken)
			}
			if i == 0 && read != nil {
				t.Errorf("%s: %v", d, read)
			}
		}
	}
	if tried < 500 {
		t.Errorf("%d documents were tried", tried)
	}
}

// finer tells what the engine refuses and no pattern says: control characters in free text.
func finer(doc string) bool { return strings.Contains(doc, `\u0007`) }
