package toml

import (
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// node holds the places of a key, its value and all below it.
type node struct {
	name       string
	key, value int // where they start, in bytes
	children   []*node
	index      map[string]*node // by folded name
	items      []*node          // of an array
}

func (n *node) child(name string) *node {
	if c := n.index[strings.ToLower(name)]; c != nil && c.name == name {
		return c
	}
	return nil
}

// places walks the syntax tree, which the decoder has accepted already, and notes where everything stands.
// The decoder takes Name and name for two keys, a struct for one: both are refused here.
func (d *document) places() *node {
	root := &node{}
	current := root
	var p unstable.Parser
	p.Reset(d.data)
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table:
			current = d.descend(root, e.Key(), false)
		case unstable.ArrayTable:
			current = d.descend(root, e.Key(), true)
		case unstable.KeyValue:
			d.keyValue(current, e)
		}
	}
	return root
}

// descend follows a header; through an array it goes to the last item, and [[x]] begins a new one.
func (d *document) descend(from *node, key unstable.Iterator, array bool) *node {
	for key.Next() {
		part := key.Node()
		last := key.IsLast()
		from = d.add(from, part)
		switch {
		case last && array:
			item := &node{key: from.key, value: from.key}
			item.key = int(part.Raw.Offset)
			item.value = item.key
			from.items = append(from.items, item)
			from = item
		case len(from.items) > 0:
			from = from.items[len(from.items)-1]
		}
	}
	return from
}

func (d *document) keyValue(table *node, e *unstable.Node) {
	end := 0
	for key := e.Key(); key.Next(); {
		part := key.Node()
		table = d.add(table, part)
		end = int(part.Raw.Offset + part.Raw.Length)
	}
	// The tree does not say where a list begins: behind the equals sign.
	for end < len(d.data) && strings.IndexByte(" \t=", d.data[end]) >= 0 {
		end++
	}
	table.value = end
	d.value(table, e.Value())
}

func (d *document) value(n *node, v *unstable.Node) {
	if v.Raw.Length > 0 {
		n.value = int(v.Raw.Offset)
	}
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.Comment {
				continue
			}
			item := &node{key: n.key, value: n.value}
			n.items = append(n.items, item)
			d.value(item, it.Node())
			item.key = item.value
		}
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.KeyValue {
				d.keyValue(n, it.Node())
			}
		}
	}
}

// add returns the child of that name, made if it is new. The value's place is the key's until it is known.
func (d *document) add(parent *node, part *unstable.Node) *node {
	name, at := string(part.Data), int(part.Raw.Offset)
	folded := strings.ToLower(name)
	n := parent.index[folded]
	if n != nil && n.name == name {
		return n
	}
	if n != nil {
		row, _, _ := locate(d.data, n.key)
		d.refuse(at, "key %q differs from %q in row %d only in capitals", name, n.name, row)
	}
	fresh := &node{name: name, key: at, value: at}
	if parent.index == nil {
		parent.index = map[string]*node{}
	}
	parent.index[folded] = fresh
	parent.children = append(parent.children, fresh)
	return fresh
}
