package materials

import (
	"context"
	"fmt"
	"math"

	"hemrow/geo"
	"hemrow/materials/catalog"
	"hemrow/rows"
)

// Quantity is one figure of the take-off with everything needed to count it
// again by hand.
type Quantity struct {
	Key      string  // stable name for machines, film_area
	Name     string  // for people, Film area
	Value    float64 //unit:see Unit
	Unit     string  // m, m2, m3, kg, t, rolls, … as written in lists
	Basis    string  // the formula in words
	Inputs   []Input
	Source   string // publication with section and year, or "common practice, no source", or "by definition"
	Estimate bool   // true where the figure is no count but a judgement
}

// Input is one value that went into a quantity.
type Input struct {
	Name  string
	Value float64 //unit:see Unit
	Unit  string
}

// Takeoff is everything counted for one layout.
type Takeoff struct {
	Spec       Spec
	Quantities []Quantity
	Rows       []RowTake // one for each piece, in the order of the layout
	Notes      geo.Notes
}

// RowTake is what one piece of row takes.
type RowTake struct {
	Row         int     // index into Layout.Rows
	Piece       int     // index into Row.Pieces
	FilmCutM    float64 // all sheets together, with end tucks, without waste
	FilmM2      float64 // all sheets
	TrenchM     float64 // both edges
	TrenchEndsM float64 // across the row, both ends
	SoilM3      float64 // out of both trenches, bank volume
	TapeCutM    float64 // all lines together
	StonesKg    float64
	StoneNo     int
	ChipsM3     float64
	PlantsNo    []int // by index into Spec.Plants
}

// Get returns the quantity with the key; ok is false if it was not counted.
func (t Takeoff) Get(key string) (q Quantity, ok bool) {
	for _, q := range t.Quantities {
		if q.Key == key {
			return q, true
		}
	}
	return Quantity{}, false
}

// Compute counts what a layout takes: lengths, film, trench and soil, stones
// on the seam, chips, tape, holes and plants, in metres, square metres, cubic
// metres and kilograms. A quantity that the cover has no use for is absent;
// one that it uses but that comes to nothing is 0.
//
// Lengths are the ground lengths of the pieces, which the layout answers for;
// sums are compensated, so the totals add no error of their own to speak of
// (1e-15 of themselves). A layout without rows gives zeros. The result does
// not depend on anything but layout and spec.
//
// It errors on a spec that [Spec.Validate] refuses, on a piece whose length is
// not above zero, infinite or no number, and on a station of a kind that the layout
// does not plant. Formulas and sources stand in each [Quantity].
func Compute(ctx context.Context, l rows.Layout, spec Spec) (Takeoff, geo.Notes, error) {
	if err := spec.Validate(); err != nil {
		return Takeoff{}, nil, err
	}
	c := counter{layout: l, spec: spec}
	if err := c.measure(ctx); err != nil {
		return Takeoff{}, nil, err
	}
	c.lengths()
	if spec.film() {
		c.film()
		c.trench()
	}
	if spec.Cover == TwoSheet {
		c.seam()
	}
	if spec.Cover == Chips {
		c.chips()
	}
	if spec.Tape.LinesCount > 0 {
		c.tape()
	}
	c.plants()
	for _, q := range c.list {
		if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) {
			return Takeoff{}, nil, fmt.Errorf("%s cannot be counted: its figures are too large", q.Name)
		}
	}
	c.caution()
	return Takeoff{Spec: spec, Quantities: c.list, Rows: c.takes, Notes: c.notes}, c.notes, nil
}

// counter is a take-off in the making.
type counter struct {
	layout rows.Layout
	spec   Spec
	list   []Quantity
	takes  []RowTake
	notes  geo.Notes

	rowCount int // with at least one piece
	groundM  []float64
	totalM   float64 // ground length of all pieces
	planM    float64
	longestM float64 // longest piece along the ground
	flat     int     // pieces without heights
	hold     hold    // of the seam
}

// mostPieceM refuses pieces that no field holds: the distance from a pole to
// the equator.
const mostPieceM = 1e7

// measure reads the lengths of all pieces and opens a RowTake for each.
func (c *counter) measure(ctx context.Context) error {
	var plan, ground geo.Sum
	for i, r := range c.layout.Rows {
		if err := ctx.Err(); err != nil {
			return err
		}
		if len(r.Pieces) > 0 {
			c.rowCount++
		}
		for j, p := range r.Pieces {
			for _, v := range [...]struct {
				kind    string
				lengthM float64
			}{{"plan", p.PlanM}, {"ground", p.GroundM}} {
				if !(v.lengthM > 0 && v.lengthM <= mostPieceM) { // also catches NaN
					return fmt.Errorf("row %s: %s length is %g m: lay the rows again", c.layout.PieceName(r, p), v.kind, v.lengthM)
				}
			}
			plan.Add(p.PlanM)
			ground.Add(p.GroundM)
			c.longestM = max(c.longestM, p.GroundM)
			c.groundM = append(c.groundM, p.GroundM)
			c.takes = append(c.takes, RowTake{Row: i, Piece: j})
			if !surveyed(p.Line) {
				c.flat++
			}
			if err := c.countPlants(r, p); err != nil {
				return err
			}
		}
	}
	c.planM, c.totalM = plan.Value(), ground.Value()
	return nil
}

// surveyed tells whether every vertex of a line has a height.
func surveyed(l geo.Line) bool {
	for i := range l.Len() {
		if _, known := l.HeightAt(i); !known {
			return false
		}
	}
	return l.Len() > 0
}

// each sums a figure over the pieces.
func (c *counter) each(figure func(groundM float64, t *RowTake) float64) float64 {
	var s geo.Sum
	for i := range c.takes {
		s.Add(figure(c.groundM[i], &c.takes[i]))
	}
	return s.Value()
}

func (c *counter) add(q Quantity) { c.list = append(c.list, q) }

// in is an input of a quantity.
func in(name string, value float64, unit string) Input { return Input{name, value, unit} }

// pieces and ground are inputs of most quantities.
func (c *counter) pieces() Input { return in("pieces of row", float64(len(c.takes)), "pieces") }
func (c *counter) ground() Input { return in("ground length of all pieces", c.totalM, "m") }

// lengths counts rows and their lengths, and the ground they serve.
func (c *counter) lengths() {
	c.add(Quantity{
		Key: "rows", Name: "Rows", Value: float64(c.rowCount), Unit: "rows",
		Basis: "count of the rows with at least one piece", Source: catalog.Definition,
	})
	c.add(Quantity{
		Key: "pieces", Name: "Pieces of row", Value: float64(len(c.takes)), Unit: "pieces",
		Basis: "count of the unbroken parts of all rows", Source: catalog.Definition,
	})
	c.add(Quantity{
		Key: "plan_length", Name: "Length of the rows, horizontal", Value: c.planM, Unit: "m",
		Basis: "sum of the plan lengths of all pieces", Source: catalog.Definition,
		Inputs: []Input{c.pieces()},
	})
	c.add(Quantity{
		Key: "ground_length", Name: "Length of the rows, along the ground", Value: c.totalM, Unit: "m",
		Basis: "sum of the ground lengths of all pieces", Source: catalog.Definition,
		Inputs: []Input{c.pieces()},
	})
	if s := c.layout.Spec.SpacingM; s > 0 && !math.IsInf(s, 0) {
		c.add(Quantity{
			Key: "planted_area", Name: "Ground served by the rows", Value: c.planM * s, Unit: "m2",
			Basis: "plan length of all rows × row spacing", Source: catalog.Definition,
			Inputs: []Input{in("plan length", c.planM, "m"), in("row spacing", s, "m")},
		})
	}
}

// servedHa is the ground served by the rows in hectares, 0 if unknown.
func (c *counter) servedHa() float64 {
	q, _ := Takeoff{Quantities: c.list}.Get("planted_area")
	return q.Value / geo.HectareM2
}
