package geo

import (
	"math"

	"github.com/paulmach/orb"
)

// Between returns the places that divide the straight way from a to b into
// equal parts, so that straight segments of longitude and latitude through
// them stray from it by at most strayM; none if a and b will do. Longitudes do
// not jump at 180 degrees: they stay within 180 of the origin's.
//
// A segment of length L that runs east and west strays by L² tan(latitude)/8R
// in its middle (RFC 7946 section 3.1.1 makes segments straight in degrees):
// 21 mm for 1 km at 47 degrees. The stray is measured here at three places,
// because that of a long slanting segment is no parabola; it falls at least
// with the square of the number of parts.
func (f Frame) Between(a, b orb.Point, strayM float64) []LonLat {
	p, q := f.unwrapped(a), f.unwrapped(b)
	dx, dy := b[0]-a[0], b[1]-a[1]
	length := math.Hypot(dx, dy)
	if length < CoincidentM || strayM <= 0 {
		return nil
	}
	var stray float64
	for _, t := range [...]float64{0.25, 0.5, 0.75} {
		m := f.ToLocal(LonLat{p.LonDeg + t*(q.LonDeg-p.LonDeg), p.LatDeg + t*(q.LatDeg-p.LatDeg)})
		stray = max(stray, math.Abs((m[0]-a[0])*dy-(m[1]-a[1])*dx)/length)
	}
	if stray <= strayM {
		return nil
	}
	n := min(mostParts, int(math.Ceil(math.Sqrt(stray/strayM))))
	out := make([]LonLat, 0, n-1)
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		out = append(out, f.unwrapped(orb.Point{a[0] + t*dx, a[1] + t*dy}))
	}
	return out
}

// mostParts bounds the places put into one segment; that many hold 2 mm over
// 100 km at 89 degrees of latitude, longer than any row.
const mostParts = 4096

// unwrapped is ToLonLat with a longitude that does not jump at 180.
func (f Frame) unwrapped(p orb.Point) LonLat {
	ll := f.ToLonLat(p)
	ll.LonDeg = f.origin.LonDeg + WrapLonDeg(ll.LonDeg-f.origin.LonDeg)
	return ll
}

// Course is a line in degrees, with places put in where straight segments of
// longitude and latitude would stray from it by more than [CurveChordM].
func (f Frame) Course(l Line) []LonLat {
	out := make([]LonLat, 0, l.Len())
	for i := range l.Len() {
		if i > 0 {
			out = append(out, f.Between(l.At(i-1), l.At(i), CurveChordM)...)
		}
		out = append(out, f.unwrapped(l.At(i)))
	}
	return out
}
