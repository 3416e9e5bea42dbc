package terrain

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Lattice is heights at the nodes of a square grid along the axes of the
// frame. Node (i, j) lies StepM times i east and StepM times j north of Origin;
// its height in metres is Z[j*Cols+i], NaN where none is known.
type Lattice struct {
	Origin     orb.Point
	StepM      float64
	Cols, Rows int
	Z          []float64 //unit:metres
}

// SampleGrid is the heights of a surface at nodes stepM apart (above 0, finite)
// from the south-west corner of a box to its far sides or up to one step
// beyond, NaN off the surface. It is exact at the nodes. A box without extent
// or with a corner that is not finite, or another step, gives the zero Lattice.
// Time and memory grow with the count of nodes, which the caller chooses.
func SampleGrid(s Surface, b orb.Bound, stepM float64) Lattice {
	l := Lattice{Origin: b.Min, StepM: stepM}
	l.Cols, l.Rows = nodes(b.Max[0]-b.Min[0], stepM), nodes(b.Max[1]-b.Min[1], stepM)
	if l.Cols < 2 || l.Rows < 2 {
		return Lattice{}
	}
	l.Z = make([]float64, l.Cols*l.Rows)
	for j := range l.Rows {
		for i := range l.Cols {
			z, ok := s.Height(l.Node(i, j))
			if !ok {
				z = math.NaN()
			}
			l.Z[j*l.Cols+i] = z
		}
	}
	return l
}

// nodes is how many nodes reach over a length, 0 if there is no sense in them.
func nodes(lengthM, stepM float64) int {
	steps := (lengthM - geo.CoincidentM) / stepM
	if !(steps > 0) || math.IsInf(steps, 1) || !(stepM > 0) {
		return 0
	}
	return int(math.Ceil(steps)) + 1
}

// Node is the place of node (i, j).
func (l *Lattice) Node(i, j int) orb.Point {
	return orb.Point{l.Origin[0] + l.StepM*float64(i), l.Origin[1] + l.StepM*float64(j)}
}

// Bound is the box from the first node to the last.
func (l *Lattice) Bound() orb.Bound {
	return orb.Bound{Min: l.Origin, Max: l.Node(max(0, l.Cols-1), max(0, l.Rows-1))}
}

// RangeM is the least and the greatest known height; ok is false if none is.
func (l *Lattice) RangeM() (lowM, highM float64, ok bool) {
	lowM, highM = math.Inf(1), math.Inf(-1)
	for _, z := range l.Z {
		if z < lowM {
			lowM = z
		}
		if z > highM {
			highM = z
		}
	}
	return lowM, highM, lowM <= highM
}

// Surface is the lattice as terrain by the given method. It covers what lies
// between nodes with known heights.
func (l Lattice) Surface(m Method) *Grid {
	g := &Grid{
		cols: l.Cols, rows: l.Rows, z: l.Z, method: m,
		bound: l.Bound(), spacingM: l.StepM, slack: geo.MapErrorM / l.StepM,
	}
	// One step more on each side, so that rounding on the border is not taken
	// for a place outside; the cells themselves decide.
	wide, high := float64(l.Cols+1)/2, float64(l.Rows+1)/2
	c := &cellMap{mid: g.bound.Center(), perM: orb.Point{1 / (wide * l.StepM), 1 / (high * l.StepM)}, degree: 1}
	c.c[0] = orb.Point{wide, 0}
	c.c[1] = orb.Point{0, high}
	c.c[2] = orb.Point{float64(l.Cols-1) / 2, float64(l.Rows-1) / 2}
	g.cells = c
	return g
}
