package contour

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/polygon"
)

// region is ground that a field is fitted to.
type region struct {
	bound orb.Bound
	// holds tells, for a line of places at height y, whether each lies in the
	// region.
	holds func(y float64, xs []float64, in []bool)
	// near tells whether a place lies within d of the region's border, or as
	// well inside.
	near func(p orb.Point, d float64) bool
}

// regionOf is an area of sound polygons, with an index of its borders.
func regionOf(area orb.MultiPolygon) (*region, *polygon.Index) {
	var rings []orb.Ring
	for _, p := range area {
		rings = append(rings, p...)
	}
	index := polygon.NewIndex(rings...)
	return &region{
		bound: area.Bound(),
		holds: func(y float64, xs []float64, in []bool) { scan(rings, y, xs, in) },
		near:  func(p orb.Point, d float64) bool { return nearAny(index, p, d) },
	}, index
}

// nearAny reports whether p lies within d of an indexed segment.
func nearAny(index *polygon.Index, p orb.Point, d float64) (yes bool) {
	index.Search(orb.Bound{Min: p, Max: p}.Pad(d), func(i int) bool {
		a, b := index.Segment(i)
		yes = polygon.PointSegmentM(p, a, b) <= d
		return !yes
	})
	return yes
}

// scan finds which of the places xs, rising, at height y lie inside rings, by
// the parity of crossings to the left of each.
func scan(rings []orb.Ring, y float64, xs []float64, in []bool) {
	var cuts []float64
	for _, r := range rings {
		for i := range r {
			a, b := r[i], r[(i+1)%len(r)]
			if (a[1] > y) != (b[1] > y) {
				cuts = append(cuts, a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]))
			}
		}
	}
	slices.Sort(cuts)
	k := 0
	for i, x := range xs {
		for k < len(cuts) && cuts[k] < x {
			k++
		}
		in[i] = k%2 == 1
	}
}

// marginM is how far past the borders the field is fitted, so that rows do not
// swerve in the last metres before them.
const marginM = 6

// sample is a place where the energy is taken, with the slope of the ground.
type sample struct {
	basis  *tensor
	zx, zy float64
	ease   float64 // the greatest grade there over that of all ground
	known  bool
	beyond bool // not known, and not a gap in what is
}

// cellSamples is the samples of one cell of a lattice.
type cellSamples struct {
	base int
	list []sample
}

// samples is the ground as one level of the fit sees it.
type samples struct {
	lattice
	off    [16]int
	cells  []cellSamples
	plate  *banded // thin plate energy a sample
	count  int
	anchor int // the coefficients there keep the field's level
}

// newSamples takes m by m samples from each cell of the lattice, where they lie
// in the region or within marginM of it.
func newSamples(l lattice, m int, r *region, ground geo.Surface, lim *Limits) *samples {
	s := &samples{lattice: l, off: l.offsets(), plate: bending(l)}
	tensors := make([]*tensor, m*m)
	for k := range tensors {
		tensors[k] = newTensor((float64(k/m)+0.5)/float64(m), (float64(k%m)+0.5)/float64(m), l.h)
	}
	q := l.h / float64(m)
	xs, inside := make([]float64, l.nx*m), make([][]bool, l.ny*m)
	for i := range xs {
		xs[i] = l.x0 + q*(float64(i)+0.5)
	}
	for j := range inside {
		inside[j] = make([]bool, len(xs))
		r.holds(l.y0+q*(float64(j)+0.5), xs, inside[j])
	}
	for i := range l.nx {
		for j := range l.ny {
			c := cellSamples{base: l.base(i, j)}
			for k, t := range tensors {
				a, b := i*m+k/m, j*m+k%m
				p := orb.Point{xs[a], l.y0 + q*(float64(b)+0.5)}
				if !inside[b][a] && !r.near(p, marginM) {
					continue
				}
				zx, zy, ok := ground.Gradient(p)
				c.list = append(c.list, sample{t, zx, zy, lim.easeRatio(math.Hypot(zx, zy)), ok, !ok && !inGap(ground, p)})
			}
			if len(c.list) > 0 {
				s.cells = append(s.cells, c)
				s.count += len(c.list)
			}
		}
	}
	for i := range s.plate.a {
		s.plate.a[i] /= q * q
	}
	s.hold()
	return s
}

const (
	// bridgedM is how wide a gap in the survey may be that rows bridge as the
	// ground around it bends: five rows or so, less than a curve turns in
	// (common practice, no source).
	bridgedM   = 40
	gapProbeM  = 10
	gapProbes  = bridgedM / gapProbeM
	gapBearing = 4 // lines through a place, 45 degrees apart
)

// inGap reports whether a place without ground has some on both sides along a
// line, close enough to be bridged.
func inGap(ground geo.Surface, p orb.Point) bool {
	for k := range gapBearing {
		sin, cos := math.Sincos(math.Pi * float64(k) / gapBearing)
		a, b := groundAhead(ground, p, sin, cos), groundAhead(ground, p, -sin, -cos)
		if a+b <= gapProbes {
			return true
		}
	}
	return false
}

// groundAhead is how many probes away in a direction there is ground, more than
// gapProbes if it is farther than they reach.
func groundAhead(ground geo.Surface, p orb.Point, dx, dy float64) int {
	for k := 1; k <= gapProbes; k++ {
		d := gapProbeM * float64(k)
		if _, ok := ground.Height(orb.Point{p[0] + d*dx, p[1] + d*dy}); ok {
			return k
		}
	}
	return gapProbes + 1
}

// hold fixes the level of the field, which nothing else does, by keeping its
// value at the corner of one cell in the middle at 0. Any value serves; the
// weight of one sample keeps the matrix well scaled.
func (s *samples) hold() {
	if len(s.cells) == 0 {
		return
	}
	s.anchor = s.cells[len(s.cells)/2].base
}

// step is the state of the iteration at a sample: the direction across the row
// (mx, my), the size of the slope there, grade and curvature of the row, and what
// the grade may be over its limit elsewhere, and what it should be.
type step struct{ mx, my, n, grade, curve, ease, aim float64 }

// step works out a step from the derivatives of the field.
func (p *sample) step(j *jet) step {
	n := math.Hypot(j.fx, j.fy)
	// A field without slope has no row; a tenth keeps the quotients finite
	// until the spacing term has raised it.
	n = max(n, 0.1)
	mx, my := j.fx/n, j.fy/n
	return step{
		mx: mx, my: my, n: n,
		grade: (j.fx*p.zy - j.fy*p.zx) / n,
		curve: (my*my*j.fxx - 2*mx*my*j.fxy + mx*mx*j.fyy) / n,
		ease:  p.ease,
	}
}

// derive is the derivatives at a sample of the field whose coefficients in the
// cell are c.
func (t *tensor) derive(c *[16]float64) (j jet) {
	for k, v := range c {
		j.fx += t.bx[k] * v
		j.fy += t.by[k] * v
		j.fxx += t.bxx[k] * v
		j.fxy += t.bxy[k] * v
		j.fyy += t.byy[k] * v
	}
	return j
}
