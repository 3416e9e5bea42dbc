package polygon

import (
	"fmt"

	"github.com/paulmach/orb"
)

// FixKind is what a repair did; the list is closed.
type FixKind int

// The repairs. Value and Unit of the [Fix] are given in brackets.
const (
	FixClosed      FixKind = iota // an open ring was closed [gap, m]
	FixSnapped                    // a last vertex beside the first was dropped [distance, m]
	FixDuplicate                  // vertices repeating the one before were dropped [count]
	FixSpike                      // a way out and straight back was dropped [length, m]
	FixTurned                     // a ring was turned to the usual direction [area, m2]
	FixCrossing                   // a small loop where the ring crosses itself was dropped [its area, m2]
	FixTouch                      // a ring touching itself was taken apart [area of the part or hole, m2]
	FixSplit                      // a crossing ring was split, as asked [parts]
	FixPartDropped                // a part below 1 % of the area was dropped [its area, m2]
	FixHoleDropped                // a hole without area was dropped [0, m2]
	FixHolesJoined                // overlapping holes were joined [overlap, m2]
	FixHoleClipped                // a hole reaching over the edge was cut out of the outline [area beyond, m2]
	FixIsland                     // a hole in a hole became a part of its own [its area, m2]
	FixCutApart                   // ground cut apart by touching rings became parts [parts]
	FixStandstill                 // vertices of a standstill became one [count]
	FixRunOn                      // the end of a log past its own start was dropped [length, m]
	fixKindCount                  // end of the list
)

// String is the repair in words, past tense.
func (k FixKind) String() string {
	words := [fixKindCount]string{
		"ring closed", "last vertex beside the first dropped", "repeated vertices dropped",
		"spike dropped", "ring direction turned", "small loop at a self-crossing dropped",
		"ring touching itself taken apart", "crossing ring split into parts", "small part dropped",
		"hole without area dropped", "overlapping holes joined", "hole over the edge cut out of the outline",
		"island in a hole made a part", "ground cut apart by touching rings made parts",
		"standstill made one vertex", "end past the start dropped",
	}
	if k < 0 || k >= fixKindCount {
		return "unknown repair"
	}
	return words[k]
}

// Fix is one change a repair made, where and how big. Ring 0 is the outline;
// vertices count from 0 in the ring as given.
type Fix struct {
	Kind   FixKind
	Ring   int
	Vertex int
	At     orb.Point
	Value  float64 //unit:see Unit
	Unit   string

	// ChangeM2 is by how much the ring's area changed, for the repairs of
	// logs; all standstills of a ring share one figure.
	ChangeM2 float64
}

// Refusal is the error of a polygon that cannot be repaired without deciding
// for the surveyor. It names the place by the fault it could not mend.
type Refusal struct {
	Fault
	Problem string
	Hint    string
}

// Error is the problem with its place in the polygon.
func (r *Refusal) Error() string {
	return fmt.Sprintf("ring %d vertex %d: %s", r.Ring, r.Vertex, r.Problem)
}

func refuse(f Fault, hint, problem string, args ...any) *Refusal {
	return &Refusal{f, fmt.Sprintf(problem, args...), hint}
}
