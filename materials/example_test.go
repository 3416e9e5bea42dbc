package materials_test

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

// Two rows of 120 m and 95 m under one sheet of film.
func ExampleCompute() {
	frame, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
	layout := rows.Layout{Field: geo.Field{Frame: frame}}
	for i, lengthM := range []float64{120, 95} {
		y := 5 * float64(i)
		line := geo.NewLine(frame, []orb.Point{{0, y}, {lengthM, y}})
		layout.Rows = append(layout.Rows, rows.Row{Number: i + 1, Pieces: []rows.Piece{
			{Part: 1, Line: line, PlanM: line.PlanM(frame), GroundM: line.GroundM()},
		}})
	}
	takeoff, notes, err := materials.Compute(context.Background(), layout, materials.DefaultSpec(materials.OneSheet))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, key := range []string{"ground_length", "film_order_length", "film_rolls", "soil_bank", "tape_length"} {
		q, _ := takeoff.Get(key)
		fmt.Printf("%s: %.1f %s (%s)\n", q.Name, q.Value, q.Unit, q.Basis)
	}
	worst, _ := notes.Worst()
	fmt.Println("worst note:", worst)
	// Output:
	// Length of the rows, along the ground: 215.0 m (sum of the ground lengths of all pieces)
	// Film, length to order: 228.9 m (cut length × (1 + waste))
	// Film, whole rolls: 1.0 rolls (length to order ÷ length on a roll, rounded up; a roll that ends within a row is joined to the next)
	// Soil dug, as it lies: 9.8 m3 (length of all trenches × depth × width)
	// Drip tape: 223.4 m (lines × (ground length + 2 × end extra for each piece) × (1 + slack))
	// worst note: serious
}

func ExampleSpec_Validate() {
	s := materials.DefaultSpec(materials.OneSheet)
	s.Film.WidthM = 0.25
	s.Trench.DepthM = 0
	fmt.Println(s.Validate())
	// Output:
	// cover.film_width: a sheet of 0.25 m is used up by two tucks of 0.15 m
	// trench.trench_depth: must be from 0.01 to 2 m, is 0
}
