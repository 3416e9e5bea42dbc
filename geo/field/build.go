package field

import (
	"context"
	"errors"
	"fmt"
	"path"
	"strings"

	"hemrow/geo"
	"hemrow/geo/crs"
	"hemrow/geo/format"
)

// Spec says how features become a field. The zero Spec takes the only polygon
// of the outline file as it is.
type Spec struct {
	// CRS is the reference system of the outline, as EPSG:25832 or as
	// well-known text; "" follows the file. Files of obstacles follow it only
	// where they are silent.
	CRS string
	// DatumGrid replaces a published datum shift by a surveyed grid; nil for none.
	DatumGrid *crs.Grid
	// Choose is the name, ID or number (from 1) of the feature that is the
	// field; "all" makes every polygon feature a block; "" takes the only one.
	Choose string
	// ObstacleMark is "property=value" or "property": features of the outline
	// file so marked are obstacles.
	ObstacleMark string
	// HeightUnitM is the size of the unit of heights in metres, whatever the
	// file says; 0 follows it.
	HeightUnitM float64
	// SwapAxes reads every position as latitude, longitude, or as northing,
	// easting.
	SwapAxes bool
	// CloseLines takes closed or nearly closed lines as outlines.
	CloseLines bool
	// SplitCrossings splits an outline that crosses itself into parts.
	SplitCrossings bool
	// Terrain says that a survey of heights follows ([Terrain]), so that heights
	// on the outline need not be spoken of.
	Terrain bool
	// keyCRS is the plan's key for CRS, "" for crs; near is where the file is
	// expected, nil unknown. Both serve hints.
	keyCRS string
	near   *geo.LonLat
	// Strict refuses whatever would be repaired.
	Strict bool
}

// UsualMark is the obstacle mark of a plan that names none. A file without it
// is nothing to speak of.
const UsualMark = "keep=clear"

// Build makes the field that the outline file and the obstacle files mean.
//
// Coordinates in national grids are brought to longitude and latitude first
// (see [Locate]). The frame is centred on the box of the chosen outline. If vertices carry
// heights, their mean sets the frame's ground factor. Each polygon of the
// chosen feature, or of all features, is a block; each repair, rounding and
// oddity is a note with its place and size. Blocks narrower gaps apart than
// 0.5 m are noted, overlapping ones refused unless the overlap is no wider
// than the rounding of the file.
//
// Errors are *[geo.InputError], several joined with errors.Join, or ctx's.
// Inputs are not changed.
func Build(ctx context.Context, outline format.File, obstacles []format.File, spec Spec) (geo.Field, geo.Notes, error) {
	b := builder{ctx: ctx, spec: spec}
	outline, obstacles, err := b.locate(outline, obstacles)
	if err != nil {
		return geo.Field{}, nil, err
	}
	chosen, marked, err := b.choose(&outline)
	if err != nil {
		return geo.Field{}, nil, err
	}
	if err := b.setFrame(&outline, chosen); err != nil {
		return geo.Field{}, nil, err
	}
	blocks, err := b.blocks(chosen)
	if err != nil {
		return geo.Field{}, nil, err
	}
	if err := b.sizes(&outline, chosen, blocks); err != nil {
		return geo.Field{}, nil, err
	}
	b.heights(chosen)
	b.planted(&outline, blocks)
	obs, err := b.obstacles(marked, obstacles, blocks)
	if err != nil {
		return geo.Field{}, nil, err
	}
	f := geo.Field{Name: fieldName(&outline, chosen), Frame: b.frame, Blocks: blocks, Obstacles: obs}
	return f, b.notes, nil
}

// builder carries one Build.
type builder struct {
	ctx     context.Context
	spec    Spec
	swap    bool    // the file in hand has latitude first
	heightM float64 // size of the unit of the outline's heights, 1 where they were brought to metres
	turns   bool    // the format says which way rings turn
	lost    bool    // nobody knows where on the earth the file is
	frame   geo.Frame
	rest    []*format.Feature // of the outline file, neither chosen nor marked
	notes   geo.Notes
	errs    []error
}

// locate brings all files to longitude and latitude. A system that the user
// names is that of the outline; other files keep their own if they have one.
func (b *builder) locate(outline format.File, obstacles []format.File) (format.File, []format.File, error) {
	outline, notes, err := Locate(outline, b.spec)
	b.notes = append(b.notes, notes...)
	if err != nil {
		return outline, nil, err
	}
	b.swap = b.spec.SwapAxes && !outline.Turned
	b.turns = outline.Format == format.GeoJSON
	b.heightM = unitOfHeights(&outline, b.spec)
	out := make([]format.File, len(obstacles))
	for i, f := range obstacles {
		if out[i], notes, err = Locate(f, b.spec.beside(f)); err != nil {
			return outline, nil, err
		}
		b.notes = append(b.notes, notes...)
	}
	return outline, out, nil
}

// beside is the spec for a file other than the outline: its own words on its
// system come before those of the user.
func (s Spec) beside(f format.File) Spec {
	if !f.Reference.Silent() {
		s.CRS = ""
	}
	return s
}

// part is one polygon of a file, still as written, and where it stands.
type part struct {
	where
	rings format.Polygon
}

// where is a place in a file.
type where struct {
	file    string
	feature *format.Feature
	part    int  // from 1; 0 if the feature has only one
	turned  bool // the file's positions were brought to longitude and latitude
}

// input starts an error at the place. hole and vertex count from 1, 0 unsaid.
func (w where) input(hole, vertex int, at *geo.LonLat) *geo.InputError {
	e := &geo.InputError{File: w.file, Part: w.part, Hole: hole, Vertex: vertex, At: at}
	if w.feature != nil {
		e.Line, e.Feature, e.Name = w.feature.Line, w.feature.Number, w.feature.Name
	}
	return e
}

// place is the place in words for a note.
func (w where) place(hole, vertex int, at *geo.LonLat) string {
	p := w.input(hole, vertex, at).Place()
	switch {
	case w.file == "":
		return p
	case p == "":
		return w.file
	}
	return w.file + ": " + p
}

func (b *builder) note(n geo.Note) { b.notes = append(b.notes, n) }

// joined is the errors gathered so far as one, nil for none.
func (b *builder) joined() error {
	if len(b.errs) == 1 {
		return b.errs[0]
	}
	return errors.Join(b.errs...)
}

// fieldName is the name of the chosen feature, or that of the file where it has
// none or several are chosen.
func fieldName(f *format.File, chosen []part) string {
	first := chosen[0].feature
	name := featureName(first)
	for _, p := range chosen {
		if p.feature != first {
			name = "field"
		}
	}
	if name != "field" {
		return name
	}
	base := path.Base(strings.ReplaceAll(f.Name, `\`, "/"))
	if base = strings.TrimSuffix(base, path.Ext(base)); base == "." || base == "" || base == "-" {
		return name
	}
	if n := first.Number; len(f.Features) > 1 && chosen[len(chosen)-1].feature == first {
		base += fmt.Sprintf(" %d", n)
	}
	return base
}

func featureName(f *format.Feature) string {
	switch {
	case f.Name != "":
		return f.Name
	case f.ID != "":
		return f.ID
	}
	return "field"
}
