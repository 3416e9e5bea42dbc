package textgrid

import (
	"fmt"
	"math"
	"slices"

	"hemrow/geo/format"
)

const (
	// maxSteps is how many columns or rows a grid of points may have; a list
	// with more different X or Y is scattered.
	maxSteps = 1 << 17
	// minFill is the least share of the cells that have a point. A field cut
	// out of a grid slantwise fills a third of it or more; surveyed points
	// that were rounded to whole metres fill a hundredth (common practice, no
	// source).
	minFill = 0.1
)

// axis is what is known of the X or the Y of all points.
type axis struct {
	seen     map[float64]struct{}
	last     float64 //unit:the file's
	decimals int     // the most that any was written with
}

// add takes one value and reports whether there are not too many.
func (a *axis) add(v float64, decimals int) bool {
	if len(a.seen) > 0 && v == a.last {
		return true
	}
	a.last = v
	a.decimals = max(a.decimals, decimals)
	a.seen[v] = struct{}{}
	return len(a.seen) <= maxSteps
}

// lattice finds the grid of the points.
func (c *xyz) lattice() (l format.Layout, err error) {
	x, y := axis{seen: map[float64]struct{}{}}, axis{seen: map[float64]struct{}{}}
	points := 0
	err = c.points(func(number int, p point, decimals [3]int) error {
		points++
		if !x.add(p.x, decimals[0]) || !y.add(p.y, decimals[1]) {
			return fmt.Errorf("%s:%d: %w: there are more than %d different X or Y", c.in.name, number, ErrScattered, maxSteps)
		}
		return nil
	})
	if err != nil {
		return l, err
	}
	west, stepX, cols, okX := x.steps()
	south, stepY, rows, okY := y.steps()
	if !okX || !okY {
		return l, fmt.Errorf("%s: %w: the steps from one X or Y to the next differ", c.in.name, ErrScattered)
	}
	if float64(points) < minFill*float64(cols)*float64(rows) {
		return l, fmt.Errorf("%s: %w: %d points in %d x %d cells", c.in.name, ErrScattered, points, cols, rows)
	}
	return format.Layout{
		Cols: cols, Rows: rows, ColX: stepX, RowY: -stepY,
		OriginX: west, OriginY: south + float64(rows-1)*stepY,
	}, nil
}

// steps finds the step between neighbours, of which some may be missing, and
// how many there are. At least two different values are needed.
//
// A value was rounded to its last decimal, by half a unit at most, and so were
// the first and the last, between which the grid is drawn: no value may lie
// farther from its place than one unit. To that come three roundings of a
// float. Whole metres on a grid of one metre are a case of their own: there the
// unit is as large as the step, and a quarter of a step is the most allowed.
func (a *axis) steps() (first, step float64, n int, ok bool) {
	if len(a.seen) < 2 {
		return 0, 0, 0, false
	}
	all := make([]float64, 0, len(a.seen))
	for v := range a.seen {
		all = append(all, v)
	}
	slices.Sort(all)
	first, last := all[0], all[len(all)-1]
	gaps := make([]float64, len(all)-1)
	for i := range gaps {
		gaps[i] = all[i+1] - all[i]
	}
	slices.Sort(gaps)
	// The middle gap is one step unless half of all columns are missing.
	count := math.Round((last - first) / gaps[len(gaps)/2])
	if !(count >= 1 && count < maxSteps) {
		return 0, 0, 0, false
	}
	step = (last - first) / count
	const ulp = 0x1p-52
	slack := min(math.Pow10(-a.decimals)+3*ulp*max(math.Abs(first), math.Abs(last)), step/4)
	for _, v := range all {
		if math.Abs(v-first-math.Round((v-first)/step)*step) > slack {
			return 0, 0, 0, false
		}
	}
	return first, step, int(count) + 1, true
}
