package journal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
)

// maxNames bounds one object, since each name is compared with all before it.
const maxNames = 512

// checkNames refuses what RFC 8259 leaves open and encoding/json decides silently: a name that an object holds
// twice (the last would win) and one in capitals (it would match all the same). It bounds the depth too.
func checkNames(text []byte) (problem string) {
	in := json.NewDecoder(bytes.NewReader(text))
	in.UseNumber()
	type object struct {
		names    []string
		isArray  bool
		wantName bool
	}
	var open []object
	for {
		token, err := in.Token()
		if err != nil {
			return "it is not JSON: " + err.Error()
		}
		var top *object
		if len(open) > 0 {
			top = &open[len(open)-1]
		}
		if name, ok := token.(string); ok && top != nil && top.wantName {
			if strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
				return fmt.Sprintf("the name %.80q is not in small letters", name)
			}
			if slices.Contains(top.names, name) {
				return fmt.Sprintf("it names %.80q twice", name)
			}
			if len(top.names) == maxNames {
				return fmt.Sprintf("an object holds more than %d names", maxNames)
			}
			top.names = append(top.names, name)
			top.wantName = false
			continue
		}
		if top != nil && !top.isArray {
			top.wantName = true // after this value
		}
		switch token {
		case json.Delim('{'), json.Delim('['):
			if len(open) == maxDepth {
				return fmt.Sprintf("it is nested deeper than %d", maxDepth)
			}
			open = append(open, object{isArray: token == json.Delim('['), wantName: token == json.Delim('{')})
		case json.Delim('}'), json.Delim(']'):
			open = open[:len(open)-1]
		}
		if len(open) == 0 {
			return ""
		}
	}
}
