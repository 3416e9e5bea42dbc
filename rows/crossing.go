package rows

import (
	"context"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/rows/contour"
)

// crossings divides bent rows by cross alleys. The longest row is cut first, into
// as few parts as keep the longest run. Its alley goes on from row to row square
// to them, as far as there is a next row on either side, and divides every row it
// meets, so that it can be driven; of several places the one is taken where the
// alley costs least: row taken out, stubs too short to lay, and what is still too
// long afterwards. That is repeated until no row is too long.
type crossings struct {
	ctx              context.Context
	longestM, widthM float64
	limits           contour.Limits
	rows             []contour.Row
	alleys           []orb.LineString
	met              map[[2]int]bool // rows divided, by zone and number
}

// alleyTries is how many places along a row are tried for an alley.
const alleyTries = 7

// run divides the rows.
func (c *crossings) run() {
	c.met = map[[2]int]bool{}
	for {
		i := c.longest()
		if i < 0 {
			return
		}
		lengthM := lineM(c.rows[i].Line)
		most := min(c.longestM, lengthM-c.widthM) // of the part before the alley
		least := max(0, lengthM-float64(c.cuts(lengthM))*(c.longestM+c.widthM))
		var best []crossed
		low := math.Inf(1)
		for k := range alleyTries {
			part := least + (most-least)*float64(k)/(alleyTries-1)
			met := c.trace(i, part+c.widthM/2)
			if cost := c.costM(met); cost < low-geo.CoincidentM {
				best, low = met, cost
			}
		}
		alley := c.line(best)
		before := totalM(c.rows)
		c.divide(alley)
		if c.ctx.Err() != nil || totalM(c.rows) > before-geo.CoincidentM {
			return // a cut that takes nothing would be made for ever
		}
		c.alleys = append(c.alleys, alley)
	}
}

// line is the middle line of an alley through places; one across a single row
// reaches half a spacing to either side.
func (c *crossings) line(met []crossed) orb.LineString {
	if len(met) == 1 {
		m := met[0]
		dx, dy := -m.t[1]*c.limits.SpacingM/2, m.t[0]*c.limits.SpacingM/2
		return orb.LineString{{m.at[0] - dx, m.at[1] - dy}, {m.at[0] + dx, m.at[1] + dy}}
	}
	alley := make(orb.LineString, len(met))
	for k, m := range met {
		alley[k] = m.at
	}
	return alley
}

// cuts is how many alleys a row of that length needs.
func (c *crossings) cuts(lengthM float64) int {
	if lengthM <= c.longestM+geo.CoincidentM {
		return 0
	}
	return int(math.Ceil((lengthM - c.longestM - geo.CoincidentM) / (c.longestM + c.widthM)))
}

// costM is what an alley costs, in metres of row. A cut that is still needed
// afterwards counts as one more alley across the row and one more piece.
func (c *crossings) costM(met []crossed) (sum float64) {
	again := c.widthM + c.limits.TurnM
	for _, m := range met {
		lengthM := lineM(c.rows[m.row].Line)
		sum -= again * float64(c.cuts(lengthM))
		left := lengthM
		for _, part := range [2]float64{min(lengthM, m.atM-c.widthM/2), min(lengthM, lengthM-m.atM-c.widthM/2)} {
			if part >= c.limits.DropM && part > 0 {
				left -= part
				sum += again * float64(c.cuts(part))
			}
		}
		sum += left
	}
	return sum
}

// longest is the longest of the rows that are too long, or -1.
func (c *crossings) longest() int {
	best, most := -1, c.longestM+geo.CoincidentM
	for i, r := range c.rows {
		if m := lineM(r.Line); m > most {
			best, most = i, m
		}
	}
	return best
}

// crossed is a place where an alley meets a row.
type crossed struct {
	row   int
	atM   float64 // along the row
	at    orb.Point
	t     orb.Point // unit direction of the row
	distM float64
}

// trace finds the places where an alley from row i, atM along it, meets rows.
func (c *crossings) trace(i int, atM float64) []crossed {
	from := placeOn(c.rows[i].Line, atM)
	from.row = i
	met := []crossed{from}
	seen := map[int]bool{i: true}
	for _, side := range [2]float64{1, -1} {
		here, turn := from, side
		for {
			next, ok := c.next(here, turn, seen)
			if !ok {
				break
			}
			seen[next.row] = true
			if next.t[0]*here.t[0]+next.t[1]*here.t[1] < 0 {
				turn = -turn // that row runs the other way
			}
			if side > 0 {
				met = append(met, next)
			} else {
				met = slices.Insert(met, 0, next)
			}
			here = next
		}
	}
	return met
}

// next is the nearest row to the side, left of here for turn +1. A row that ends
// before the alley, but within its width, is met where it would run on.
func (c *crossings) next(here crossed, turn float64, seen map[int]bool) (best crossed, ok bool) {
	best.distM = contour.SightRatio * c.limits.SpacingM
	box := orb.Bound{Min: here.at, Max: here.at}.Pad(math.Hypot(best.distM, c.widthM))
	for i, r := range c.rows {
		if seen[i] || !r.Line.Bound().Intersects(box) {
			continue
		}
		n := nearestOn(r.Line, here.at)
		short := (here.at[0]-n.at[0])*n.t[0] + (here.at[1]-n.at[1])*n.t[1]
		if math.Abs(short) > c.widthM/2 {
			continue
		}
		n.at[0], n.at[1], n.atM = n.at[0]+short*n.t[0], n.at[1]+short*n.t[1], n.atM+short
		n.distM = distM(n.at, here.at)
		dx, dy := n.at[0]-here.at[0], n.at[1]-here.at[1]
		// nearer to square than 45 degrees, and on the side asked for
		if left := turn * (here.t[0]*dy - here.t[1]*dx); n.distM < best.distM && left > math.Sqrt2/2*n.distM {
			n.row = i
			best, ok = n, true
		}
	}
	return best, ok
}

// divide takes out of all rows what lies in an alley.
func (c *crossings) divide(alley orb.LineString) {
	var edges []edge
	for k := 1; k < len(alley); k++ {
		edges = append(edges, edge{a: alley[k-1], b: alley[k]})
	}
	half := c.widthM / 2
	o := newOpening(edges, half, func(int, float64, float64) float64 { return half })
	box := alley.Bound().Pad(half)
	var out []contour.Row
	for _, r := range c.rows {
		if !r.Line.Bound().Intersects(box) {
			out = append(out, r)
			continue
		}
		parts := o.cut([]contour.Row{r})
		if len(parts) != 1 || lineM(parts[0].Line) < lineM(r.Line)-geo.CoincidentM {
			c.met[[2]int{r.Zone, r.Number}] = true
		}
		for _, part := range parts {
			if part.Line = contour.Ease(part.Line, c.limits); len(part.Line) > 1 {
				out = append(out, part)
			}
		}
	}
	c.rows = out
}

// totalM is the length of all rows.
func totalM(rows []contour.Row) (sum float64) {
	for _, r := range rows {
		sum += lineM(r.Line)
	}
	return sum
}

// lineM is the length of a line in the plane of the frame.
func lineM(l orb.LineString) (sum float64) {
	for i := 1; i < len(l); i++ {
		sum += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
	}
	return sum
}

// placeOn is the place of a line at a distance along it.
func placeOn(l orb.LineString, atM float64) crossed {
	var sum float64
	for i := 1; ; i++ {
		a, b := l[i-1], l[i]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		if sum+d >= atM || i == len(l)-1 {
			return crossed{at: between(a, b, (atM-sum)/d), t: orb.Point{(b[0] - a[0]) / d, (b[1] - a[1]) / d}, atM: atM}
		}
		sum += d
	}
}

// nearestOn is the place of a line nearest to p.
func nearestOn(l orb.LineString, p orb.Point) (best crossed) {
	best.distM = math.Inf(1)
	var sum float64
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		dx, dy := b[0]-a[0], b[1]-a[1]
		d := math.Hypot(dx, dy)
		if d == 0 {
			continue
		}
		t := max(0, min(1, ((p[0]-a[0])*dx+(p[1]-a[1])*dy)/(d*d)))
		q := between(a, b, t)
		if m := math.Hypot(q[0]-p[0], q[1]-p[1]); m < best.distM {
			best = crossed{at: q, t: orb.Point{dx / d, dy / d}, atM: sum + t*d, distM: m}
		}
		sum += d
	}
	return best
}
