package contour

import (
	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// requireSound checks what holds of all rows: within the area, none meeting
// another or itself, finite, with length, and not nearer than the window except
// where the score says so.
func requireSound(t require.TestingT, l Layout, area orb.MultiPolygon, lim Limits) {
	var segs [][2]orb.Point
	var row []int
	for i, r := range l.Rows {
		require.GreaterOrEqual(t, len(r.Line), 2)
		for k := 1; k < len(r.Line); k++ {
			require.Greater(t, distM(r.Line[k-1], r.Line[k]), 0.0)
			segs, row = append(segs, [2]orb.Point{r.Line[k-1], r.Line[k]}), append(row, i)
		}
		for _, p := range r.Line {
			require.True(t, insideBy(area, p, geo.CoincidentM), "row %d leaves the area at %v", i, p)
		}
	}
	index := polygon.NewSegmentIndex(segs)
	for i, s := range segs {
		index.Search(orb.MultiPoint{s[0], s[1]}.Bound(), func(j int) bool {
			if j <= i+1 && j >= i-1 {
				return true
			}
			closed := row[i] == row[j] && (s[0] == segs[j][1] || s[1] == segs[j][0])
			if !closed {
				require.NotZero(t, polygon.SegmentDistanceM(s[0], s[1], segs[j][0], segs[j][1]), "rows %d and %d cross", row[i], row[j])
			}
			return true
		})
	}
	if lo, _ := lim.window(); l.Score.SpacingLeastM > 0 && l.Score.SpacingLeastM < lo {
		var told bool
		for _, b := range l.Score.Broken {
			told = told || b.Faults&TooNarrow != 0
		}
		require.True(t, told, "narrow rows are told of")
	}
}

// insideBy reports whether p lies in the area, or outside by no more than d.
func insideBy(area orb.MultiPolygon, p orb.Point, d float64) bool {
	for _, part := range area {
		if polygon.Contains(part, p) || polygon.DistanceM(part, p) <= d {
			return true
		}
	}
	return false
}
