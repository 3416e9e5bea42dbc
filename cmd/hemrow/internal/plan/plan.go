package plan

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/materials"
	"hemrow/rows"
)

// Plan is everything a grower decides, in SI.
type Plan struct {
	Name      string
	Units     Units // of printed results
	Field     FieldSection
	Terrain   TerrainSection
	Rows      rows.Spec
	Materials materials.Spec

	file string           // plan file, for faults
	at   map[string]place // where each key given was given, by path
}

// FieldSection says where the ground is described and how to read it.
type FieldSection struct {
	// Outline and Obstacles are paths as the plan file has them: relative to
	// the plan file.
	Outline   string
	Obstacles []string
	// Choose is a feature's name, id or number, or all; "" for the only one.
	Choose string
	// CRS names the outline's reference system, DatumGrid a file of datum
	// shifts, Layer a layer of an archive, Columns those of a list of points;
	// all may be "".
	CRS, DatumGrid, Layer, Columns string
	// ObstacleMark is property=value or property; features with it are obstacles.
	ObstacleMark   string
	SwapAxes       bool
	CloseLines     bool
	SplitCrossings bool
	Strict         bool
}

// TerrainSection says where the heights of the ground are.
type TerrainSection struct {
	Heights    []string
	BreakLines []string
	CRS        string
	Columns    string
	Unit       string // m, ft, us survey ft or ""
	Between    string // bilinear or bicubic
	// LongestSideM is the longest side of a triangle at the rim, 0 for the usual.
	LongestSideM float64
}

// Input is a file that the plan names. Typed says that a flag named it, so that
// it is seen from where the program runs and not from the plan file's folder.
type Input struct {
	Name  string
	Typed bool
}

// Inputs are all files that the plan names, in the order of its keys.
func (p Plan) Inputs() []Input {
	var list []Input
	add := func(key string, names ...string) {
		for _, n := range names {
			if n != "" {
				list = append(list, Input{n, p.at[key].flag})
			}
		}
	}
	add("field.outline", p.Field.Outline)
	add("field.datum_grid", p.Field.DatumGrid)
	add("field.obstacles", p.Field.Obstacles...)
	add("terrain.heights", p.Terrain.Heights...)
	add("terrain.break_lines", p.Terrain.BreakLines...)
	return list
}

// Rename changes the names of all files that the plan names.
func (p *Plan) Rename(name func(string) string) {
	one := func(s *string) {
		if *s != "" {
			*s = name(*s)
		}
	}
	one(&p.Field.Outline)
	one(&p.Field.DatumGrid)
	for _, list := range []*[]string{&p.Field.Obstacles, &p.Terrain.Heights, &p.Terrain.BreakLines} {
		*list = slices.Clone(*list)
		for i := range *list {
			one(&(*list)[i])
		}
	}
}

// HeightUnitM is the size of the unit of heights in metres, 0 unsaid.
func (t TerrainSection) HeightUnitM() float64 { //unit:metres
	switch t.Unit {
	case "m":
		return 1
	case "ft":
		return geo.FootM
	case "us survey ft":
		return geo.SurveyFootM
	}
	return 0
}

func heightUnits() []string { return []string{"", "m", "ft", "us survey ft"} }

// place is where a value was given.
type place struct {
	line, column int
	flag         bool // on the command line instead
}

// Default is the plan of a file with no key but its version. The field has no
// outline. Defaults that are not those of rows and materials are common
// practice, no source.
func Default() Plan {
	p := Plan{Rows: rows.DefaultSpec(), Materials: materials.DefaultSpec(materials.OneSheet)}
	p.Rows.SpacingM = 5
	p.Field.ObstacleMark = field.UsualMark
	p.Terrain.Between = "bilinear"
	return p
}

// newPlanting is an entry of section plants before its keys are read.
func newPlanting() rows.Planting { return rows.Planting{StartM: 1, Every: 1, From: 1} }

// Parse reads a plan file; name is used in faults. Keys that are left out have
// the defaults of [Default], those of the cover by its kind. All faults of the
// file come at once, joined, each a [*Fault] with line and column: what is no
// YAML, unknown and repeated keys, values without a unit or with a wrong one,
// and what the specs themselves refuse. A missing outline is left to
// [Plan.Validate], since a flag may give it. On an error the plan is of no use.
func Parse(name string, data []byte) (Plan, error) {
	root, faults := readTree(name, data)
	if len(faults) > 0 {
		return Plan{}, join(faults)
	}
	d := newDecoder(name)
	d.top(root)
	if !d.stopped {
		d.faults = append(d.faults, d.plan.specFaults(d.faults)...)
	}
	if len(d.faults) > 0 {
		return Plan{}, join(d.faults)
	}
	return d.plan, nil
}

// Override sets one key as its command-line flag does: first_row or first-row,
// with a value as a plan file would have it. The error is a [*Fault] that names
// the flag; the plan is then as before.
func (p *Plan) Override(key, val string) error {
	name := strings.ReplaceAll(key, "-", "_")
	fault := &Fault{Flag: strings.ReplaceAll(key, "_", "-")}
	k, ok := findKey(name)
	if !ok {
		fault.Problem = "is no key of a plan"
		if near := nearest(name, flagNames()); near != "" {
			fault.Hint = "did you mean --" + strings.ReplaceAll(near, "_", "-") + "?"
		}
		return fault
	}
	if !k.Flag {
		fault.Problem = "cannot be set by a flag"
		fault.Hint = "write " + k.Path() + " in the plan file"
		return fault
	}
	v := value{text: val}
	if k.Kind == KindPaths && strings.HasPrefix(strings.TrimSpace(val), "[") {
		list, bad := readList(val)
		if bad != nil {
			fault.Problem, fault.Hint = bad.what, bad.hint
			return fault
		}
		v = value{list: list, many: true}
	}
	if bad := k.codec.read(target{plan: p}, v); bad != nil {
		fault.Problem, fault.Hint = bad.what, bad.hint
		return fault
	}
	p.mark(k.Path(), place{flag: true})
	return nil
}

// mark records where a key was given. Plans are values, so the map is not
// shared.
func (p *Plan) mark(path string, at place) {
	p.at = maps.Clone(p.at)
	if p.at == nil {
		p.at = map[string]place{}
	}
	p.at[path] = at
}

// changeCover brings the defaults of a kind of cover, and keeps what was
// given before.
func (p *Plan) changeCover(kind materials.CoverKind) {
	before := *p
	p.Materials = materials.DefaultSpec(kind)
	for _, k := range table() {
		if _, given := p.at[k.Path()]; given && k.ofMaterials() && k.Name != "covering" {
			k.codec.read(target{plan: p}, value{text: k.codec.write(target{plan: &before})})
		}
	}
}

func (k Key) ofMaterials() bool {
	switch k.Section {
	case "cover", "trench", "seam", "chips", "tape":
		return true
	}
	return false
}

// Validate returns all faults of the plan at once, joined, each a [*Fault]
// with the place where its key was given: what the specs of rows and materials
// refuse, and a missing outline.
func (p Plan) Validate() error {
	faults := p.specFaults(nil)
	if p.Field.Outline == "" {
		faults = append(faults, p.locate("field.outline", "names no file", "write the path of a GeoJSON, shapefile, KML or other file, seen from the plan file's folder"))
	}
	return join(faults)
}

// RowSpec is what the plan says of rows, with the widths that follow from the
// cover.
func (p Plan) RowSpec() rows.Spec {
	s := p.Rows
	s.Curving.FilmM, s.Curving.BedM = 0, p.Materials.CoveredM()
	switch p.Materials.Cover {
	case materials.OneSheet, materials.TwoSheet:
		s.Curving.FilmM = p.Materials.Film.WidthM
	case materials.Chips:
		s.Curving.BedM = p.Materials.Chips.WidthM
	}
	return s
}

// specFaults are the faults that the specs find, less those of keys that have
// one already.
func (p Plan) specFaults(known []*Fault) []*Fault {
	had := map[string]bool{}
	for _, f := range known {
		had[f.Path] = true
	}
	var out []*Fault
	for _, e := range append(leaves(p.RowSpec().Validate()), leaves(p.Materials.Validate())...) {
		path, what := "", e.Error()
		var r *rows.SpecFault
		var m *materials.Fault
		switch {
		case errors.As(e, &r):
			path, what = fromOne(r.Path), r.Problem
		case errors.As(e, &m):
			path, what = m.Path, m.Problem
		}
		out = append(out, p.locate(path, what, ""))
	}
	if l := p.Terrain.LongestSideM; l != 0 && !(l >= 0.1 && l <= 1e4) {
		out = append(out, p.locate("terrain.longest_side", fmt.Sprintf("must be from 0.1 to 10000 m, is %g", l), ""))
	}
	kept := out[:0]
	for _, f := range out {
		if !had[f.Path] {
			kept = append(kept, f)
		}
	}
	return kept
}

// fromOne turns plants[0].pitch to plants[1].pitch: growers count from one.
func fromOne(path string) string {
	var i int
	var rest string
	if n, _ := fmt.Sscanf(path, "plants[%d].%s", &i, &rest); n == 2 {
		return fmt.Sprintf("plants[%d].%s", i+1, rest)
	}
	return path
}

// locate makes a fault with the place where its key, or at least its entry in
// a list, was given.
func (p Plan) locate(path, what, hint string) *Fault {
	f := &Fault{File: p.file, Path: path, Problem: what, Hint: hint}
	for key := path; key != ""; {
		if at, ok := p.at[key]; ok {
			if at.flag {
				f.File, f.Flag = "", strings.ReplaceAll(path[strings.LastIndex(path, ".")+1:], "_", "-")
			}
			f.Line, f.Column = at.line, at.column
			break
		}
		cut := strings.LastIndex(key, ".")
		if cut < 0 {
			break
		}
		key = key[:cut]
	}
	return f
}

// findKey finds a key by its name or by its path.
func findKey(name string) (Key, bool) {
	for _, k := range table() {
		if k.Name == name || k.Path() == name {
			return k, true
		}
	}
	return Key{}, false
}

func flagNames() (names []string) {
	for _, k := range table() {
		if k.Flag {
			names = append(names, k.Name)
		}
	}
	return names
}

// Locate gives a fault that only the field brought to light the place of its
// key in the plan file or the flag that set it.
func (p Plan) Locate(f *rows.SpecFault) error { return p.locate(fromOne(f.Path), f.Problem, "") }
