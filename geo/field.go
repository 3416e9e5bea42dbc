package geo

import "github.com/paulmach/orb"

// Field is a checked field in its own frame. It is made by geo/field.Build
// and nowhere else (a house test looks), so later stages may trust that every
// ring is closed, finite and simple, outer rings counter-clockwise and holes
// clockwise, that blocks do not overlap, and that coordinates are metres of
// Frame.
type Field struct {
	Name      string
	Frame     Frame
	Blocks    []Block
	Obstacles []Obstacle
	Surface   Surface // nil when there is no terrain
}

// Bound is the box of all blocks; a field has one at least.
func (f Field) Bound() orb.Bound {
	b := f.Blocks[0].Outline.Bound()
	for _, bl := range f.Blocks[1:] {
		b = b.Union(bl.Outline.Bound())
	}
	return b
}

// Block is a part of the field planted together: one outline. Holes of the
// outline are ground that rows keep clear of, like obstacles.
type Block struct {
	Name    string
	Outline orb.Polygon
}

// Obstacle is ground that rows keep clear of: an area (pond, outcrop,
// building), or a path (ditch, power line), or a path of one point (pole).
// Exactly one of Area and Path is set.
type Obstacle struct {
	Name string
	Area orb.Polygon
	Path orb.LineString
}
