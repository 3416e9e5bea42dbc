package contour

import (
	"context"
	"errors"
	"math"
)

// weights says what the terms of the energy count in a run of iterations.
type weights struct {
	gradeRatio float64 // the grade that costs as much as one spread of spacing
	lean       bool    // rows shall fall to the side asked for
	spread     float64 // of |grad phi| about 1
	radiusM    float64 // the radius that costs as much as those
	plateM     float64 // length of the thin plate term
	lim        *Limits
	hinge      func(l *Limits, gradeRatio float64, s step) (grade, space, curve float64) // nil for none
}

// straightM is the radius that costs as much as one spread of spacing where the
// ground is beyond the survey. Rows there shall be straight: a bow of half a
// metre on 150 m, a radius of 5600 m, is then dearer than a quarter of that cost
// and is left only where the window of spacing would else be broken.
const straightM = 3000

// at is the weights of grade, spacing and curvature at one sample.
func (w *weights) at(s step, p *sample) (grade, space, curve float64) {
	g := w.gradeRatio * s.ease
	grade, space, curve = 1/(g*g), 1/(w.spread*w.spread), w.radiusM*w.radiusM
	if w.hinge != nil {
		a, b, c := w.hinge(w.lim, g, s)
		grade, space, curve = grade*a, space*b, curve*c
	}
	switch {
	case p.known:
		return grade, space, curve
	case p.beyond:
		curve += straightM * straightM
	}
	return 0, space, curve
}

// polishing weighs terms by whether their limit is kept: lightly where it is, and
// where grade is beyond all hope lightly again, so that a little ground is
// given up and not all of it. Between light and heavy the weight rises over some
// tenths of the limit; a jump would make the iteration swing.
func polishing(l *Limits, tol float64, s step) (grade, space, curve float64) {
	off := math.Abs(s.grade-s.aim) / tol
	grade = ramp(off, 0.8, 1, 0.15, 1) / max(1, off/1.5)
	narrow, wide := l.NarrowRatio*s.n, l.WideRatio*s.n
	space = max(ramp(narrow, 0.96, 1.02, 0.5, 2), ramp(-wide, -1.05, -0.99, 0.5, 2))
	curve = ramp(math.Abs(s.curve)*l.RadiusM, 0.85, 1.05, 1, 6)
	return grade, space, curve
}

// smoothing weighs curvature heavily where it is near its limit, and else as the
// fit does.
func smoothing(l *Limits, _ float64, s step) (grade, space, curve float64) {
	return 1, 1, ramp(math.Abs(s.curve)*l.RadiusM, 0.75, 1, fitCurve*fitCurve, 8)
}

// ramp rises from a to b while x goes from lo to hi.
func ramp(x, lo, hi, a, b float64) float64 {
	return a + (b-a)*max(0, min(1, (x-lo)/(hi-lo)))
}

const (
	damping    = 0.5  // of the turn of the rows within one iteration
	plateRatio = 1e-3 // of the thin plate, which rules where nothing else does
)

// solver is the memory of Gauss-Newton iterations on one level.
type solver struct {
	*samples
	m   *banded
	rhs []float64
}

func newSolver(s *samples) *solver {
	n := s.unknowns()
	return &solver{s, newBanded(n, s.band()), make([]float64, n)}
}

var errSingular = errors.New("the field of rows cannot be solved: its equations are singular; widen the area or check the terrain for heights that are not finite")

// run improves a field by so many iterations and returns the energy a sample
// before the last.
func (v *solver) run(ctx context.Context, f *spline, w *weights, times int) (energy float64, err error) {
	for range times {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		energy = v.assemble(f, w)
		if !v.m.factor() {
			return 0, errSingular
		}
		v.m.solve(v.rhs)
		copy(f.c, v.rhs)
	}
	return energy, nil
}

// assemble sets up the equations of one iteration, the direction of the rows
// taken from the field as it is:
//
//	grade      (fx zy - fy zx)/n            → what is aimed at
//	spacing    m . grad f                   → 1
//	curvature  t' Hess(f) t / n             → 0
//	turn       t . grad f                   → 0, which holds the direction
//
// with n = |grad f|, m = grad f/n and t across it, and returns the energy a
// sample of the first three as they are.
func (v *solver) assemble(f *spline, w *weights) (energy float64) {
	scale := plateRatio * w.plateM * w.plateM
	for i, p := range v.plate.a {
		v.m.a[i] = scale * p
	}
	clear(v.rhs)
	v.pin()
	var local [16][16]float64
	var c, rhs [16]float64
	for _, cell := range v.cells {
		for k, o := range v.off {
			c[k] = f.c[cell.base+o]
		}
		local, rhs = [16][16]float64{}, [16]float64{}
		for i := range cell.list {
			energy += cell.list[i].add(&c, w, &local, &rhs)
		}
		v.scatter(cell.base, &local, &rhs)
	}
	return energy / float64(v.count)
}

// pin holds the level of the field, see hold.
func (v *solver) pin() {
	b, _, _ := cubic(0)
	for k, o := range v.off {
		for l := 0; l <= k; l++ {
			if x := b[k/4] * b[k%4] * b[l/4] * b[l%4]; x != 0 {
				v.m.add(v.anchor+o, v.anchor+v.off[l], x)
			}
		}
	}
}

func (v *solver) scatter(base int, local *[16][16]float64, rhs *[16]float64) {
	for k, o := range v.off {
		v.rhs[base+o] += rhs[k]
		for l := 0; l <= k; l++ {
			v.m.add(base+o, base+v.off[l], local[k][l])
		}
	}
}

// add adds the terms of one sample to the equations of its cell. Those of the
// slope form a 2 x 2 matrix, of which Cholesky makes two rows.
func (p *sample) add(c *[16]float64, w *weights, local *[16][16]float64, rhs *[16]float64) (energy float64) {
	t := p.basis
	j := t.derive(c)
	s := p.step(&j)
	if w.lean {
		s.aim = w.lim.aimRatio(-s.my, s.mx, math.Hypot(p.zx, p.zy), p.ease*w.lim.GradeRatio)
	}
	wg, wd, wc := w.at(s, p)
	gx, gy := p.zy/s.n, -p.zx/s.n
	xx := wg*gx*gx + wd*s.mx*s.mx + damping*s.my*s.my
	xy := wg*gx*gy + (wd-damping)*s.mx*s.my
	yy := wg*gy*gy + wd*s.my*s.my + damping*s.mx*s.mx
	rx := wg*gx*s.aim + wd*s.mx
	ry := wg*gy*s.aim + wd*s.my

	a := math.Sqrt(xx)
	b := xy / a
	d := math.Sqrt(max(0, yy-b*b))
	k := math.Sqrt(wc) / s.n
	kxx, kxy, kyy := k*s.my*s.my, -2*k*s.mx*s.my, k*s.mx*s.mx
	var r1, r2, r3 [16]float64
	for i := range r1 {
		r1[i] = a*t.bx[i] + b*t.by[i]
		r2[i] = d * t.by[i]
		r3[i] = kxx*t.bxx[i] + kxy*t.bxy[i] + kyy*t.byy[i]
		rhs[i] += rx*t.bx[i] + ry*t.by[i]
	}
	for i := range local {
		x, y, z := r1[i], r2[i], r3[i]
		row := &local[i]
		for j := 0; j <= i; j++ {
			row[j] += x*r1[j] + y*r2[j] + z*r3[j]
		}
	}
	off, wide := s.grade-s.aim, math.Hypot(j.fx, j.fy)-1
	return wg*off*off + wd*wide*wide + wc*s.curve*s.curve
}
