package contour

import (
	"context"
	"math"
	"slices"

	"hemrow/geo/polygon"
)

// terrain is the start whose rows follow the contours of the ground: its slope
// is that of the ground over the median steepness, by least squares. It is nil
// where the ground is flat or unknown.
func (s *samples) terrain() *spline {
	var steep []float64
	for _, c := range s.cells {
		for _, p := range c.list {
			if p.known {
				steep = append(steep, math.Hypot(p.zx, p.zy))
			}
		}
	}
	if len(steep) == 0 {
		return nil
	}
	slices.Sort(steep)
	median := steep[len(steep)/2]
	if median < flatRatio {
		return nil
	}
	v := newSolver(s)
	copy(v.m.a, s.plate.a)
	v.pin()
	for _, c := range s.cells {
		var local [16][16]float64
		var rhs [16]float64
		for i := range c.list {
			if p := &c.list[i]; p.known {
				p.follow(p.zx/median, p.zy/median, &local, &rhs)
			}
		}
		v.scatter(c.base, &local, &rhs)
	}
	if !v.m.factor() {
		return nil
	}
	v.m.solve(v.rhs)
	return &spline{s.lattice, v.rhs}
}

// flatRatio is the slope below which ground has no direction: 0.5 %, where
// contours follow the noise of the survey (common practice, no source).
const flatRatio = 0.005

// follow adds the equations grad f = (gx, gy) at one sample.
func (p *sample) follow(gx, gy float64, local *[16][16]float64, rhs *[16]float64) {
	t := p.basis
	for i := range local {
		for j := 0; j <= i; j++ {
			local[i][j] += t.bx[i]*t.bx[j] + t.by[i]*t.by[j]
		}
		rhs[i] += gx*t.bx[i] + gy*t.by[i]
	}
}

// phases is how many shifts of the rows are tried within one spacing.
const phases = 5

// best lays the rows of all candidates and ranks them, then tries the shifts
// of the best. Of equals the earlier wins. The Score is not set.
func (ft *fitter) best(ctx context.Context, found []*spline) (Fitted, error) {
	grid, areaM2 := newMarch(ft.region), polygon.TotalAreaM2(ft.site.Area)
	all := make([]Fitted, len(found))
	values := make([][]float64, len(found))
	lay := func(i int, phaseM float64) Fitted {
		lv := levels{f: found[i], lim: ft.lim, cut: ft.cut}
		own := lv.rows(grid, values[i], phaseM)
		rows := own
		if ft.assemble != nil {
			rows = ft.assemble(own)
		}
		tight, _ := breakTight(rows, *ft.lim)
		broken := clearAll(tight, ft.lim, ft.cleared).result()
		j := merit(ft.base.of(broken).st, areaM2, ft.lim)
		return Fitted{Layout: Layout{Rows: rows}, Field: Field{found[i]}, PhaseM: phaseM, own: own, broken: j}
	}
	ft.tell.begin("laying rows", len(found))
	err := parallel(ctx, len(found), func(i int) error {
		defer ft.tell.tick()
		values[i] = grid.values(found[i])
		all[i] = lay(i, 0)
		return nil
	})
	if err != nil {
		return Fitted{}, err
	}
	win := bestOf(all, fineGain)
	shifts := make([]Fitted, phases)
	ft.tell.begin("shifting rows", phases)
	err = parallel(ctx, phases, func(k int) error {
		defer ft.tell.tick()
		if shifts[k] = all[win]; k > 0 {
			shifts[k] = lay(win, ft.lim.SpacingM*float64(k)/phases)
		}
		return nil
	})
	if err != nil {
		return Fitted{}, err
	}
	return shifts[bestOf(shifts, 0)], nil
}

// lean turns the rows of a field to the target grade, more and less firmly, each
// as such and then within limits, and lays the best. The aim has the sign of the
// direction, so that the outcome does not depend on which way the field rises.
func (ft *fitter) lean(ctx context.Context, from Fitted) (Fitted, error) {
	// By these shares of the greatest grade rows may miss the target before it
	// costs as much as a spread of spacing. On a plane each holds it; on bent
	// ground the first bends rows out of the window for it, and the last lets them
	// drift.
	shares := [...]float64{0.1, 0.2, 0.4}
	found := make([]*spline, 2*len(shares))
	ft.tell.begin("leaning to the side", len(shares))
	err := parallel(ctx, len(shares), func(i int) error {
		defer ft.tell.tick()
		v, f := newSolver(ft.levels[2]), from.Field.s.clone()
		w := ft.weights()
		w.gradeRatio, w.lean = shares[i]*ft.lim.GradeRatio, true
		if _, err := v.run(ctx, f, w, leanTimes); err != nil {
			return err
		}
		p := f.clone()
		w = ft.polish()
		w.gradeRatio, w.lean = 2*fallOffRatio, true
		found[2*i], found[2*i+1] = f, p
		_, err := v.run(ctx, p, w, polishTimes)
		return err
	})
	if err != nil {
		return Fitted{}, err
	}
	return ft.best(ctx, found)
}

// fineGain is what a candidate must score above an earlier one: less than
// that is the chance of row ends, and the earlier runs closer to the contours
// (common practice, no source).
const fineGain = 0.003

// bestOf is the candidate of the highest score, where a later one must be
// better by a margin.
func bestOf(all []Fitted, margin float64) (best int) {
	for i := range all {
		if all[i].broken > all[best].broken+margin {
			best = i
		}
	}
	return best
}
