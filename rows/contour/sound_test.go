package contour

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// requireSound checks what holds of all rows: within the area, none meeting
// another or itself, finite, with length, and not nearer than the window except
// where the score tells of it.
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
	requireNarrowTold(t, l, lim)
}

// requireNarrowTold asks that wherever another row is nearer than the window, by
// looking at every segment, the score tells of it: there, or at the row that is so
// near. The window has 1 cm to spare; in the last metre of a row, past the last
// place that is judged, so much more as the chords of both may stray. What lies
// ahead of a row is no neighbour (see [Judge]).
func requireNarrowTold(t require.TestingT, l Layout, lim Limits) {
	lo, _ := lim.window()
	told := func(row int, at float64) bool {
		for _, b := range l.Score.Broken {
			if b.Row == row && b.Faults&TooNarrow != 0 && at > b.FromM-stationM && at < b.ToM+stationM {
				return true
			}
		}
		return false
	}
	atEnd := func(row int, at float64) bool {
		return at < stationM/2 || at > lengthM(l.Rows[row].Line)-stationM/2
	}
	eachNear(l.Rows, lo-0.01, func(n nearby) {
		last := n.d > lo-0.01-2*lim.ChordErrM && (atEnd(n.row, n.at) || atEnd(n.other, n.otherAt))
		if n.beside && !last {
			require.True(t, told(n.row, n.at) || told(n.other, n.otherAt), "rows %d and %d are %.3f m apart at %v, which nothing tells", n.row, n.other, n.d, n.p)
		}
	})
}

// requireFloor asks that no two pieces of row come nearer than the worst that is
// allowed, less the chord error, ends and all.
func requireFloor(t require.TestingT, rows []Row, lim Limits) {
	eachNear(rows, lim.FloorM()-lim.ChordErrM, func(n nearby) {
		require.Fail(t, "rows too near", "rows %d and %d are %.3f m apart at %v", n.row, n.other, n.d, n.p)
	})
}

// nearby is a place of a row that another row is near to, each with its chainage.
type nearby struct {
	row, other  int
	at, otherAt float64
	p           orb.Point
	d           float64
	beside      bool // the other row lies within 60 degrees of square to this one
}

// eachNear visits, for places of all rows a quarter of a metre apart and their
// vertices, the nearest place of every segment of other rows that is nearer than d.
func eachNear(rows []Row, d float64, visit func(n nearby)) {
	var segs [][2]orb.Point
	var owner []int
	var from []float64
	for i, r := range rows {
		at := 0.0
		for k := 1; k < len(r.Line); k++ {
			segs, owner, from = append(segs, [2]orb.Point{r.Line[k-1], r.Line[k]}), append(owner, i), append(from, at)
			at += distM(r.Line[k-1], r.Line[k])
		}
	}
	index := polygon.NewSegmentIndex(segs)
	for k, s := range segs {
		index.Search(orb.MultiPoint{s[0], s[1]}.Bound().Pad(d), func(o int) bool {
			t := segs[o]
			if owner[o] == owner[k] || polygon.SegmentDistanceM(s[0], s[1], t[0], t[1]) >= d {
				return true
			}
			length, m := distM(s[0], s[1]), distM(t[0], t[1])
			n := max(1, int(math.Ceil(length/0.25)))
			for j := range n + 1 {
				p := along(s[0], s[1], float64(j)/float64(n))
				u := max(0, min(1, ((p[0]-t[0][0])*(t[1][0]-t[0][0])+(p[1]-t[0][1])*(t[1][1]-t[0][1]))/(m*m)))
				q := along(t[0], t[1], u)
				if e := distM(p, q); e < d {
					side := ((s[1][0]-s[0][0])*(q[1]-p[1]) - (s[1][1]-s[0][1])*(q[0]-p[0])) / length
					visit(nearby{owner[k], owner[o], from[k] + length*float64(j)/float64(n), from[o] + m*u, p, e, math.Abs(side) >= cosBeside*e})
				}
			}
			return true
		})
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
