package materials

import "hemrow/geo"

// Quantity is one figure of the take-off with everything needed to count it
// again by hand.
type Quantity struct {
	Key      string  // stable name for machines, film_area
	Name     string  // for people, Film area
	Value    float64 //unit: see Unit
	Unit     string  // m, m2, m3, kg, t, rolls, … as written in lists
	Basis    string  // the formula in words
	Inputs   []Input
	Source   string // publication with section and year, or "common practice, no source", or "by definition"
	Estimate bool   // true where the figure is no count but a judgement
}

// Input is one value that went into a quantity.
type Input struct {
	Name  string
	Value float64 //unit: see Unit
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
	Row      int     // index into Layout.Rows
	Piece    int     // index into Row.Pieces
	FilmCutM float64 // one sheet, with end tucks, without waste
	FilmM2   float64
	TrenchM  float64 // both edges
	TapeCutM float64 // all lines together
	StonesKg float64
	StoneNo  int
	ChipsM3  float64
	PlantsNo []int // by index into Spec.Plants
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
