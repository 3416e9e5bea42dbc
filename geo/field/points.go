package field

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// joinPoints makes outlines of files that hold points alone, as a surveyor's
// list of corners does: joined in the order of the file, each feature of three
// or more points by itself, or all features together where each has one.
//
// A ring that crosses itself is refused: the order is not that of the walk, or
// the points are no outline but a terrain survey.
func (b *builder) joinPoints(file *format.File, cand []*format.Feature) ([]*format.Feature, error) {
	single := true
	for _, f := range cand {
		if len(f.Polygons)+len(f.Lines) > 0 || len(f.Points) == 0 {
			return cand, nil
		}
		single = single && len(f.Points) == 1
	}
	if single && len(cand) > 1 {
		all := *cand[0]
		all.Points, all.Name, all.ID = nil, "", ""
		for _, f := range cand {
			all.Points = append(all.Points, f.Points...)
		}
		cand = []*format.Feature{&all}
	}
	out := make([]*format.Feature, 0, len(cand))
	for _, f := range cand {
		if len(f.Points) < 3 {
			out = append(out, f)
			continue
		}
		g, err := b.ringed(file, f)
		if err != nil {
			return nil, err
		}
		out = append(out, g)
	}
	return out, nil
}

// ringed is a copy of a feature with its points joined to a ring.
func (b *builder) ringed(file *format.File, f *format.Feature) (*format.Feature, error) {
	w := where{file: file.Name, feature: f}
	for v, c := range f.Points {
		if err := b.judge(w, 0, v+1, c); err != nil {
			return nil, err
		}
	}
	g := *f
	g.Points = nil
	r := slices.Clone(f.Points)
	if !r[0].At(r[len(r)-1]) {
		r = append(r, r[0])
	}
	if err := b.walked(w, r); err != nil {
		return nil, err
	}
	g.Polygons = []format.Polygon{{format.Ring(r)}}
	b.note(geo.Note{
		Code: geo.NotePointsJoined, Severity: geo.Caution, Place: w.place(0, 0, nil),
		Text:  fmt.Sprintf("%s joined to an outline in the order of the file", geo.Counted(len(f.Points), "point")),
		Hint:  "look at the map: the order must be that of the walk round the field",
		Value: float64(len(f.Points)), Unit: "points",
	})
	return &g, nil
}

// walked refuses a ring through points that crosses itself.
func (b *builder) walked(w where, r []format.Coord) error {
	frame, ok := geo.NewFrame(b.lonLat(r[0]))
	if !ok {
		return nil // judged with its place later
	}
	ring := make(orb.Ring, len(r))
	for i, c := range r {
		ring[i] = frame.ToLocal(b.lonLat(c))
	}
	for _, f := range polygon.Faults(orb.Polygon{ring}) {
		if f.Kind != polygon.SelfCrossing {
			continue
		}
		at := frame.ToLonLat(f.At)
		e := w.input(0, f.Vertex+1, &at)
		e.Problem = fmt.Sprintf("joined in the order of the file, the points make an outline that crosses itself, between points %d and %d", f.Vertex+1, f.OtherVertex+1)
		e.Hint = "number the points round the field in a column called seq; a survey of heights is no outline, give it as terrain"
		return e
	}
	return nil
}
