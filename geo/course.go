package geo

import (
	"math"

	"github.com/paulmach/orb"
)

// Course is a line in degrees, with places put in where a straight segment of
// longitude and latitude would stray from the line by more than
// [CurveChordM]. Longitudes do not jump at 180 degrees: they stay within 180
// of the origin's.
func (f Frame) Course(l Line) []LonLat {
	out := make([]LonLat, 0, l.Len())
	for i := range l.Len() {
		if i > 0 {
			a, b := l.At(i-1), l.At(i)
			n := f.StraightParts(a, b, CurveChordM)
			for k := 1; k < n; k++ {
				out = append(out, f.Unwrapped(along(a, b, float64(k)/float64(n))))
			}
		}
		out = append(out, f.Unwrapped(l.At(i)))
	}
	return out
}

// Unwrapped is [Frame.ToLonLat] with a longitude within 180 degrees of the
// origin's, so that a field over the antimeridian does not jump.
func (f Frame) Unwrapped(p orb.Point) LonLat {
	ll := f.ToLonLat(p)
	ll.LonDeg = f.origin.LonDeg + WrapLonDeg(ll.LonDeg-f.origin.LonDeg)
	return ll
}

func along(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// mostParts bounds the parts of one segment; that many hold 2 mm over 100 km
// at 89 degrees of latitude, longer than any row.
const mostParts = 4096

// StraightParts is the number of equal parts that keeps straight segments of
// longitude and latitude within strayM of the segment ab. The stray of a part
// falls with the square of its length, but is not the same for all: it grows
// with tan(latitude), so that the first or the last part strays most, and both
// are measured.
func (f Frame) StraightParts(a, b orb.Point, strayM float64) int {
	if math.Hypot(b[0]-a[0], b[1]-a[1]) < CoincidentM || !(strayM > 0) {
		return 1
	}
	n := 1
	for n < mostParts {
		t := 1 / float64(n)
		worst := max(f.strayM(a, along(a, b, t)), f.strayM(along(a, b, 1-t), b))
		if worst <= strayM {
			return n
		}
		n = max(n+1, int(math.Ceil(float64(n)*math.Sqrt(worst/strayM))))
	}
	return mostParts
}

// strayM bounds how far a straight segment of longitude and latitude runs
// beside the segment ab of the frame: L² tan(latitude)/8R in the middle of one
// of length L that runs east and west (RFC 7946 section 3.1.1 makes segments
// straight in degrees). The latitude changes along a slanting one, so the stray
// is a cubic that is zero at both ends, t(1-t)(p + q(1-2t)). It is measured at
// both quarters, which gives p and q; the two parts are at most |p|/4 and
// |q| sqrt(3)/18.
func (f Frame) strayM(a, b orb.Point) float64 {
	p, q := f.Unwrapped(a), f.Unwrapped(b)
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := math.Hypot(dx, dy)
	beside := func(t float64) float64 {
		m := f.ToLocal(LonLat{p.LonDeg + t*(q.LonDeg-p.LonDeg), p.LatDeg + t*(q.LatDeg-p.LatDeg)})
		return ((m[0]-a[0])*dy - (m[1]-a[1])*dx) / length
	}
	early, late := beside(0.25), beside(0.75)
	even, odd := (early+late)/(2*3.0/16), (early-late)/(2*3.0/32)
	return math.Abs(even)/4 + math.Abs(odd)*math.Sqrt(3)/18
}
