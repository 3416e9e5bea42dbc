package pipeline

import (
	"context"
	"io"
	"maps"
	"slices"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
)

// Restate writes the features of a stream as GeoJSON in WGS84, one on each
// line, as they are: nothing is repaired, properties are kept.
type Restate struct {
	Field    field.Spec // how the file is read
	Workers  int        // goroutines; at least 1
	Fail     func(error)
	Progress func(done int) // may be nil
}

// Run reads the whole stream. A feature that cannot be read or placed is told
// to Fail, in order, and left out; only a fault of the stream itself, a failing
// writer or a cancelled context end the run. Memory does not grow with the
// input. Notes are for check to give.
func (r Restate) Run(ctx context.Context, stream *delivery.Stream, out io.Writer) (Totals, error) {
	return inOrder(ctx, stream, out, r.Workers, r.Progress, func() func(context.Context, *chunk) {
		w := restater{spec: r.Field, stream: stream}
		return func(ctx context.Context, c *chunk) {
			for _, rec := range c.raws {
				if c.broken = ctx.Err() != nil; c.broken {
					return
				}
				c.totals.Fields++
				if err := w.one(rec, c); err != nil {
					c.totals.Failed++
					c.errs = append(c.errs, err)
				}
			}
			c.raws = nil
		}
	}, r.Fail)
}

type restater struct {
	spec    field.Spec
	stream  *delivery.Stream
	settled settled
}

func (w *restater) one(rec delivery.Record, c *chunk) error {
	f, _, err := rec.Decode()
	if err != nil {
		return err
	}
	located, _, err := field.Locate(w.settled.file(w.stream, f), w.spec)
	if err != nil {
		return err
	}
	o := outFeature(located.Features[0])
	if err := o.Check(); err != nil {
		return &geo.InputError{File: w.stream.Name(), Feature: f.Number, Name: f.Name, Problem: err.Error()}
	}
	c.out = append(geojson.AppendFeature(c.out, o), '\n')
	return nil
}

// outFeature is a feature of longitude and latitude to be written.
func outFeature(f format.Feature) geojson.OutFeature {
	o := geojson.OutFeature{ID: f.ID, IDNumber: f.IDNumber}
	for _, p := range f.Polygons {
		q := make(geojson.OutPolygon, len(p))
		for k, r := range p {
			q[k] = outPath(r)
			if n := len(r); n > 2 && !r[0].At(r[n-1]) { // GeoJSON knows closed rings only
				q[k] = outPath(append(slices.Clone(r), r[0]))
			}
		}
		o.Geometry.Polygons = append(o.Geometry.Polygons, q)
	}
	for _, l := range f.Lines {
		o.Geometry.Lines = append(o.Geometry.Lines, outPath(l))
	}
	if len(f.Points) > 0 {
		o.Geometry.Points = outPath(f.Points)
	}
	props := named(f)
	for _, key := range sortedKeys(props) {
		o.Properties = append(o.Properties, geojson.Property{Key: key, Value: props[key]})
	}
	return o
}

// named are the properties of a feature, with its name among them where only
// the format had a place for it.
func named(f format.Feature) map[string]any {
	var told format.Naming
	for _, key := range sortedKeys(f.Properties) {
		told.Offer(key, f.Properties[key])
	}
	if _, taken := f.Properties[nameKey]; taken || f.Name == "" || f.Name == f.ID || f.Name == told.Name {
		return f.Properties
	}
	out := map[string]any{nameKey: f.Name}
	maps.Copy(out, f.Properties)
	return out
}

// nameKey is the property that holds the name of a feature whose format has a
// place of its own for it.
const nameKey = "name"

func outPath(cs []format.Coord) geojson.Path {
	p := geojson.Path{At: make([]geo.LonLat, len(cs))}
	high := len(cs) > 0
	for i, c := range cs {
		p.At[i] = geo.LonLat{LonDeg: c.X, LatDeg: c.Y}
		high = high && c.HasZ()
	}
	if high {
		p.HeightsM = make([]float64, len(cs))
		for i, c := range cs {
			p.HeightsM[i] = c.Z
		}
	}
	return p
}

func sortedKeys(m map[string]any) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
