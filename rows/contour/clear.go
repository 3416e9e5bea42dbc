package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// floorRatio is how much nearer than the window allows, in spacings, rows may
// come at the worst: the alley between covers of 1.2 m on rows 5 m apart is then
// still 3 m wide (common practice, no source).
const floorRatio = 0.05

// clearing takes away stretches of rows that crowd others, station by station.
// The shorter row gives way.
type clearing struct {
	rows   []Row
	lim    *Limits
	chains []chain
	gone   [][]bool
	index  *polygon.Index
	row    []int     // of each segment
	from   []float64 // and where it starts
	order  []int     // rows, shortest first
	// places are the ends of the stations of each row, and lonely whether they
	// are known to have no other row within the narrowest spacing, whatever is
	// taken away.
	places [][]orb.Point
	lonely [][]tested
	// base, if given, is a clearing of which most rows are the same: row i is
	// its row same[i], or none for -1, and those are added.
	base  *clearing
	same  []int
	added *polygon.Index
}

// tested is what is known of a place.
type tested uint8

const (
	untested tested = iota
	alone
	beset
)

func newClearing(rows []Row, lim *Limits) *clearing {
	n := len(rows)
	c := &clearing{rows: rows, lim: lim, chains: make([]chain, n), gone: make([][]bool, n), order: make([]int, n)}
	var segs [][2]orb.Point
	for i, r := range rows {
		ch := newChain(r.Line)
		c.chains[i], c.order[i] = ch, i
		c.gone[i] = make([]bool, max(1, int(math.Ceil(ch.lengthM()/stationM))))
		for k := 1; k < len(ch.m); k++ {
			segs = append(segs, [2]orb.Point{ch.line[k-1], ch.line[k]})
			c.row, c.from = append(c.row, i), append(c.from, ch.m[k-1])
		}
	}
	c.places, c.lonely = make([][]orb.Point, n), make([][]tested, n)
	slices.SortStableFunc(c.order, func(a, b int) int {
		return int(math.Copysign(1, c.chains[a].lengthM()-c.chains[b].lengthM()))
	})
	c.index = polygon.NewSegmentIndex(segs)
	return c
}

// clearEnds draws the ends of rows back from other rows that are nearer than the
// narrowest spacing, so that film does not run onto film at a seam; by the
// shortest row at most, since a longer stretch is no end.
func clearEnds(rows []Row, lim *Limits) []Row {
	c := newClearing(rows, lim)
	c.ends()
	return c.result()
}

// clearAll also takes away whatever crowds another row within its length. A base
// saves work and changes nothing.
func clearAll(rows []Row, lim *Limits, base *clearing) *clearing {
	c := newClearing(rows, lim)
	if base != nil {
		c.startFrom(base)
	}
	c.ends()
	lo := lim.FloorM()
	for _, i := range c.order {
		for k := range c.gone[i] {
			if !c.gone[i][k] && c.crowded(i, k, lo) {
				c.gone[i][k] = true
			}
		}
	}
	return c
}

// startFrom takes over from a finished clearing which places are alone.
func (c *clearing) startFrom(base *clearing) {
	c.base = base
	c.same, _ = matchRows(base.rows, c.rows)
	var segs [][2]orb.Point
	for i := range c.rows {
		if c.same[i] < 0 {
			segs = appendSegments(segs, c.chains[i].line)
		}
	}
	c.added = polygon.NewSegmentIndex(segs)
}

// knownAlone reports whether place k of row i was alone in the base and nothing
// has been added near it.
func (c *clearing) knownAlone(i, k int, near orb.Bound) bool {
	if c.base == nil || c.same[i] < 0 {
		return false
	}
	was := c.base.lonely[c.same[i]]
	return was != nil && was[k] == alone && !anyIn(c.added, near)
}

func (c *clearing) ends() {
	lo, _ := c.lim.window()
	for _, i := range c.order {
		n := len(c.gone[i])
		most := min(n, int(math.Ceil(c.lim.ShortM/stationM)))
		for _, back := range [2]bool{false, true} {
			at := func(k int) int {
				if back {
					return n - 1 - k
				}
				return k
			}
			k := 0
			for k < most && c.crowded(i, at(k), lo) {
				k++
			}
			if k == most && most < n {
				continue
			}
			for j := range k {
				c.gone[i][at(j)] = true
			}
		}
	}
}

// crowded reports whether what is left of another row is nearer than d to either
// end of station k of row i.
func (c *clearing) crowded(i, k int, d float64) (yes bool) {
	if len(c.chains[i].m) < 2 {
		return true
	}
	c.place(i)
	for end := range 2 {
		if c.alone(i, k+end) {
			continue
		}
		p := c.places[i][k+end]
		c.index.Search(orb.Bound{Min: p, Max: p}.Pad(d), func(s int) bool {
			r := c.row[s]
			if r == i {
				return true
			}
			a, b := c.index.Segment(s)
			length := distM(a, b)
			t := max(0, min(1, ((p[0]-a[0])*(b[0]-a[0])+(p[1]-a[1])*(b[1]-a[1]))/(length*length)))
			at := int((c.from[s] + t*length) / c.chains[r].lengthM() * float64(len(c.gone[r])))
			yes = !c.gone[r][min(at, len(c.gone[r])-1)] && distM(p, along(a, b, t)) < d
			return !yes
		})
		if yes {
			return true
		}
	}
	return false
}

// place finds the places of row i.
func (c *clearing) place(i int) {
	if c.places[i] != nil {
		return
	}
	ch, n := &c.chains[i], len(c.gone[i])
	width, seg := ch.lengthM()/float64(n), 0
	c.places[i], c.lonely[i] = make([]orb.Point, n+1), make([]tested, n+1)
	for k := range c.places[i] {
		c.places[i][k], seg = ch.at(width*float64(k), seg)
	}
}

// alone reports whether place k of row i has no other row within the narrowest
// spacing.
func (c *clearing) alone(i, k int) bool {
	if c.lonely[i][k] == untested {
		c.lonely[i][k] = alone
		lo, _ := c.lim.window()
		lo = max(lo, c.lim.FloorM())
		p := c.places[i][k]
		near := orb.Bound{Min: p, Max: p}.Pad(lo)
		if c.knownAlone(i, k, near) {
			return true
		}
		c.index.Search(near, func(s int) bool {
			if a, b := c.index.Segment(s); c.row[s] != i && polygon.PointSegmentM(p, a, b) <= lo+geo.CoincidentM {
				c.lonely[i][k] = beset
			}
			return c.lonely[i][k] == alone
		})
	}
	return c.lonely[i][k] == alone
}

// result is what is left, without pieces that do not pay. Gaps are at least
// GapM wide.
func (c *clearing) result() (out []Row) {
	for i, r := range c.rows {
		if !slices.Contains(c.gone[i], true) {
			out = append(out, r)
			continue
		}
		ch, n := &c.chains[i], len(c.gone[i])
		width := ch.lengthM() / float64(n)
		var taken [][2]float64
		for k := 0; k < n; k++ {
			if !c.gone[i][k] {
				continue
			}
			from := k
			for k+1 < n && c.gone[i][k+1] {
				k++
			}
			taken = widen(taken, width*float64(from), width*float64(k+1), ch.lengthM(), c.lim.GapM)
		}
		at := 0.0
		for _, t := range append(taken, [2]float64{ch.lengthM(), ch.lengthM()}) {
			if line := ch.easyPart(at, t[0], c.lim); line != nil {
				out = append(out, Row{line, r.Number, r.Zone})
			}
			at = t[1]
		}
	}
	return out
}

// widen appends a stretch to take out of a row of a length, at least gap wide
// unless it lies at an end, and merged with the one before.
func widen(taken [][2]float64, from, to, length, gap float64) [][2]float64 {
	if from > 0 && to < length {
		more := max(0, (gap-(to-from))/2)
		from, to = max(0, from-more), min(length, to+more)
	}
	if n := len(taken); n > 0 && from <= taken[n-1][1] {
		taken[n-1][1] = max(taken[n-1][1], to)
		return taken
	}
	return append(taken, [2]float64{from, to})
}
