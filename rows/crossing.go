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

// crossings divides bent rows by cross alleys. The longest row is cut into
// equal parts that keep the longest run, by the fewest alleys; each alley goes on
// from row to row square to them, as far as there is a next row on either side,
// and divides every row it meets, so that it can be driven. That is repeated
// until no row is too long.
type crossings struct {
	longestM, widthM, spacingM float64
	limits                     contour.Limits
	rows                       []contour.Row
	alleys                     []orb.LineString
	divided                    int
}

// sightSpacings is how far to the side the next row may be, in spacings: as far
// as rows count as neighbours when they are judged.
const sightSpacings = 1.8

// run divides the rows.
func (c *crossings) run() {
	for {
		i := c.longest()
		if i < 0 {
			return
		}
		lengthM := lineM(c.rows[i].Line)
		n := math.Ceil((lengthM + c.widthM) / (c.longestM + c.widthM))
		part := (lengthM - (n-1)*c.widthM) / n
		line := c.rows[i].Line
		for k := range int(n) - 1 {
			c.cross(line, part+float64(k)*(part+c.widthM)+c.widthM/2)
		}
	}
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

// cross drives one alley from the place atM along a line, which is that of a row
// before it was divided.
func (c *crossings) cross(line orb.LineString, atM float64) {
	from := placeOn(line, atM)
	from.row = c.holding(from.at)
	if from.row < 0 {
		return // another alley has taken it
	}
	from.atM = c.chainage(from.row, from.at)
	met := []crossed{from}
	seen := map[int]bool{from.row: true}
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
	alley := make(orb.LineString, len(met))
	for i, m := range met {
		alley[i] = m.at
	}
	c.alleys = append(c.alleys, alley)
	c.divide(met)
}

// holding is the row that passes through p.
func (c *crossings) holding(p orb.Point) int {
	for i, r := range c.rows {
		for k := 1; k < len(r.Line); k++ {
			if polygon.PointSegmentM(p, r.Line[k-1], r.Line[k]) < geo.CoincidentM {
				return i
			}
		}
	}
	return -1
}

// chainage is where along row i the point of it nearest to p lies.
func (c *crossings) chainage(i int, p orb.Point) float64 { return nearestOn(c.rows[i].Line, p).atM }

// next is the nearest row to the side, left of here for turn +1. A row that ends
// before the alley, but within its width, is met where it would run on.
func (c *crossings) next(here crossed, turn float64, seen map[int]bool) (best crossed, ok bool) {
	best.distM = sightSpacings * c.spacingM
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

// divide cuts the rows at the places met.
func (c *crossings) divide(met []crossed) {
	slices.SortFunc(met, func(a, b crossed) int { return cmp.Compare(b.row, a.row) })
	for _, m := range met {
		r := c.rows[m.row]
		lengthM := lineM(r.Line)
		var parts []contour.Row
		for _, span := range [2]interval{{0, m.atM - c.widthM/2}, {m.atM + c.widthM/2, lengthM}} {
			if span.hi-span.lo <= geo.CoincidentM {
				continue
			}
			if line := contour.Ease(partOf(r.Line, span.lo, span.hi), c.limits); len(line) > 1 {
				parts = append(parts, contour.Row{Line: line, Number: r.Number, Zone: r.Zone})
			}
		}
		c.rows = slices.Replace(c.rows, m.row, m.row+1, parts...)
		c.divided++
	}
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

// partOf is a line from one distance along it to another.
func partOf(l orb.LineString, fromM, toM float64) orb.LineString {
	out := orb.LineString{placeOn(l, fromM).at}
	var sum float64
	for i := 1; i < len(l); i++ {
		sum += math.Hypot(l[i][0]-l[i-1][0], l[i][1]-l[i-1][1])
		if sum > fromM+geo.CoincidentM && sum < toM-geo.CoincidentM {
			out = append(out, l[i])
		}
	}
	return append(out, placeOn(l, toM).at)
}
