package rows

import (
	"fmt"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/terrain"
	"hemrow/rows/contour"
)

// Layout is where every row runs. Coordinates are metres of the field's frame.
type Layout struct {
	Spec   Spec // as used
	Field  geo.Field
	Blocks []Block
	Rows   []Row  // all blocks, in order of number
	Passes []Pass // every piece once, in order of laying
}

// Block is what was decided for one block of the field, and its totals.
type Block struct {
	Name    string
	Heading geo.Bearing // of the rows, [0, 180)
	// OffsetM is the distance from the block's outermost point on the side
	// where numbering starts to the grid line of row one, across the rows, as
	// [FirstRow] counts it.
	OffsetM  float64
	FirstRow int // number of the block's first row; 0 if it has none
	RowCount int
	Tally    Tally
	// Alleys are the cross alleys, each as its centre line across the block.
	Alleys []orb.LineString
	// Left counts the pieces left out for being shorter than the shortest.
	LeftCount int
	LeftM     float64
	Turning   Turning
	// Bent tells that the rows follow the land. Heading is then the mean of
	// their directions, and OffsetM is 0.
	Bent bool
	// Curved is how rows that follow the land compare with straight ones, nil
	// where the style asks for straight rows.
	Curved *Curved
}

// Curved is what was found when rows of a block were laid by the land.
type Curved struct {
	Limits contour.Limits
	Choice contour.Choice // the candidates, why one won, and all their figures
	// Repeat is what a receiver can do that repeats one curve. Empty where the
	// rows laid are straight.
	Repeat contour.Repeat
	// The cross alleys of each bent candidate, and how many rows they divide.
	alleys  [contour.Methods][]orb.LineString
	divided [contour.Methods]int
}

// Laid is the candidate whose rows were laid.
func (c *Curved) Laid() *contour.Candidate { return &c.Choice.Candidates[c.Choice.Winner] }

// Tally sums what a search compares.
type Tally struct {
	Rows       int     // grid lines with at least one piece
	Pieces     int     // pieces kept
	PlantedM   float64 // plan length of the pieces kept
	WorthScore float64 // sum of Worth over the pieces kept
}

// Row is the centre line of one mulched bed, in one or more pieces.
type Row struct {
	Number int // from 1, across all blocks
	Block  int // index into Layout.Blocks
	// AcrossM is the row's distance from row one of its block's grid. Of bent
	// rows it is that of their middles, across the block's heading.
	AcrossM float64
	// Zone tells runs of rows apart that keep their distance from each other
	// only: from 1 within the block, always 1 where rows are straight.
	Zone int
	// EndA and EndB name the ends by the compass, as the block lies; every
	// piece runs from A to B.
	EndA, EndB geo.Compass
	Pieces     []Piece
}

// Piece is an unbroken part of a row.
type Piece struct {
	Part     int // from 1, counted from end A
	Line     geo.Line
	PlanM    float64
	GroundM  float64
	Stations []Station
	// Slope is what the terrain says of the piece, nil without terrain. The
	// line then has heights, and chainages along the slope.
	Slope *terrain.Profile
	// Grades is the grade along the piece, in stretches of one step each
	// from end A to end B; nil without terrain.
	Grades []GradeRun
}

// GradeRun is a stretch of a piece whose grade stays within one step.
type GradeRun struct {
	FromM, ToM float64 // chainage along the ground
	Step       int     // of GradeStepsPct that it is steeper than; -1 without terrain
	// GradePct is the steepest there over the chord of the spec, positive where
	// the ground rises from end A to end B; 0 without terrain.
	GradePct float64
}

// GradeStepsPct are the grades that a run is told apart by: the step of a run is
// how many of them it exceeds. 2, 4 and 10 % are the caps of USDA NRCS
// Conservation Practice Standards 330 and 331.
var GradeStepsPct = [...]float64{1, 2, 4, 10}

// Station is a plant's place along a piece.
type Station struct {
	Plant     int // index into Spec.Plants
	ChainageM float64
	At        orb.Point
}

// Pass is one piece driven in one direction.
type Pass struct {
	Row      int     // index into Layout.Rows
	Piece    int     // index into Row.Pieces
	TurnM    float64 // path from the end of the pass before; 0 for the first of a block
	TurnKind TurnKind
	FromB    bool
}

// TurnKind is the shape of the way from one pass to the next.
type TurnKind uint8

// The shapes of turns.
const (
	TurnNone  TurnKind = iota // first pass of a block
	TurnAhead                 // on along the same row, past a gap in it
	TurnPlain                 // a U-turn of at least twice the machine's radius
	TurnBulb                  // a three-arc turn, where the rows are nearer than that
	TurnDrive                 // the way to rows that are no neighbours, from bent rows to others
)

// String names the shape in the words of the summary.
func (k TurnKind) String() string { return [...]string{"none", "ahead", "plain", "bulb", "drive"}[k] }

// Turning sums the turns of a block.
type Turning struct {
	Skip     int // rows stepped over in the laying pattern, 1 for row after row
	Plain    int
	Bulb     int
	PathM    float64 // all turns together
	Drives   int     // ways to rows that are no neighbours
	NeedM    float64 // headland depth that the widest turn takes
	LongestM float64 // longest single turn
	// AheadM and AheadPast sum the gaps within rows, past obstacles and
	// alleys; OutsideM and OutsidePast those of them that leave the outline.
	AheadM      float64
	AheadPast   int
	OutsideM    float64
	OutsidePast int
}

// Name is the row as written in lists and on stakes: R001, with as many digits
// as the layout needs, three at least.
func (l Layout) Name(r Row) string { return fmt.Sprintf("R%0*d", l.digits(), r.Number) }

// PieceName is Name, with the part behind a dot where the row has several.
func (l Layout) PieceName(r Row, p Piece) string {
	if len(r.Pieces) == 1 {
		return l.Name(r)
	}
	return fmt.Sprintf("%s.%d", l.Name(r), p.Part)
}

func (l Layout) digits() int {
	d := 3
	for n := len(l.Rows); n >= 1000; n /= 10 {
		d++
	}
	return d
}
