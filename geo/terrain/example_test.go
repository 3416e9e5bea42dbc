package terrain_test

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/terrain"
)

// A row up a slope of 30 %, surveyed at its corners.
func ExampleDrape() {
	surface, _, err := terrain.FromPoints([]terrain.Point{
		{X: 0, Y: 0, Z: 210}, {X: 100, Y: 0, Z: 210}, {X: 100, Y: 100, Z: 240}, {X: 0, Y: 100, Z: 240},
	}, nil, terrain.TINOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	frame, _ := geo.NewFrame(geo.LonLat{LonDeg: 16.9, LatDeg: 48.2})
	row := terrain.Drape(surface, frame, []orb.Point{{50, 10}, {50, 90}}, 0)
	fmt.Printf("%.2f m in plan, %.2f m on the ground (80 x sqrt(1.09) = %.2f)\n", row.PlanM, row.GroundM, 80*math.Sqrt(1.09))
	fmt.Printf("steepest 10 m: %.1f %%, from %.0f m up to %.0f m\n", row.ChordGradePct, row.Lowest.ZM, row.Highest.ZM)
	// Output:
	// 80.00 m in plan, 83.52 m on the ground (80 x sqrt(1.09) = 83.52)
	// steepest 10 m: 30.0 %, from 213 m up to 237 m
}

func ExampleFromPoints() {
	bank := [][]terrain.Point{
		{{X: 0, Y: 40, Z: 101}, {X: 100, Y: 40, Z: 101}}, // foot
		{{X: 0, Y: 42, Z: 103}, {X: 100, Y: 42, Z: 103}}, // top
	}
	surface, notes, err := terrain.FromPoints([]terrain.Point{
		{X: 0, Y: 0, Z: 100}, {X: 100, Y: 0, Z: 100}, {X: 100, Y: 80, Z: 104}, {X: 0, Y: 80, Z: 104},
	}, bank, terrain.TINOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	z, ok := surface.Height(orb.Point{50, 41})
	fmt.Println(surface.Describe(), z, ok)
	for _, n := range notes {
		fmt.Println(n)
	}
	// Output:
	// plane triangles between 8 points 102 true
	// info: terrain of plane triangles between 8 points, 0.80 ha, sides of 100.0 m (median)
}
