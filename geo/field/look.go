package field

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// Report is what a file holds, for people who want to know before they plan.
type Report struct {
	File     string
	Format   string
	System   string // of its coordinates, in words
	Features []FeatureReport
	Notes    geo.Notes // of reading the file and placing it on the earth
	Refused  error     // why no feature of the file could be placed, nil if they can
}

// FeatureReport is what one feature holds.
type FeatureReport struct {
	Number   int
	ID       string
	Name     string
	Parts    int // polygons
	Holes    int
	Vertices int // of polygons, closing vertices not counted; of lines and points all
	Lines    int
	Points   int
	// Middle is where the frame would be centred, EastM and NorthM the size of
	// the box around; all zero if the positions are refused.
	Middle        geo.LonLat
	EastM, NorthM float64
	// AreaM2 is on the ellipsoid, PerimeterM horizontal, both after repair;
	// where a part cannot be repaired it counts as drawn.
	AreaM2     float64
	PerimeterM float64
	// HeightCount positions have a usable height, from LowestM to HighestM.
	HeightCount       int
	LowestM, HighestM float64
	Faults            []Fault
	Repairs           geo.Notes // what building a field would change or say
	Refused           error     // why it would be refused, nil if it would not
}

// Fault is one thing wrong with a polygon and where; numbers count from 1,
// Part and Hole 0 where there is none.
type Fault struct {
	Part, Hole, Vertex     int
	OtherHole, OtherVertex int // the second edge; OtherVertex 0 if none
	At                     geo.LonLat
	Problem                string
	Value                  float64 //unit:see Unit
	Unit                   string
}

// Look reports on every feature of a file as spec would have it read. Bad
// geometry is reported, never an error; if ctx ends, the report ends with the
// features seen.
func Look(ctx context.Context, file format.File, spec Spec) Report {
	r := Report{File: file.Name, Format: file.Format, Notes: file.Notes}
	b := builder{ctx: ctx, spec: spec}
	located, notes, err := Locate(file, spec)
	if r.Notes = append(slices.Clone(r.Notes), notes...); err != nil {
		r.Refused = err
	}
	r.System = systemWords(file.Reference, located.Reference, err)
	file = located
	b.swap, b.turns = spec.SwapAxes && !file.Turned, file.Format == format.GeoJSON
	b.lost = err != nil
	b.heightM = unitOfHeights(&file, spec)
	for i := range file.Features {
		if ctx.Err() != nil {
			return r
		}
		r.Features = append(r.Features, b.look(&file, &file.Features[i]))
	}
	return r
}

// systemWords says in which system a file is: as it declares, and as it was
// read.
func systemWords(declared, read format.Reference, err error) string {
	switch {
	case err != nil && declared.Declared != "":
		return fmt.Sprintf("said to be %q", declared.Declared)
	case err != nil:
		return "not known"
	case declared.WGS84 && declared.Declared == "":
		return "WGS84 longitude and latitude, by the format"
	case declared.WGS84, read.Declared == "":
		return cmp.Or(declared.Declared, "taken as WGS84 longitude and latitude")
	}
	return read.Declared
}

// look reports on one feature with a builder of its own.
func (b *builder) look(file *format.File, f *format.Feature) FeatureReport {
	r := FeatureReport{Number: f.Number, ID: f.ID, Name: f.Name, Parts: len(f.Polygons), Lines: len(f.Lines), Points: len(f.Points)}
	for _, l := range f.Lines {
		r.Vertices += len(l)
	}
	r.Vertices += len(f.Points)
	own := builder{ctx: b.ctx, spec: b.spec, swap: b.swap, turns: b.turns, heightM: b.heightM}
	own.spec.Strict, own.spec.Choose = false, ""
	r.heights(f)
	if !b.lost && len(f.Polygons) == 0 {
		g, err := own.asOutline(file, f)
		if err != nil && r.surveys() {
			return r // heights, and no outline
		}
		if r.Refused = err; err != nil {
			return r
		}
		f = g
	}
	var chosen []part
	for k, rings := range f.Polygons {
		w := where{file: file.Name, feature: f}
		if len(f.Polygons) > 1 {
			w.part = k + 1
		}
		chosen = append(chosen, part{w, asMeant(file, rings)})
		r.Holes += max(0, len(rings)-1)
		for _, ring := range rings {
			if r.Lines+r.Points == 0 {
				r.Vertices += openLen(ring)
			}
		}
	}
	if len(chosen) == 0 && (b.lost || r.surveys()) {
		return r
	}
	if len(chosen) == 0 {
		r.Refused = noOutline(file, []*format.Feature{f})
		return r
	}
	if b.lost {
		return r // the file as a whole is refused
	}
	if r.Refused = own.setFrame(file, chosen); r.Refused != nil {
		return r
	}
	own.measure(file, &r, chosen)
	r.Repairs = own.notes
	return r
}

// asOutline is a feature without an area as the outline it may mean.
func (b *builder) asOutline(file *format.File, f *format.Feature) (*format.Feature, error) {
	cand, err := b.shaped(file, []*format.Feature{f})
	if err != nil || len(cand) == 0 {
		return f, err
	}
	return cand[0], nil
}

// surveys reports whether the feature is points with heights.
func (r *FeatureReport) surveys() bool {
	return r.Parts == 0 && r.Points > 2 && r.HeightCount > 0
}

// heights finds the range of the heights of a feature.
func (r *FeatureReport) heights(f *format.Feature) {
	see := func(cs []format.Coord) {
		for _, c := range cs {
			if !(c.Z >= lowestM && c.Z <= highestM) {
				continue
			}
			if r.HeightCount == 0 {
				r.LowestM, r.HighestM = c.Z, c.Z
			}
			r.HeightCount++
			r.LowestM, r.HighestM = min(r.LowestM, c.Z), max(r.HighestM, c.Z)
		}
	}
	for _, p := range f.Polygons {
		for _, ring := range p {
			see(ring[:openLen(ring)])
		}
	}
	for _, l := range f.Lines {
		see(l)
	}
	see(f.Points)
}

func openLen(r format.Ring) int {
	if n := len(r); n > 1 && r[0].X == r[n-1].X && r[0].Y == r[n-1].Y {
		return n - 1
	}
	return len(r)
}

// measure fills in what needs the frame.
func (b *builder) measure(file *format.File, r *FeatureReport, chosen []part) {
	var all orb.Bound
	for k, p := range chosen {
		q := b.project(p.rings)
		if k == 0 {
			all = q.Bound()
		}
		all = all.Union(q.Bound())
		for _, f := range polygon.Faults(q) {
			r.Faults = append(r.Faults, b.fault(p.where, f))
		}
		parts, _, err := polygon.Repair(q, polygon.Options{SplitCrossings: b.spec.SplitCrossings})
		if err != nil {
			parts = []orb.Polygon{q}
		}
		for _, s := range parts {
			r.AreaM2 += b.frame.AreaM2(s)
			for _, ring := range s {
				r.PerimeterM += b.frame.AroundM(ring)
			}
		}
	}
	r.Middle, r.EastM, r.NorthM = b.frame.Origin(), all.Max[0]-all.Min[0], all.Max[1]-all.Min[1]
	blocks, err := b.blocks(chosen)
	if err != nil {
		r.Refused = err
		return
	}
	if r.Refused = b.sizes(file, chosen, blocks); r.Refused != nil {
		return
	}
	b.heights(chosen)
}

func (b *builder) fault(w where, f polygon.Fault) Fault {
	out := Fault{
		Part: w.part, Hole: f.Ring, Vertex: f.Vertex + 1, At: b.frame.ToLonLat(f.At),
		Problem: f.Kind.String(), Value: f.Value, Unit: f.Unit,
	}
	if f.OtherVertex >= 0 {
		out.OtherHole, out.OtherVertex = f.OtherRing, f.OtherVertex+1
	}
	return out
}

// Errors takes an error of [Build] apart into the input errors it joins;
// other errors are left out.
func Errors(err error) (out []*geo.InputError) {
	var one *geo.InputError
	switch e := err.(type) { //nolint:errorlint // walks the joined tree itself
	case nil:
		return nil
	case interface{ Unwrap() []error }:
		for _, x := range e.Unwrap() {
			out = append(out, Errors(x)...)
		}
		return out
	}
	if errors.As(err, &one) {
		out = append(out, one)
	}
	return out
}

// String is the fault on one line.
func (f Fault) String() string {
	e := geo.InputError{Part: f.Part, Hole: f.Hole, Vertex: f.Vertex, At: &f.At}
	s := e.Place() + ": " + f.Problem
	if f.OtherVertex > 0 {
		s += fmt.Sprintf(", the other side is the one from vertex %d of %s", f.OtherVertex, ringName(f.OtherHole))
	}
	if f.Unit != "" {
		s += fmt.Sprintf(" (%.4g %s)", f.Value, f.Unit)
	}
	return s
}
