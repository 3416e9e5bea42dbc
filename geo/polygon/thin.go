package polygon

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Thin leaves out vertices of a closed ring so that no vertex left out lies
// farther than tolM from the ring that remains. The ring stays simple if it
// was, and its area changes by less than ThinAreaRatio: if thinning breaks
// either, the tolerance is halved until it does not, at the last to none. The
// result is a new ring; vertices keep their order and exact place.
// Source: D. H. Douglas and T. K. Peucker, Cartographica 10 (1973) 112-122.
func Thin(r orb.Ring, tolM float64) orb.Ring {
	v := open(r)
	if v.len() < 4 || !(tolM > 0) {
		return r.Clone()
	}
	area := v.areaM2()
	simple := !hasEvents(v)
	for range maxHalvings {
		t := v.thinned(tolM)
		if t.len() >= 3 && math.Abs(t.areaM2()-area) < geo.ThinAreaRatio*area && !(simple && hasEvents(t)) {
			return t.closed()
		}
		tolM /= 2
	}
	return r.Clone()
}

// maxHalvings takes a tolerance of a centimetre down to 1e-8 m.
const maxHalvings = 20

// thinned keeps vertex 0, the one farthest from it, and whatever Douglas and
// Peucker's rule keeps between.
func (v ring) thinned(tolM float64) (out ring) {
	n := v.len()
	far := 0
	for i := range v.pt {
		if distance(v.pt[0], v.pt[i]) > distance(v.pt[0], v.pt[far]) {
			far = i
		}
	}
	keep := make([]bool, n)
	keep[0], keep[far] = true, true
	todo := [][2]int{{0, far}, {far, n}}
	for len(todo) > 0 {
		lo, hi := todo[len(todo)-1][0], todo[len(todo)-1][1]
		todo = todo[:len(todo)-1]
		worst, at := tolM, -1
		for i := lo + 1; i < hi; i++ {
			if d := PointSegmentM(v.pt[i], v.pt[lo], v.pt[hi%n]); d > worst {
				worst, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, [2]int{lo, at}, [2]int{at, hi})
		}
	}
	for i, k := range keep {
		if k {
			out.pt, out.src = append(out.pt, v.pt[i]), append(out.src, v.src[i])
		}
	}
	return out
}
