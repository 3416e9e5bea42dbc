package plan

import (
	"fmt"
	"slices"
	"strings"
)

// decoder walks a file's tree and fills a plan, gathering faults as it goes.
type decoder struct {
	plan    Plan
	keys    []Key
	faults  []*Fault
	stopped bool // the file is no plan of this version; the rest means nothing
}

func newDecoder(name string) *decoder {
	d := &decoder{plan: Default(), keys: table()}
	d.plan.file = name
	d.plan.at = map[string]place{}
	return d
}

func (d *decoder) fault(line, column int, path, what, hint string) {
	d.faults = append(d.faults, &Fault{File: d.plan.file, Line: line, Column: column, Path: path, Problem: what, Hint: hint})
}

// find is the key with a path.
func (d *decoder) find(section, name string) (Key, bool) {
	i := slices.IndexFunc(d.keys, func(k Key) bool { return k.Section == section && k.Name == name })
	if i < 0 {
		return Key{}, false
	}
	return d.keys[i], true
}

// top reads the whole file: its version first, then the cover, whose kind
// decides defaults, then all in order.
func (d *decoder) top(root node) {
	switch root.shape {
	case shapeEmpty:
		d.stopped = true
		d.fault(0, 0, "", "the file is empty", "begin with hemrow_plan: 1, or let the program write a starter file")
		return
	case shapeMap:
	default:
		d.stopped = true
		d.fault(root.line, root.column, "", "is no plan file: it has no keys", "begin with hemrow_plan: 1")
		return
	}
	if !d.version(root) {
		d.stopped = true
		return
	}
	for _, p := range root.pairs {
		if p.key == "cover" && p.value.shape == shapeMap {
			if i := indexOf(p.value.pairs, "covering"); i >= 0 {
				d.leaf("cover", p.value.pairs[i])
			}
			break
		}
	}
	d.eachOnce(root.pairs, "", func(p pair) {
		switch {
		case p.key == "plants":
			d.plants(p)
		case isSection(p.key):
			d.section(p)
		default:
			d.leaf("", p)
		}
	})
}

func (d *decoder) version(root node) bool {
	i := indexOf(root.pairs, "hemrow_plan")
	if i < 0 {
		d.fault(root.line, root.column, "hemrow_plan", "is missing", "begin the file with hemrow_plan: 1")
		return false
	}
	before := len(d.faults)
	d.leaf("", root.pairs[i])
	return len(d.faults) == before
}

// eachOnce goes through the keys of a map and refuses repeated ones.
func (d *decoder) eachOnce(pairs []pair, section string, do func(pair)) {
	first := map[string]pair{}
	for _, p := range pairs {
		if f, ok := first[p.key]; ok {
			d.fault(p.line, p.column, pathOf(section, p.key), fmt.Sprintf("is there twice, first on line %d", f.line), "keep one of them")
			continue
		}
		first[p.key] = p
		do(p)
	}
}

func (d *decoder) section(p pair) {
	d.plan.at[p.key] = place{line: p.line, column: p.column}
	switch p.value.shape {
	case shapeEmpty: // every key taken out
	case shapeMap:
		d.eachOnce(p.value.pairs, p.key, func(q pair) {
			if p.key == "cover" && q.key == "covering" {
				return // read first
			}
			d.leaf(p.key, q)
		})
	default:
		d.fault(p.value.line, p.value.column, p.key, "is a section", "put its keys below it, set in by two spaces")
	}
}

func (d *decoder) plants(p pair) {
	d.plan.at[p.key] = place{line: p.line, column: p.column}
	switch p.value.shape {
	case shapeEmpty:
		return
	case shapeList:
	default:
		d.fault(p.value.line, p.value.column, "plants", "is a list", "begin every entry with a dash: - plant: hazel")
		return
	}
	for i, n := range p.value.items {
		section := fmt.Sprintf("plants[%d]", i+1)
		if n.shape != shapeMap {
			d.fault(n.line, n.column, section, "is no plant with keys", "write - plant: hazel, and pitch: 4 m below it")
			continue
		}
		d.plan.at[section] = place{line: n.line, column: n.column}
		d.plan.Rows.Plants = append(d.plan.Rows.Plants, newPlanting())
		index := len(d.plan.Rows.Plants) - 1
		d.eachOnce(n.pairs, section, func(q pair) { d.plantLeaf(section, index, q) })
		for _, need := range [][2]string{{"plant", "plant: hazel"}, {"pitch", "pitch: 4 m"}} {
			if indexOf(n.pairs, need[0]) < 0 {
				d.fault(n.line, n.column, section+"."+need[0], "is missing", "write for example "+need[1])
			}
		}
	}
}

func (d *decoder) plantLeaf(section string, index int, p pair) {
	k, ok := d.find("plants", p.key)
	if !ok {
		d.unknown("plants", section, p)
		return
	}
	d.read(k, section+"."+k.Name, target{&d.plan, index}, p)
}

func (d *decoder) leaf(section string, p pair) {
	k, ok := d.find(section, p.key)
	if !ok {
		d.unknown(section, section, p)
		return
	}
	d.read(k, k.Path(), target{plan: &d.plan}, p)
}

// read sets one key from its node.
func (d *decoder) read(k Key, path string, t target, p pair) {
	if _, done := d.plan.at[path]; done {
		return
	}
	v, bad := valueOf(k, p.value)
	if bad == nil {
		bad = k.codec.read(t, v)
	}
	if bad != nil {
		d.fault(p.value.line, p.value.column, path, bad.what, bad.hint)
	}
	d.plan.at[path] = place{line: p.value.line, column: p.value.column}
}

func valueOf(k Key, n node) (value, *problem) {
	switch n.shape {
	case shapeScalar:
		return value{text: n.text}, nil
	case shapeEmpty:
		if k.Kind == KindPaths {
			return value{many: true}, nil
		}
		return value{}, &problem{"has no value", "write one, or take the key away for its default"}
	case shapeList:
		v := value{many: true}
		for _, item := range n.items {
			if item.shape != shapeScalar {
				return value{}, &problem{"is a list of lists or keys", "write one value for each entry"}
			}
			v.list = append(v.list, item.text)
		}
		return v, nil
	default:
		return value{}, &problem{"has keys below it", "write one value"}
	}
}

// unknown refuses a key and says where it may belong or what it may mean.
func (d *decoder) unknown(section, shown string, p pair) {
	var here []string
	for _, k := range d.keys {
		if k.Section == section {
			here = append(here, k.Name)
		}
	}
	if section == "" {
		for _, s := range sections() {
			here = append(here, s[0])
		}
	}
	hint := "keys here: " + oneOf(here)
	if other, ok := d.elsewhere(p.key); ok {
		hint = fmt.Sprintf("%s belongs in %s", p.key, other)
	} else if near := nearest(p.key, here); near != "" {
		hint = fmt.Sprintf("did you mean %s?", near)
	} else if k, ok := d.nearestAnywhere(p.key); ok {
		hint = fmt.Sprintf("did you mean %s?", k.Path())
	}
	key := p.key
	if len(key) > longestText {
		key = key[:longestText]
	}
	d.fault(p.line, p.column, pathOf(shown, strings.ToValidUTF8(key, "")), "is no key of a plan", hint)
}

// elsewhere finds a key of this name in another section.
func (d *decoder) elsewhere(name string) (string, bool) {
	for _, k := range d.keys {
		if k.Name == name && k.Section != "" && k.Name != "rows" {
			return "section " + k.Section, true
		}
		if k.Name == name && k.Section == "" {
			return "no section, at the start of a line", true
		}
	}
	return "", false
}

func (d *decoder) nearestAnywhere(name string) (Key, bool) {
	var all []string
	for _, k := range d.keys {
		all = append(all, k.Name)
	}
	near := nearest(name, all)
	i := slices.Index(all, near)
	if near == "" || i < 0 {
		return Key{}, false
	}
	return d.keys[i], true
}

func isSection(name string) bool {
	return slices.ContainsFunc(sections(), func(s [2]string) bool { return s[0] == name })
}

func indexOf(pairs []pair, key string) int {
	return slices.IndexFunc(pairs, func(p pair) bool { return p.key == key })
}

func pathOf(section, name string) string {
	if section == "" {
		return name
	}
	return section + "." + name
}
