package field

import (
	"context"
	"errors"
	"fmt"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// Report is what a file holds, for people who want to know before they plan.
type Report struct {
	File     string
	Format   string
	Declared string // the reference system in the file's own words
	Features []FeatureReport
	Notes    geo.Notes // of reading the file
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
	Faults     []Fault
	Repairs    geo.Notes // what building a field would change or say
	Refused    error     // why it would be refused, nil if it would not
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

// Look reports on every feature of a file. Bad geometry is reported, never an
// error; if ctx ends, the report ends with the features seen.
func Look(ctx context.Context, file format.File) Report {
	r := Report{File: file.Name, Format: file.Format, Declared: file.Reference.Declared, Notes: file.Notes}
	b := builder{ctx: ctx}
	for i := range file.Features {
		if ctx.Err() != nil {
			return r
		}
		r.Features = append(r.Features, b.look(&file, &file.Features[i]))
	}
	return r
}

// look reports on one feature with a builder of its own.
func (b *builder) look(file *format.File, f *format.Feature) FeatureReport {
	r := FeatureReport{Number: f.Number, ID: f.ID, Name: f.Name, Parts: len(f.Polygons), Lines: len(f.Lines), Points: len(f.Points)}
	for _, l := range f.Lines {
		r.Vertices += len(l)
	}
	r.Vertices += len(f.Points)
	own := builder{ctx: b.ctx, spec: b.spec}
	own.spec.Strict = false
	var chosen []part
	for k, rings := range f.Polygons {
		w := where{file: file.Name, feature: f}
		if len(f.Polygons) > 1 {
			w.part = k + 1
		}
		chosen = append(chosen, part{w, rings})
		r.Holes += max(0, len(rings)-1)
		for _, ring := range rings {
			r.Vertices += openLen(ring)
		}
	}
	if len(chosen) == 0 {
		r.Refused = noOutline(file, []*format.Feature{f})
		return r
	}
	if r.Refused = own.reference(file); r.Refused != nil {
		return r
	}
	if r.Refused = own.setFrame(file, chosen); r.Refused != nil {
		return r
	}
	own.measure(file, &r, chosen)
	r.Repairs = own.notes
	return r
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
		s += fmt.Sprintf(", with %s vertex %d", ringName(f.OtherHole), f.OtherVertex)
	}
	if f.Unit != "" {
		s += fmt.Sprintf(" (%.4g %s)", f.Value, f.Unit)
	}
	return s
}
