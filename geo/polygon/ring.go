package polygon

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// ring is an open ring being worked on: vertices without the closing one, and
// where each came from in the ring as given.
type ring struct {
	pt  []orb.Point
	src []int
}

// open copies r without a last vertex equal to its first.
func open(r orb.Ring) ring {
	n := len(r)
	if n > 1 && r[0] == r[n-1] {
		n--
	}
	v := ring{pt: make([]orb.Point, n), src: make([]int, n)}
	copy(v.pt, r)
	for i := range v.src {
		v.src[i] = i
	}
	return v
}

func (v ring) len() int { return len(v.pt) }

// closed is the ring as orb wants it.
func (v ring) closed() orb.Ring {
	r := make(orb.Ring, len(v.pt)+1)
	copy(r, v.pt)
	r[len(v.pt)] = v.pt[0]
	return r
}

func (v ring) at(i int) orb.Point {
	n := len(v.pt)
	return v.pt[((i%n)+n)%n]
}

// edge is edge i, from vertex i to the next.
func (v ring) edge(i int) (a, b orb.Point) {
	if i+1 == len(v.pt) {
		return v.pt[i], v.pt[0]
	}
	return v.pt[i], v.pt[i+1]
}

// usable reports whether the ring can be compared with others.
func (v ring) usable() bool { return v.len() >= 3 && !v.flat() }

// flat reports whether all vertices lie in one line, exactly.
func (v ring) flat() bool {
	for i := 2; i < len(v.pt); i++ {
		if Orient(v.pt[0], v.pt[1], v.pt[i]) != 0 {
			return false
		}
	}
	return true
}

// dropRepeated removes vertices no farther than tolM from the one kept before
// them, around the ring, and returns the source number of the first removed
// and the count.
func (v *ring) dropRepeated(tolM float64) (first, count int) {
	keep := func(a, b orb.Point) bool { return a != b && distance(a, b) > tolM }
	n := 0
	for i := range v.pt {
		if n > 0 && !keep(v.pt[n-1], v.pt[i]) {
			if count == 0 {
				first = v.src[i]
			}
			count++
			continue
		}
		v.pt[n], v.src[n] = v.pt[i], v.src[i]
		n++
	}
	for n > 1 && !keep(v.pt[n-1], v.pt[0]) {
		n--
		if count == 0 {
			first = v.src[n]
		}
		count++
	}
	v.pt, v.src = v.pt[:n], v.src[:n]
	return first, count
}

// spikeM reports whether the ring runs out to vertex i and straight back: the
// turn leaves an angle below SpikeAngleDeg and the end of the shorter arm
// lies on the other arm, to CoincidentM. The length is that of the shorter arm.
func (v ring) spikeM(i int) (lengthM float64, ok bool) {
	w, l, ok := v.needle(i)
	return l, ok && w <= geo.CoincidentM
}

// needle measures the corner at vertex i if its angle is below SpikeAngleDeg:
// the gap at the end of the shorter arm and that arm's length.
func (v ring) needle(i int) (widthM, lengthM float64, ok bool) {
	p, a, b := v.pt[i], v.at(i-1), v.at(i+1)
	ax, ay, bx, by := a[0]-p[0], a[1]-p[1], b[0]-p[0], b[1]-p[1]
	dot := ax*bx + ay*by
	if dot <= 0 {
		return 0, 0, false
	}
	cross := math.Abs(ax*by - ay*bx)
	if cross >= math.Tan(geo.SpikeAngleDeg*math.Pi/180)*dot {
		return 0, 0, false
	}
	la, lb := math.Hypot(ax, ay), math.Hypot(bx, by)
	return cross / max(la, lb), min(la, lb), true
}

// dropSpikes removes spikes until none is left, and what they leave behind:
// when A, B, A' with A' on A goes, the two ends of the arm fall together.
func (v *ring) dropSpikes(found func(src int, at orb.Point, lengthM float64)) {
	for i := 0; i < v.len() && v.len() >= 3; {
		l, ok := v.spikeM(i)
		if !ok {
			i++
			continue
		}
		found(v.src[i], v.pt[i], l)
		v.remove(i)
		v.dropRepeated(geo.CoincidentM)
		i = max(0, i-2)
	}
}

func (v *ring) remove(i int) {
	v.pt = append(v.pt[:i], v.pt[i+1:]...)
	v.src = append(v.src[:i], v.src[i+1:]...)
}

// Needle is a corner so sharp that it is hardly ground: two edges that run
// side by side for LengthM with WidthM between them at the shorter one's end.
type Needle struct {
	Ring, Vertex    int
	At              orb.Point
	LengthM, WidthM float64
}

// Needles lists the corners below SpikeAngleDeg whose gap is at most
// NeedleWidthM. They are no fault, since the ring is simple, and are left as
// they are; yet an inward needle keeps rows away from ground that is there.
func Needles(p orb.Polygon) (out []Needle) {
	for k, r := range p {
		n := len(r) - 1
		for i := range n {
			// Nearly all corners are wide: look before copying the ring.
			a, b, c := r[(i+n-1)%n], r[i], r[i+1]
			if (a[0]-b[0])*(c[0]-b[0])+(a[1]-b[1])*(c[1]-b[1]) <= 0 {
				continue
			}
			v := ring{pt: []orb.Point{a, b, c}}
			if w, l, ok := v.needle(1); ok && w <= geo.NeedleWidthM {
				out = append(out, Needle{Ring: k, Vertex: i, At: b, LengthM: l, WidthM: w})
			}
		}
	}
	return out
}
