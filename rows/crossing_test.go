package rows

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/rows/contour"
)

func alleysThrough(rows []contour.Row, longestM, widthM float64) *crossings {
	lim := contour.Defaults(5)
	lim.DropM = 10
	c := &crossings{ctx: context.Background(), longestM: longestM, widthM: widthM, limits: lim, rows: rows}
	c.run()
	return c
}

// A row that is too long by less than an alley, by a hair, or by many.
func TestAlleysOfOneRow(t *testing.T) {
	for lengthM, want := range map[float64]int{20: 0, 20.0000014: 1, 23: 1, 46: 1, 46.1: 2, 72: 2, 100: 4} {
		c := alleysThrough([]contour.Row{{Line: orb.LineString{{0, 0}, {lengthM, 0}}}}, 20, 6)
		assert.Len(t, c.alleys, want, "%g m", lengthM)
		for _, r := range c.rows {
			assert.LessOrEqual(t, lineM(r.Line), 20+geo.CoincidentM)
		}
		assert.Equal(t, min(want, 1), len(c.met), "one row is divided, however often")
	}
}

// Arcs of many lengths, rows that fan out, rows across the others: none is too
// long afterwards, and none stands in an alley.
func TestNoRowStandsInAnAlley(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 11))
		var rows []contour.Row
		for k := range 12 {
			r := 40 + 5*float64(k)
			from := rng.Float64()
			to := from + 0.3 + 2.5*rng.Float64()
			var line orb.LineString
			for a := from; a < to; a += 0.03 {
				line = append(line, orb.Point{r * math.Cos(a), r * math.Sin(a)})
			}
			rows = append(rows, contour.Row{Line: line, Number: k})
		}
		for k := range 5 { // at the seam of another run
			x := -20 + 5*float64(k)
			rows = append(rows, contour.Row{Line: orb.LineString{{x, -30}, {x + 9*rng.Float64(), 30 * rng.Float64()}}, Number: k, Zone: 1})
		}
		longest, width := 20+60*rng.Float64(), 2+8*rng.Float64()
		c := alleysThrough(rows, longest, width)
		for _, r := range c.rows {
			require.LessOrEqual(t, lineM(r.Line), longest+geo.CoincidentM, "seed %d", seed)
			for _, alley := range c.alleys {
				for k := 1; k < len(alley); k++ {
					for m := 1; m < len(r.Line); m++ {
						d := polygon.SegmentDistanceM(alley[k-1], alley[k], r.Line[m-1], r.Line[m])
						require.GreaterOrEqual(t, d, width/2-2*geo.ClearanceSlackM, "seed %d", seed)
					}
				}
			}
		}
	}
}

// Where the row may be cut anywhere, the alley goes where it leaves no stubs.
func TestAlleyAvoidsStubs(t *testing.T) {
	rows := []contour.Row{
		{Line: orb.LineString{{0, 0}, {60, 0}}, Number: 0},
		{Line: orb.LineString{{0, 5}, {45, 5}}, Number: 1}, // cut at 40, 2 m of it would be left
	}
	c := alleysThrough(rows, 45, 6)
	require.Len(t, c.alleys, 1)
	var left float64
	for _, r := range c.rows {
		if m := lineM(r.Line); m >= 10 {
			left += m
		}
	}
	assert.InDelta(t, 60+45-2*6, left, 1e-6, "nothing but the alley is lost")
}
