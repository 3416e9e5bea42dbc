package report

import (
	"bytes"
	"math"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/format/geojson"
)

// RowsGeoJSON is the layout for other programs, as [geojson.Write] writes it
// (RFC 7946, 2016): WGS84, nine decimals, one feature on each line, what lies
// over the antimeridian cut there. Each feature has a property kind: boundary,
// working-area, obstacle, row, break or guide, in this order. A break is a
// place where a row that follows the land is broken: gap_m of it are taken out,
// and asked_radius_m is the radius that the ground asks for there, null where
// the gap only opens a row that would run in a ring. A guide is the curve of a
// block for a receiver that repeats one at spacing_m: its passes first_pass to
// last_pass, positive to the left of the direction in which the guide is
// written, lie within worst_m of the rows planned there, and serve served_pct
// of the length of the block's rows; where last_pass is below first_pass it
// serves none. A feature that the standard cannot hold, such as a ring around
// a pole, keeps its name, has no geometry and says why in a property fault.
func RowsGeoJSON(d result.Document) []byte {
	list := append(areaFeatures(d), rowFeatures(d)...)
	list = append(list, breakFeatures(d)...)
	list = append(list, guideFeatures(d)...)
	for i, f := range list {
		if err := f.Check(); err != nil {
			keep := f.Properties[:2:2] // kind and name, which are text
			list[i] = geojson.OutFeature{Properties: append(keep, geojson.Property{Key: "fault", Value: err.Error()})}
		}
	}
	var b bytes.Buffer
	_ = geojson.Write(&b, list) // a buffer takes every write, and every feature was checked
	return b.Bytes()
}

// areaFeatures are outlines, working areas and obstacles.
func areaFeatures(d result.Document) (list []geojson.OutFeature) {
	for _, b := range d.Blocks {
		list = append(list, feature("boundary", b.Name, polygons(b.Outline),
			property("field", d.Field.Name), property("area_m2", b.AreaM2), property("perimeter_m", b.PerimeterM), property("style", b.Style)))
	}
	for _, b := range d.Blocks {
		if len(b.WorkingArea) == 0 {
			continue
		}
		f := feature("working-area", b.Name, polygons(b.WorkingArea...))
		if b.WorkingAreaM2 != nil {
			f.Properties = append(f.Properties, property("area_m2", *b.WorkingAreaM2))
		}
		list = append(list, f)
	}
	for _, o := range d.Field.Obstacles {
		switch {
		case o.Area != nil:
			list = append(list, feature("obstacle", o.Name, polygons(*o.Area)))
		case o.Path != nil:
			list = append(list, feature("obstacle", o.Name, line(o.Path.LonLat)))
		}
	}
	return list
}

func rowFeatures(d result.Document) (list []geojson.OutFeature) {
	for _, r := range d.Rows {
		spacingM := d.Blocks[r.BlockNo-1].SpacingM
		for _, p := range r.Pieces {
			f := feature("row", p.Name, line(straightened(p.LineLonLat)),
				property("row", r.Number), property("part", p.Part), property("block", r.Block), property("zone", r.Zone),
				property("end_a", r.EndA), property("end_b", r.EndB),
				property("plan_m", p.PlanM), property("ground_m", p.GroundM), property("spacing_m", spacingM))
			if s := p.Slope; s != nil && s.OutsideM < p.PlanM {
				f.Properties = append(f.Properties, property("steepest_grade_pct", s.GradePct), property("greatest_side_slope_pct", s.SidePct))
			}
			list = append(list, f)
		}
	}
	return list
}

// breakFeatures are the places where rows that follow the land are broken.
func breakFeatures(d result.Document) (list []geojson.OutFeature) {
	for _, b := range d.Blocks {
		c := laidOf(b)
		if c == nil || !follows(b) {
			continue
		}
		for i, g := range c.Gaps {
			f := feature("break", named(b.Name, "block")+", break "+itoa(i+1), geojson.OutGeometry{Points: track([]result.Position{g.LonLat})},
				property("block", b.Name), property("gap_m", g.GapM), property("asked_radius_m", nil))
			if g.AskedM != nil {
				f.Properties[len(f.Properties)-1].Value = *g.AskedM
			}
			list = append(list, f)
		}
	}
	return list
}

// guideFeatures are the curves that a receiver may repeat, one a block at most.
func guideFeatures(d result.Document) (list []geojson.OutFeature) {
	for _, b := range d.Blocks {
		if b.Curved == nil || b.Curved.Repeat == nil || !follows(b) {
			continue
		}
		r := b.Curved.Repeat
		list = append(list, feature("guide", named(b.Name, "block")+", guide", line(r.Guide.LonLat),
			property("block", b.Name), property("spacing_m", b.SpacingM), property("first_pass", r.FirstPass), property("last_pass", r.LastPass),
			property("positive_passes", "left of the guide"), property("worst_m", r.WorstM), property("served_pct", r.ServedPct),
			property("whole", r.Whole), property("text", r.Text)))
	}
	return list
}

func feature(kind, name string, g geojson.OutGeometry, more ...geojson.Property) geojson.OutFeature {
	return geojson.OutFeature{
		Geometry:   g,
		Properties: append([]geojson.Property{property("kind", kind), property("name", name)}, more...),
	}
}

func property(key string, value any) geojson.Property {
	if s, ok := value.(string); ok {
		value = clean(s)
	}
	return geojson.Property{Key: key, Value: value}
}

// line is a line as a geometry; a line of one place is a point.
func line(l []result.Position) geojson.OutGeometry {
	if len(l) == 1 {
		return geojson.OutGeometry{Points: track(l)}
	}
	return geojson.OutGeometry{Lines: []geojson.Path{track(l)}}
}

func polygons(shapes ...result.Shape) (g geojson.OutGeometry) {
	for _, s := range shapes {
		p := make(geojson.OutPolygon, len(s.LonLat))
		for i, r := range s.LonLat {
			p[i] = track(r)
		}
		g.Polygons = append(g.Polygons, p)
	}
	return g
}

// straightened leaves out vertices that a row has for its heights only: those
// that lie on the way between the kept ones, as near as a row line in degrees
// may stray, less a tenth for the ground between vertices. A bent row strays
// from its curve by so much more than its own chords do: 22 mm in all where
// those are within 20 mm, 12 mm where they are within 10.
func straightened(l []result.Position) []result.Position {
	if len(l) < 3 {
		return l
	}
	from := 0
	out := []result.Position{l[0]}
	for i := 1; i+1 < len(l); i++ {
		for k := from + 1; k <= i; k++ {
			if strayM(l[k], l[from], l[i+1]) > 0.9*geo.CurveChordM {
				from = i
				out = append(out, l[i])
				break
			}
		}
	}
	return append(out, l[len(l)-1])
}

// strayM is the distance in metres of p from the segment from a to b, for
// places some hundred metres apart: to a percent.
func strayM(p, a, b result.Position) float64 {
	const degM = math.Pi / 180 * 6371008.8 // mean radius of the earth (IUGG)
	k := math.Cos(a.LatDeg() * math.Pi / 180)
	at := func(q result.Position) point {
		return point{(q.LonDeg() - a.LonDeg()) * k * degM, (q.LatDeg() - a.LatDeg()) * degM}
	}
	return offSegment(at(p), point{}, at(b))
}

// track is positions for the writer. A document's longitudes run on past 180
// so that they do not jump; the writer finds jumps itself. Heights stay in the
// document: GeoJSON wants them above the ellipsoid (RFC 7946, section 3.1.1),
// and a survey's are above whatever level it used.
func track(l []result.Position) geojson.Path {
	p := geojson.Path{At: make([]geo.LonLat, len(l))}
	for i, q := range l {
		p.At[i] = geo.LonLat{LonDeg: q.LonDeg(), LatDeg: q.LatDeg()}
		if math.Abs(q.LonDeg()) > 180 {
			p.At[i].LonDeg = geo.WrapLonDeg(q.LonDeg())
		}
	}
	return p
}
