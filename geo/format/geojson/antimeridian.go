package geojson

import (
	"math"
	"slices"

	"hemrow/geo"
)

// cut is the polygons and lines as they are written: turned and closed, with
// longitudes in [-180, 180], cut where they cross the antimeridian. Latitude
// and height at the cut lie on the straight line between the two vertices in
// longitude and latitude, which is what a segment is (RFC 7946 section 3.1.1).
func (g OutGeometry) cut() (polygons []OutPolygon, lines []Path) {
	for _, p := range g.Polygons {
		polygons = append(polygons, cutPolygon(p)...)
	}
	for _, l := range g.Lines {
		lines = append(lines, cutLine(l)...)
	}
	return polygons, lines
}

// vertex is one position of a path.
type vertex struct {
	geo.LonLat
	zM float64 // NaN for none
}

func (p Path) vertex(i int) vertex {
	v := vertex{p.At[i], math.NaN()}
	if p.HeightsM != nil {
		v.zM = p.HeightsM[i]
	}
	return v
}

func (p *Path) add(v vertex) {
	if p.HeightsM == nil && !math.IsNaN(v.zM) {
		p.HeightsM = make([]float64, len(p.At), cap(p.At))
		for i := range p.HeightsM {
			p.HeightsM[i] = math.NaN()
		}
	}
	p.At = append(p.At, v.LonLat)
	if p.HeightsM != nil {
		p.HeightsM = append(p.HeightsM, v.zM)
	}
}

// inside reports whether all longitudes are in [-180, 180] and no step is
// longer than half the earth, so that nothing needs cutting.
func (p Path) inside() bool {
	for i, at := range p.At {
		if math.Abs(at.LonDeg) > 180 || i > 0 && math.Abs(at.LonDeg-p.At[i-1].LonDeg) > 180 {
			return false
		}
	}
	return true
}

// fold brings longitudes back into [-180, 180].
func fold(p Path) Path {
	out := Path{At: slices.Clone(p.At), HeightsM: p.HeightsM}
	for i, at := range out.At {
		if math.Abs(at.LonDeg) > 180 {
			out.At[i].LonDeg = geo.WrapLonDeg(at.LonDeg)
		}
	}
	return out
}

// unwrap returns the vertices with longitudes that never jump: each is the one
// nearest to that before it.
func (p Path) unwrap() []vertex {
	out := make([]vertex, len(p.At))
	turns := 0.0
	for i := range p.At {
		out[i] = p.vertex(i)
		if i > 0 {
			turns += turn(p.At[i-1], p.At[i])
		}
		out[i].LonDeg += 360 * turns
	}
	return out
}

// turn is how many whole circles bring b within half a circle of a.
func turn(a, b geo.LonLat) float64 {
	switch step := b.LonDeg - a.LonDeg; {
	case step > 180:
		return -math.Ceil((step - 180) / 360)
	case step < -180:
		return math.Ceil((-step - 180) / 360)
	}
	return 0
}

// winds reports whether a ring runs around the earth, so that it has no inside
// in the plane of longitude and latitude.
func (p Path) winds() bool {
	turns := 0.0
	for i := range p.At {
		turns += turn(p.At[i], p.At[(i+1)%len(p.At)])
	}
	return turns != 0
}

// sheet numbers the turns of the earth: 0 is [-180, 180].
func sheet(lonDeg float64) float64 { return math.Ceil((lonDeg - 180) / 360) }

// at is the vertex where the segment from a to b has the longitude.
func at(a, b vertex, lonDeg float64) vertex {
	t := (lonDeg - a.LonDeg) / (b.LonDeg - a.LonDeg)
	return vertex{
		geo.LonLat{LonDeg: lonDeg, LatDeg: a.LatDeg + t*(b.LatDeg-a.LatDeg)},
		a.zM + t*(b.zM-a.zM), // NaN if either has none
	}
}

// shifted is v moved from sheet k to sheet 0.
func (v vertex) shifted(k float64) vertex {
	v.LonDeg -= 360 * k
	return v
}

func cutLine(p Path) []Path {
	if p.inside() {
		return []Path{p}
	}
	vs := p.unwrap()
	var out []Path
	now := Path{}
	k := sheet(vs[0].LonDeg)
	if vs[0].LonDeg == 180+360*k && vs[1].LonDeg > vs[0].LonDeg {
		k++ // starts on the line and leaves eastward
	}
	now.add(vs[0].shifted(k))
	for i := 1; i < len(vs); i++ {
		a, b := vs[i-1], vs[i]
		for b.LonDeg > 180+360*k || b.LonDeg < -180+360*k {
			step, edge := 1.0, 180+360*k
			if b.LonDeg < -180+360*k {
				step, edge = -1, -180+360*k
			}
			c := a
			if a.LonDeg != edge {
				c = at(a, b, edge)
				now.add(c.shifted(k))
			}
			if len(now.At) > 1 {
				out = append(out, now)
			}
			now = Path{}
			k += step
			now.add(c.shifted(k))
			a = c
		}
		now.add(b.shifted(k))
	}
	if len(now.At) > 1 {
		out = append(out, now)
	}
	return out
}

// cutPolygon returns p turned, closed, and cut into the parts that lie on each
// sheet of the earth.
func cutPolygon(p OutPolygon) []OutPolygon {
	whole := true
	for _, r := range p {
		whole = whole && r.inside()
	}
	var rings [][]vertex
	for i, r := range p {
		vs := corners(r)
		if !whole && i > 0 { // a hole lies on the same side as its outer ring
			by := 360 * math.Round((rings[0][0].LonDeg-vs[0].LonDeg)/360)
			for k := range vs {
				vs[k].LonDeg += by
			}
		}
		if (twiceAreaDeg2(vs) < 0) == (i == 0) {
			slices.Reverse(vs[1:])
		}
		rings = append(rings, vs)
	}
	if whole {
		out := make(OutPolygon, len(rings))
		for i, vs := range rings {
			out[i] = closed(vs, 0)
		}
		return []OutPolygon{out}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range rings[0] {
		low, high = math.Min(low, v.LonDeg), math.Max(high, v.LonDeg)
	}
	var out []OutPolygon
	for k := sheet(math.Nextafter(low, high)); k <= sheet(high); k++ {
		east := side(rings, -180+360*k, 1)
		out = append(out, assemble(side(east, 180+360*k, -1), k)...)
	}
	if len(out) == 0 { // without area nothing can be cut, but it must not vanish
		flat := make(OutPolygon, len(rings))
		for i, vs := range rings {
			flat[i] = fold(closed(vs, 0))
		}
		return []OutPolygon{flat}
	}
	return out
}

// corners is the vertices of a ring, unwrapped, without the closing one.
func corners(r Path) []vertex {
	vs := r.unwrap()
	if n := len(vs); n > 1 && vs[0].LonLat == vs[n-1].LonLat {
		vs = vs[:n-1]
	}
	return vs
}

// twiceAreaDeg2 is twice the area in the plane of longitude and latitude; only
// its sign matters.
func twiceAreaDeg2(vs []vertex) float64 {
	var sum float64
	for i := range vs {
		a, b := vs[i], vs[(i+1)%len(vs)]
		sum += (a.LonDeg-vs[0].LonDeg)*(b.LatDeg-vs[0].LatDeg) - (b.LonDeg-vs[0].LonDeg)*(a.LatDeg-vs[0].LatDeg)
	}
	return sum
}

// closed is a ring to write, its first vertex repeated.
func closed(vs []vertex, k float64) Path {
	out := Path{At: make([]geo.LonLat, 0, len(vs)+1)}
	for _, v := range vs {
		out.add(v.shifted(k))
	}
	out.add(vs[0].shifted(k))
	return out
}

// side keeps what lies on one side of the meridian lonDeg: east of it for
// sign 1, west for -1. Rings that cross are cut into chains, which are joined
// along the meridian: between the ends of chains, sorted by latitude, every
// second gap is ground.
//
//	   |  a---b            ends on the meridian from the south: 1 2 3 4
//	4--+-/    |            ground between 1 and 2, and between 3 and 4;
//	3--+-\    |            chains 4..3 and 2..1 with the two gaps make a ring
//	   |  d   |            each, or one ring if they are ends of the same chain
//	2--+-/    |
//	1--+------c
func side(rings [][]vertex, lonDeg, sign float64) [][]vertex {
	keep := func(v vertex) bool { return sign*(v.LonDeg-lonDeg) > 0 }
	var out, chains [][]vertex
	for _, r := range rings {
		first := -1
		for i := range r {
			if !keep(r[i]) && keep(r[(i+1)%len(r)]) {
				first = i
				break
			}
		}
		if first < 0 {
			if keep(r[0]) {
				out = append(out, r)
			}
			continue
		}
		var chain []vertex
		for n := range r {
			a, b := r[(first+n)%len(r)], r[(first+n+1)%len(r)]
			switch {
			case !keep(a) && keep(b):
				chain = append([]vertex{at(a, b, lonDeg)}, b)
			case keep(a) && keep(b):
				chain = append(chain, b)
			case keep(a) && !keep(b):
				chains = append(chains, append(chain, at(a, b, lonDeg)))
			}
		}
	}
	return append(out, join(chains)...)
}

// join links the ends of chains along the meridian they end on.
func join(chains [][]vertex) [][]vertex {
	type end struct {
		chain  int
		finish bool
		latDeg float64
	}
	var ends []end
	for i, c := range chains {
		ends = append(ends, end{i, false, c[0].LatDeg}, end{i, true, c[len(c)-1].LatDeg})
	}
	slices.SortStableFunc(ends, func(a, b end) int {
		switch {
		case a.latDeg < b.latDeg:
			return -1
		case a.latDeg > b.latDeg:
			return 1
		}
		return 0
	})
	next := make([]int, len(chains)) // the chain that follows each
	for i := range next {
		next[i] = i
	}
	for i := 0; i+1 < len(ends); i += 2 {
		a, b := ends[i], ends[i+1]
		if a.finish == b.finish { // the outline crosses itself here
			return chains
		}
		if a.finish {
			next[a.chain] = b.chain
		} else {
			next[b.chain] = a.chain
		}
	}
	var out [][]vertex
	used := make([]bool, len(chains))
	for i := range chains {
		var ring []vertex
		for k := i; !used[k]; k = next[k] {
			used[k] = true
			for _, v := range chains[k] {
				if n := len(ring); n == 0 || ring[n-1].LonLat != v.LonLat {
					ring = append(ring, v)
				}
			}
		}
		for len(ring) > 1 && ring[0].LonLat == ring[len(ring)-1].LonLat {
			ring = ring[:len(ring)-1]
		}
		if len(ring) > 2 {
			out = append(out, ring)
		}
	}
	return out
}

// assemble makes polygons of rings on sheet k: those that run counter-clockwise
// are outer ones, the others holes of the smallest outer ring around them.
func assemble(rings [][]vertex, k float64) []OutPolygon {
	var outer [][]vertex
	var out []OutPolygon
	for _, r := range rings {
		if twiceAreaDeg2(r) > 0 {
			outer = append(outer, r)
			out = append(out, OutPolygon{closed(r, k)})
		}
	}
	for _, r := range rings {
		if twiceAreaDeg2(r) >= 0 {
			continue
		}
		best := -1
		for i, o := range outer {
			if surrounds(o, r) && (best < 0 || twiceAreaDeg2(o) < twiceAreaDeg2(outer[best])) {
				best = i
			}
		}
		if best >= 0 {
			out[best] = append(out[best], closed(r, k))
		}
	}
	return out
}

// surrounds reports whether most vertices of hole lie inside outer.
func surrounds(outer, hole []vertex) bool {
	in := 0
	for _, p := range hole {
		odd := false
		for i := range outer {
			a, b := outer[i], outer[(i+1)%len(outer)]
			if (a.LatDeg > p.LatDeg) != (b.LatDeg > p.LatDeg) && p.LonDeg < at(swapped(a), swapped(b), p.LatDeg).LatDeg {
				odd = !odd
			}
		}
		if odd {
			in++
		}
	}
	return 2*in > len(hole)
}

// swapped has longitude and latitude the other way round, so that at can find
// the longitude for a latitude.
func swapped(v vertex) vertex {
	v.LonDeg, v.LatDeg = v.LatDeg, v.LonDeg
	return v
}
