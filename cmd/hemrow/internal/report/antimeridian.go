package report

import (
	"cmp"
	"math"
	"slices"

	"hemrow/cmd/hemrow/internal/result"
)

// A document's longitudes run on past 180 so that its lines do not jump; in
// GeoJSON they must not (RFC 7946, section 3.1.9). The functions here cut at
// the antimeridian and fold what lies beyond it.

type ring = []result.Position

// cutAt is the meridian that divides places, if one does: an odd multiple of
// 180 with places on both sides.
func cutAt(rings []ring) (lonDeg float64, ok bool) {
	west, east := math.Inf(1), math.Inf(-1)
	for _, r := range rings {
		for _, p := range r {
			west, east = min(west, p[0]), max(east, p[0])
		}
	}
	for _, c := range [...]float64{-180, 180} {
		if west < c && east > c {
			return c, true
		}
	}
	return 0, false
}

// wrapped folds longitudes into [-180, 180]; a place on the antimeridian goes
// to the side of the rest.
func wrapped(l ring) ring {
	var mean float64
	for _, p := range l {
		mean += p[0] / float64(len(l))
	}
	turn := 360 * math.Round(mean/360)
	if turn == 0 {
		return l
	}
	out := make(ring, len(l))
	for i, p := range l {
		out[i] = slices.Clone(p)
		out[i][0] = p[0] - turn
	}
	return out
}

// crossing is the place where a segment meets the meridian.
func crossing(a, b result.Position, lonDeg float64) result.Position {
	t := (lonDeg - a[0]) / (b[0] - a[0])
	p := result.Position{lonDeg, a[1] + t*(b[1]-a[1])}
	if len(a) > 2 && len(b) > 2 {
		p = append(p, a[2]+t*(b[2]-a[2]))
	}
	return p
}

// cutLine divides a line at the antimeridian.
func cutLine(l ring) []ring {
	c, ok := cutAt([]ring{l})
	if !ok {
		return []ring{wrapped(l)}
	}
	var out []ring
	part := ring{l[0]}
	for i := 1; i < len(l); i++ {
		if beyond(l[i-1], c) != beyond(l[i], c) {
			x := crossing(l[i-1], l[i], c)
			part = append(part, x)
			out = append(out, part)
			part = ring{x}
		}
		part = append(part, l[i])
	}
	out = append(out, part)
	for i := range out {
		out[i] = wrapped(out[i])
	}
	return out
}

func beyond(p result.Position, lonDeg float64) bool { return p[0] >= lonDeg }

// cutPolygon divides a polygon at the antimeridian into polygons that lie on
// one side of it each.
func cutPolygon(rings []ring) [][]ring {
	c, ok := cutAt(rings)
	if !ok {
		one := make([]ring, len(rings))
		for i, r := range rings {
			one[i] = wrapped(r)
		}
		return [][]ring{one}
	}
	var out [][]ring
	for _, far := range [...]bool{false, true} {
		var outers, holes, chains []ring
		for i, r := range rings {
			whole, parts := side(r, c, far)
			chains = append(chains, parts...)
			if whole && i == 0 {
				outers = append(outers, r)
			} else if whole {
				holes = append(holes, r)
			}
		}
		outers = append(outers, join(chains)...)
		for _, o := range outers {
			p := []ring{wrapped(o)}
			for _, h := range holes {
				if inside(h[0], o) {
					p = append(p, wrapped(h))
				}
			}
			out = append(out, p)
		}
	}
	return out
}

// side is what of a ring lies on one side: all of it, or the chains that begin
// and end on the meridian, in the ring's direction.
func side(r ring, c float64, far bool) (whole bool, chains []ring) {
	n := len(r) - 1 // the last is the first
	start := -1
	for i := range n {
		if beyond(r[i], c) != far && beyond(r[i+1], c) == far {
			start = i
			break
		}
	}
	if start < 0 {
		return beyond(r[0], c) == far, nil
	}
	var chain ring
	for k := range n {
		a, b := r[(start+k)%n], r[(start+k)%n+1]
		switch in, out := beyond(b, c) == far, beyond(a, c) == far; {
		case in && !out:
			chain = ring{crossing(a, b, c), b}
		case in:
			chain = append(chain, b)
		case out:
			chains = append(chains, append(chain, crossing(a, b, c)))
		}
	}
	return false, chains
}

// join closes chains along the meridian: sorted by latitude, the meridian is
// inside the polygon between the first and second end, the third and fourth.
func join(chains []ring) (out []ring) {
	type end struct {
		chain int
		tail  bool
		lat   float64
	}
	var ends []end
	for i, c := range chains {
		ends = append(ends, end{i, false, c[0][1]}, end{i, true, c[len(c)-1][1]})
	}
	slices.SortStableFunc(ends, func(a, b end) int { return cmp.Compare(a.lat, b.lat) })
	next := make([]int, len(chains))
	for i, e := range ends {
		if e.tail {
			next[e.chain] = ends[i^1].chain
		}
	}
	used := make([]bool, len(chains))
	for i := range chains {
		var r ring
		for k := i; !used[k]; k = next[k] {
			used[k] = true
			r = append(r, chains[k]...)
		}
		if r != nil {
			out = append(out, append(r, r[0]))
		}
	}
	return out
}

// inside reports a place in a ring, by the parity of crossings to the east.
func inside(p result.Position, r ring) (in bool) {
	for i := 1; i < len(r); i++ {
		a, b := r[i-1], r[i]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
	}
	return in
}

// wound is the ring in the direction of RFC 7946: outer ones counter-clockwise.
func wound(r ring, outer bool) ring {
	var area2 float64
	for i := 1; i < len(r); i++ {
		a, b := r[i-1], r[i]
		area2 += (a[0]-r[0][0])*(b[1]-r[0][1]) - (b[0]-r[0][0])*(a[1]-r[0][1])
	}
	if (area2 > 0) == outer {
		return r
	}
	back := slices.Clone(r)
	slices.Reverse(back)
	return back
}
