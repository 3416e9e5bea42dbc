package rows

import (
	"errors"
	"fmt"

	"hemrow/geo"
)

// Spec is everything a grower decides about where rows run. Lengths are
// metres, horizontal. [DefaultSpec] fills all but the spacing.
type Spec struct {
	// SpacingM is the distance between neighbouring rows, centre to centre.
	SpacingM float64

	// Style says whether rows may bend; Curving what bent ones must keep.
	Style   Style
	Curving Curving

	Heading  Heading
	FirstRow FirstRow

	// HeadlandM is the least distance from a row to outline edges that rows
	// run against; SideM to outline edges that rows run along; ObstacleM to
	// obstacles and to holes of the outline.
	HeadlandM float64
	SideM     float64
	ObstacleM float64

	// SideAngleDeg divides the two kinds of outline edge: an edge within this
	// angle of the rows is a side, any other has a headland. The direction of
	// an edge is that of the outline simplified to a tenth of the spacing, so
	// that a jagged side stays a side.
	SideAngleDeg float64

	// ShortestM is the shortest piece of row worth laying; shorter ones are
	// left out and counted in a note.
	ShortestM float64

	// LongestM is the longest piece allowed, 0 for no limit. Longer ones are
	// divided by cross alleys of CrossAlleyM that line up across the rows.
	LongestM    float64
	CrossAlleyM float64

	// StartSide is the side or corner of the block where laying starts, as a
	// compass point of eight: the row and the row end towards it. "" is the side
	// where numbering starts, from end A.
	StartSide string

	// TurnRadiusM is the tightest turn of the tractor with its implement.
	TurnRadiusM float64

	// PieceCostM is what one more piece of row costs, in metres of row: its
	// turn, its two ends, its fitting. It drives the search; see [Worth].
	PieceCostM float64

	// Worth values a piece of row in the search; nil for the default.
	Worth Worth

	// GradeChordM is the length over which the grade along rows is taken, on
	// the raw terrain. AlleyCover says that the alleys are kept under grass or
	// another cover, which allows steeper rows.
	GradeChordM float64
	AlleyCover  bool

	// Plants are set along the rows, each kind at its own pitch.
	Plants []Planting
}

// HeadingMode says how a block's heading is found.
type HeadingMode int

// The ways to find a heading.
const (
	HeadingSearch      HeadingMode = iota // the best of all, by Worth
	HeadingFixed                          // Heading.Bearing
	HeadingLongestEdge                    // along the block's longest edge
	HeadingEdge                           // along edge Heading.Edge of the outer ring
)

// Heading is a choice of direction for the rows of each block.
type Heading struct {
	Mode    HeadingMode
	Bearing geo.Bearing // for HeadingFixed
	Edge    int         // for HeadingEdge, from 1, in the order of the outline's vertices
	StepDeg float64     // for HeadingSearch: between tried bearings
}

// FirstRow is a choice of where the first row lies.
type FirstRow struct {
	// Best searches all offsets within one spacing; otherwise OffsetM is the
	// distance from the block's outermost point on the side where numbering
	// starts to the line of the first row, across the rows.
	Best    bool
	OffsetM float64
	Steps   int // for Best: offsets tried within one spacing
}

// Planting sets one kind of plant along rows.
type Planting struct {
	Plant  string
	PitchM float64 // between plants, along the ground
	StartM float64 // from the end of the piece to the first plant, at least
	// Every and From choose rows by their place in the block: From,
	// From+Every, … ; Every 1 and From 1 mean all rows.
	Every int
	From  int
}

// Worth values one piece of row of a length in metres. It must not fall as
// the length grows, and joining pieces must not be worth less than having
// them apart: w(a) + w(b) <= w(a+b). The search relies on both to skip
// headings that cannot win.
type Worth func(pieceM float64) float64

// DefaultWorth is the length less the cost of a piece, and nothing for pieces
// shorter than the shortest worth laying:
//
//	w(l) = l - c   for l >= max(shortest, c), else 0
//
// Summed over a block it is planted metres, less c for every piece with its
// turn, with short rows worth little or nothing. Common practice, no source.
func (s Spec) DefaultWorth() Worth {
	s.Worth = nil
	return s.valuer().of
}

// DefaultSpec holds the defaults of every key but the spacing. All are common
// practice, no source.
func DefaultSpec() Spec {
	return Spec{
		Heading:      Heading{Mode: HeadingSearch, StepDeg: 1},
		FirstRow:     FirstRow{Best: true, Steps: 20},
		HeadlandM:    9, // what a turn of 4 m radius between rows 5 m apart takes
		SideM:        3,
		ObstacleM:    3,
		SideAngleDeg: 20,
		ShortestM:    10,
		CrossAlleyM:  6,
		TurnRadiusM:  4,
		PieceCostM:   10,
		GradeChordM:  10, // contour-farming practice; short enough to see a hollow
		AlleyCover:   true,
		Curving: Curving{
			GradePct: 4, HalfSlope: true, // USDA NRCS Conservation Practice Standard 331
			NarrowPct: 90, WidePct: 115, RadiusM: 20, StrainPct: 3, ChordErrM: 0.02, GuideErrM: 0.5,
		},
	}
}

// SpecFault is one fault of a Spec, at a path such as "rows.spacing".
type SpecFault struct{ Path, Problem string }

func (f *SpecFault) Error() string { return f.Path + ": " + f.Problem }

// Validate returns all faults of the spec at once, joined; each is a
// [*SpecFault].
func (s Spec) Validate() error {
	var errs []error
	bad := func(path, format string, args ...any) {
		errs = append(errs, &SpecFault{path, fmt.Sprintf(format, args...)})
	}
	within := func(path string, v, least, most float64, unit string) {
		if !(v >= least && v <= most) { // also catches NaN
			bad(path, "must be from %g to %g %s, is %g", least, most, unit, v)
		}
	}
	within("rows.spacing", s.SpacingM, 0.2, 200, "m")
	within("rows.headland", s.HeadlandM, 0, 200, "m")
	within("rows.side_clearance", s.SideM, 0, 200, "m")
	within("rows.obstacle_clearance", s.ObstacleM, 0, 200, "m")
	within("rows.side_angle", s.SideAngleDeg, 0, 45, "degrees")
	within("rows.shortest_row", s.ShortestM, 0, 10000, "m")
	if s.LongestM != 0 {
		within("rows.longest_run", s.LongestM, 5, 1e5, "m")
		within("rows.cross_alley", s.CrossAlleyM, 0.5, 200, "m")
		if s.LongestM < s.ShortestM {
			bad("rows.longest_run", "is shorter than shortest_row")
		}
	}
	s.validateCurving(within, bad)
	within("terrain.grade_chord", s.GradeChordM, 0.5, 200, "m")
	within("rows.turn_radius", s.TurnRadiusM, 0, 50, "m")
	within("rows.piece_cost", s.PieceCostM, 0, 1000, "m")
	switch s.Heading.Mode {
	case HeadingFixed:
		within("rows.heading", s.Heading.Bearing.Deg(), 0, 360, "degrees")
	case HeadingEdge:
		if s.Heading.Edge < 1 {
			bad("rows.heading", "edges count from 1")
		}
	case HeadingSearch:
		within("rows.heading_step", s.Heading.StepDeg, 0.05, 90, "degrees")
	}
	if s.FirstRow.Best {
		if s.FirstRow.Steps < 1 || s.FirstRow.Steps > 1000 {
			bad("rows.first_row_steps", "must be from 1 to 1000, is %d", s.FirstRow.Steps)
		}
	} else {
		within("rows.first_row", s.FirstRow.OffsetM, 0, 1000, "m")
	}
	if _, ok := geo.ParseCompass(s.StartSide); s.StartSide != "" && !ok {
		bad("rows.start_side", "must be one of N, NE, E, SE, S, SW, W, NW, is %q", s.StartSide)
	}
	for i, p := range s.Plants {
		path := fmt.Sprintf("plants[%d]", i)
		within(path+".pitch", p.PitchM, 0.05, 1000, "m")
		within(path+".start", p.StartM, 0, 1000, "m")
		if p.Plant == "" {
			bad(path+".plant", "needs a name")
		}
		if p.Every < 1 || p.From < 1 || p.From > p.Every {
			bad(path+".rows", "must choose from 1 of 1 upward")
		}
	}
	return errors.Join(errs...)
}
