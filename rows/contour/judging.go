package contour

import (
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// judging is rows with their stations, kept so that another layout of which
// most rows are the same can be judged at little cost.
type judging struct {
	raw  geo.Surface
	lim  *Limits
	rows []Row
	st   [][]station
}

// of judges rows. Rows of j that are among them keep their stations, which look
// for their neighbours anew only where a row has come or gone within sight: what
// a station measures depends on its own row and on segments within sight alone,
// so the outcome is that of judging all rows afresh, to the last digit.
func (j *judging) of(rows []Row) *judging {
	out := &judging{j.raw, j.lim, rows, make([][]station, len(rows))}
	all := &neighbours{lim: j.lim}
	same, left := matchRows(j.rows, rows)
	var changed [][2]orb.Point
	for i := range j.rows {
		if !left[i] {
			c := newChain(j.rows[i].Line)
			changed = appendSegments(changed, c.line)
		}
	}
	for r := range rows {
		c := newChain(rows[r].Line)
		all.add(r, &c)
		if same[r] >= 0 {
			out.st[r] = slices.Clone(j.st[same[r]])
			continue
		}
		changed = appendSegments(changed, c.line)
		out.st[r] = c.stations(j.lim)
		c.grades(out.st[r], j.raw, j.lim)
	}
	all.index = polygon.NewSegmentIndex(all.segs)
	stirred := polygon.NewSegmentIndex(changed)
	for r, row := range out.st {
		for k := range row {
			if s := &row[k]; same[r] < 0 || anyIn(stirred, s.within(j.lim.sightM())) {
				all.look(s, r)
				s.blame(j.lim)
			}
		}
	}
	return out
}

// anyIn reports whether the box of an indexed segment meets b.
func anyIn(index *polygon.Index, b orb.Bound) (yes bool) {
	index.Search(b, func(int) bool {
		yes = true
		return false
	})
	return yes
}

// matchRows finds for each of the rows its equal among old ones, -1 if there is
// none, and which old rows are among them.
func matchRows(old, rows []Row) (same []int, left []bool) {
	byEnds := make(map[[2]orb.Point][]int, len(old))
	for i := range old {
		if l := old[i].Line; len(l) > 0 {
			ends := [2]orb.Point{l[0], l[len(l)-1]}
			byEnds[ends] = append(byEnds[ends], i)
		}
	}
	same, left = make([]int, len(rows)), make([]bool, len(old))
	for r := range rows {
		same[r] = -1
		l := rows[r].Line
		if len(l) == 0 {
			continue
		}
		for _, i := range byEnds[[2]orb.Point{l[0], l[len(l)-1]}] {
			if !left[i] && slices.Equal(l, old[i].Line) {
				same[r], left[i] = i, true
				break
			}
		}
	}
	return same, left
}
