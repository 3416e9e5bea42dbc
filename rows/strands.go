package rows

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
	"hemrow/rows/contour"
)

// strand is the pieces of one bent row, in order, all running one way.
type strand struct {
	zone, level int
	pieces      []orb.LineString
	middle      orb.Point // of its ends
	acrossM     float64   // of the middle, across the mean heading
}

// ends are the first and the last point of a strand.
func (s *strand) ends() (a, b orb.Point) { return s.pieces[0][0], last(s.pieces[len(s.pieces)-1]) }

// meanHeading is the mean direction of lines, weighted by length. Directions are
// axes without head and tail, so their doubled angles are summed (K. V. Mardia
// and P. E. Jupp, Directional Statistics, 2000, section 1.1, from memory).
func meanHeading(rows []contour.Row) geo.Bearing {
	var sin, cos float64
	for _, r := range rows {
		for i := 1; i < len(r.Line); i++ {
			dx, dy := r.Line[i][0]-r.Line[i-1][0], r.Line[i][1]-r.Line[i-1][1]
			if d := math.Hypot(dx, dy); d > 0 {
				sin += 2 * dx * dy / d
				cos += (dy*dy - dx*dx) / d
			}
		}
	}
	return geo.NewBearing(math.Atan2(sin, cos) / 2 * 180 / math.Pi).Fold()
}

// strandsOf makes bent rows of the pieces of a block, in the order of their
// numbers: group after group of neighbours, each from the side where straight rows of the mean
// heading would be numbered from.
func strandsOf(rows []contour.Row, x axes, spacingM float64) []strand {
	alignZones(rows, x, spacingM)
	byRow := map[[2]int][]orb.LineString{}
	var keys [][2]int
	for _, r := range rows {
		k := [2]int{r.Zone, r.Number}
		if byRow[k] == nil {
			keys = append(keys, k)
		}
		byRow[k] = append(byRow[k], r.Line)
	}
	var all []strand
	for _, k := range keys {
		for _, pieces := range chained(byRow[k], rows) {
			s := strand{zone: k[0], level: k[1], pieces: pieces}
			a, b := s.ends()
			s.middle = orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}
			_, s.acrossM = x.uv(s.middle)
			all = append(all, s)
		}
	}
	return numbered(grouped(all, spacingM))
}

// grouped gives a zone of its own to each group of rows that are neighbours one
// to the next: one level of a field may run in several parts of a block.
func grouped(all []strand, spacingM float64) []strand {
	group := make([]int, len(all))
	for i := range group {
		group[i] = i
	}
	root := func(i int) int {
		for group[i] != i {
			i = group[i]
		}
		return i
	}
	for i := range all {
		for j := range i {
			a, b := &all[i], &all[j]
			if apart := a.level - b.level; a.zone != b.zone || apart < -1 || apart > 1 || apart == 0 {
				continue
			}
			if p, q := root(i), root(j); p != q && a.beside(b, contour.SightRatio*spacingM) {
				group[max(p, q)] = min(p, q)
			}
		}
	}
	for i := range all {
		all[i].zone = root(i)
	}
	return all
}

// beside reports whether a vertex of one strand, or the middle of a segment, lies
// within a distance of the other.
func (s *strand) beside(other *strand, withinM float64) bool {
	for _, a := range s.pieces {
		for _, b := range other.pieces {
			if !a.Bound().Pad(withinM).Intersects(b.Bound()) {
				continue
			}
			for k := range a {
				if nearestOn(b, a[k]).distM <= withinM || (k > 0 && nearestOn(b, between(a[k-1], a[k], 0.5)).distM <= withinM) {
					return true
				}
			}
		}
	}
	return false
}

// numbered sorts strands as they are numbered.
func numbered(all []strand) []strand {
	type total struct{ sum, n, levels, both float64 }
	zones := map[int]*total{}
	for _, s := range all {
		z := zones[s.zone]
		if z == nil {
			z = new(total)
			zones[s.zone] = z
		}
		z.sum += s.acrossM
		z.levels += float64(s.level)
		z.both += float64(s.level) * s.acrossM
		z.n++
	}
	slices.SortStableFunc(all, func(a, b strand) int {
		za, zb := zones[a.zone], zones[b.zone]
		if a.zone != b.zone {
			return cmp.Or(cmp.Compare(za.sum/za.n, zb.sum/zb.n), cmp.Compare(a.zone, b.zone))
		}
		rise := za.both - za.levels*za.sum/za.n // levels rise across the block
		if rise < 0 {
			a, b = b, a
		}
		return cmp.Or(cmp.Compare(a.level, b.level), cmp.Compare(a.acrossM, b.acrossM))
	})
	return all
}

// alignZones turns rows so that neighbours of a zone run the same way, and each
// zone on the whole towards end B of the mean heading.
func alignZones(rows []contour.Row, x axes, spacingM float64) {
	zones := map[int][]int{}
	var order []int
	for i, r := range rows {
		if zones[r.Zone] == nil {
			order = append(order, r.Zone)
		}
		zones[r.Zone] = append(zones[r.Zone], i)
	}
	for _, z := range order {
		list := zones[z]
		slices.SortStableFunc(list, func(a, b int) int { return cmp.Compare(rows[a].Number, rows[b].Number) })
		var along float64
		for n, i := range list {
			line := rows[i].Line
			if opposes(line, rows, list[:n], 2*spacingM) {
				slices.Reverse(line)
			}
			first, end := line[0], last(line)
			along += (end[0]-first[0])*x.ax + (end[1]-first[1])*x.ay
		}
		if along < 0 {
			for _, i := range list {
				slices.Reverse(rows[i].Line)
			}
		}
	}
}

// opposes reports whether a line runs against the nearest of the rows listed, the
// last of them within a distance counting most.
func opposes(line orb.LineString, rows []contour.Row, list []int, withinM float64) bool {
	mid := placeOn(line, lineM(line)/2)
	best := crossed{distM: withinM}
	for _, i := range list {
		if !rows[i].Line.Bound().Pad(withinM).Contains(mid.at) {
			continue
		}
		if n := nearestOn(rows[i].Line, mid.at); n.distM < best.distM {
			best = n
		}
	}
	return best.t[0]*mid.t[0]+best.t[1]*mid.t[1] < 0
}

// facing is the cosine within which the way from one piece to the next must lie
// to the direction of both: 45 degrees.
const facing = math.Sqrt2 / 2

// chained puts pieces of one level in rows: a piece goes on from another where
// the gap between them lies ahead of the one and behind the other, and no row of
// the block lies across it; of several, the least gap.
func chained(pieces []orb.LineString, all []contour.Row) (out [][]orb.LineString) {
	type link struct {
		from, to int
		gapM     float64
	}
	var links []link
	for i, a := range pieces {
		for j, b := range pieces {
			p, q := last(a), b[0]
			dx, dy := q[0]-p[0], q[1]-p[1]
			gapM := math.Hypot(dx, dy)
			ta, tb := tailOf(a), headOf(b)
			if i != j && dx*ta[0]+dy*ta[1] >= facing*gapM && dx*tb[0]+dy*tb[1] >= facing*gapM && !across(p, q, all) {
				links = append(links, link{i, j, gapM})
			}
		}
	}
	slices.SortStableFunc(links, func(a, b link) int { return cmp.Compare(a.gapM, b.gapM) })
	next, prev := make([]int, len(pieces)), make([]int, len(pieces))
	for i := range pieces {
		next[i], prev[i] = -1, -1
	}
	for _, l := range links {
		end := l.to
		for next[end] >= 0 {
			end = next[end]
		}
		if next[l.from] < 0 && prev[l.to] < 0 && end != l.from { // no ring
			next[l.from], prev[l.to] = l.to, l.from
		}
	}
	for i := range pieces {
		if prev[i] >= 0 {
			continue
		}
		var row []orb.LineString
		for k := i; k >= 0; k = next[k] {
			row = append(row, pieces[k])
		}
		out = append(out, row)
	}
	return out
}

// across reports whether a row crosses the way from the end p of one to the
// beginning q of another.
func across(p, q orb.Point, all []contour.Row) bool {
	way := orb.MultiPoint{p, q}.Bound()
	for _, r := range all {
		if !way.Intersects(r.Line.Bound()) {
			continue
		}
		for k := 1; k < len(r.Line); k++ {
			a, b := r.Line[k-1], r.Line[k]
			if a != p && b != p && a != q && b != q && polygon.SegmentDistanceM(p, q, a, b) < geo.CoincidentM {
				return true
			}
		}
	}
	return false
}

// headOf and tailOf are the unit directions in which a line begins and ends.
func headOf(l orb.LineString) orb.Point { return unit(l[0], l[1]) }
func tailOf(l orb.LineString) orb.Point { return unit(l[len(l)-2], l[len(l)-1]) }

func unit(a, b orb.Point) orb.Point {
	d := math.Hypot(b[0]-a[0], b[1]-a[1])
	if d < geo.CoincidentM {
		return orb.Point{}
	}
	return orb.Point{(b[0] - a[0]) / d, (b[1] - a[1]) / d}
}
