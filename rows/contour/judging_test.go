package contour

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo/polygon"
)

// Judging what changed gives what judging everything gives, to the last digit,
// whatever changes: rows taken away, cut, moved, added, repeated or put in
// another order.
func TestJudgingOfChangesIsExact(t *testing.T) {
	lim, area := Defaults(5), box(200, 120)
	ground := hill(12, 60, orb.Point{90, 50})
	fresh := &judging{raw: ground, lim: &lim}
	rapid.Check(t, func(t *rapid.T) {
		var rows []Row
		for k := range rapid.IntRange(0, 20).Draw(t, "rows") {
			y := 2.5 + 5*float64(k)
			var l orb.LineString
			for i := range 21 {
				l = append(l, orb.Point{10 * float64(i), y + rapid.Float64Range(-0.4, 0.4).Draw(t, "dy")})
			}
			rows = append(rows, Row{Line: l, Number: k})
		}
		was := fresh.of(rows)
		for range rapid.IntRange(1, 4).Draw(t, "changes") {
			rows = changeRows(t, rows)
			now, want := was.of(rows), fresh.of(rows)
			require.Equal(t, want.st, now.st)
			score := tally(now.st, polygon.TotalAreaM2(area), &lim)
			require.Equal(t, Judge(rows, area, ground, lim), score)
			if score.LengthM > 0 {
				require.Equal(t, math.Float64bits(score.merit(&lim)), math.Float64bits(merit(now.st, polygon.TotalAreaM2(area), &lim)))
			}
			was = now
		}
	})
}

// changeRows is rows with one change.
func changeRows(t *rapid.T, rows []Row) []Row {
	rows = slices.Clone(rows)
	if len(rows) == 0 {
		return append(rows, row(orb.Point{0, 0}, orb.Point{100, 3}))
	}
	i := rapid.IntRange(0, len(rows)-1).Draw(t, "row")
	l := slices.Clone(rows[i].Line)
	switch rapid.IntRange(0, 5).Draw(t, "change") {
	case 0:
		return slices.Delete(rows, i, i+1)
	case 1:
		c := newChain(l)
		rows[i].Line = c.piece(c.lengthM()*0.2, c.lengthM()*rapid.Float64Range(0.4, 1).Draw(t, "end"))
		if rows[i].Line == nil {
			return slices.Delete(rows, i, i+1)
		}
	case 2:
		l[len(l)/2][1] += rapid.Float64Range(-3, 3).Draw(t, "move")
		rows[i].Line = l
	case 3:
		rows = append(rows, Row{Line: l})
	case 4:
		slices.Reverse(rows)
	default:
		x := rapid.Float64Range(0, 150).Draw(t, "x")
		rows = append(rows, row(orb.Point{x, 10}, orb.Point{x + 20, 90}))
	}
	return rows
}

// Places known to be alone do not change what is taken away: Break of rows is
// that of testing every place against what is left.
func TestAloneIsNeverCrowded(t *testing.T) {
	lim := Defaults(5)
	rapid.Check(t, func(t *rapid.T) {
		var rows []Row
		for k := range 12 {
			rows = append(rows, row(
				orb.Point{0, 4.6*float64(k) + rapid.Float64Range(-1, 1).Draw(t, "a")},
				orb.Point{60, 4.6*float64(k) + rapid.Float64Range(-1, 1).Draw(t, "b")},
				orb.Point{120, 4.6*float64(k) + rapid.Float64Range(-1, 1).Draw(t, "c")}))
		}
		known, asked := newClearing(rows, &lim), newClearing(rows, &lim)
		lo, _ := lim.window()
		for i := range rows {
			known.place(i)
			asked.place(i)
			for k := range asked.lonely[i] {
				asked.lonely[i][k] = beset
			}
		}
		for i := range rows {
			for k := range known.gone[i] {
				d := rapid.Float64Range(0.5*lo, lo).Draw(t, "d")
				crowded := known.crowded(i, k, d)
				require.Equal(t, asked.crowded(i, k, d), crowded)
				known.gone[i][k], asked.gone[i][k] = crowded, crowded
			}
		}
	})
}

// Clearing with another as base gives what clearing afresh gives.
func TestClearingOfChangesIsExact(t *testing.T) {
	lim := Defaults(5)
	rapid.Check(t, func(t *rapid.T) {
		var rows []Row
		for k := range rapid.IntRange(0, 15).Draw(t, "rows") {
			var l orb.LineString
			for i := range 11 {
				l = append(l, orb.Point{12 * float64(i), 4.6*float64(k) + rapid.Float64Range(-0.5, 0.5).Draw(t, "dy")})
			}
			rows = append(rows, Row{Line: l, Number: k})
		}
		base := clearAll(rows, &lim, nil)
		for range rapid.IntRange(1, 4).Draw(t, "changes") {
			rows = changeRows(t, rows)
			now, want := clearAll(rows, &lim, base), clearAll(rows, &lim, nil)
			require.Equal(t, want.gone, now.gone)
			require.Equal(t, want.result(), now.result())
			base = now
		}
	})
}
