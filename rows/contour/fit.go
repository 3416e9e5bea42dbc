package contour

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Site is the ground that rows are laid on.
type Site struct {
	// Area is the ground rows may use, as sound polygons.
	Area orb.MultiPolygon
	// Design is the terrain the rows are shaped by, smoothed over about one
	// spacing; Raw is the terrain as surveyed, on which they are judged.
	Design, Raw geo.Surface
	// Open, if given, cuts from rows the ground that they may not use in the
	// direction they run: headlands depend on where rows end. [Best] calls it on
	// the rows of each bent layout before anything of them is scored or broken.
	// It returns the pieces left, with Number and Zone of their rows, in the
	// order of the rows, and changes nothing in the rows given. The methods
	// themselves lay rows over all of Area.
	Open func(rows []Row) []Row
	// Bent asks for bent rows even where straight ones score better.
	Bent bool
	// Divide, if given, cuts the rows of a layout that are too long for the crew
	// or the tape, after they are broken: cross alleys cost row and pieces, so
	// that layouts are compared with them.
	Divide func(m Method, rows []Row) []Row
}

// Field is a function of the plane whose level sets are rows.
type Field struct{ s *spline }

// Value is the field at p in metres: rows lie where it is a whole number of
// spacings plus the phase. Beyond the area it means nothing.
func (f Field) Value(p orb.Point) (phiM float64) { return f.s.at(p).f }

// Slope is the rate of the field at p by x and y: spacing there is the nominal
// one over its size.
func (f Field) Slope(p orb.Point) (eastRatio, northRatio float64) {
	j := f.s.at(p)
	return j.fx, j.fy
}

// Layout is rows with their score.
type Layout struct {
	Rows  []Row
	Score Score
}

// Fitted is the outcome of [Fit]: a layout and the field its rows are levels
// of.
type Fitted struct {
	Layout
	Field  Field
	PhaseM float64
	own    []Row   // of the field alone
	broken float64 // merit after Break, by which layouts are compared
}

// Fit finds the field of one block by Gauss-Newton on cubic B-splines, from
// coarse to fine and from several starts, and lays the rows of the candidate
// that scores best on the raw terrain once they are broken (see [Break]); the
// rows are returned unbroken, with the score they have so.
//
// Terms: grade over its limit, departure of |grad phi| from 1 over the window
// of spacing, curvature times the least radius. The grade term does not know
// up from down, so that flat ground, tops, saddles and ridges need no care.
// Where Design has no heights, rows bridge gaps in it as the ground around bends,
// and beyond it run on as straight as the window of spacing lets them. The same
// input gives the same rows for any number of processors. An area without room
// for a row gives an empty layout.
//
// With a target fall the field that scores best so far is turned to it, more and
// less firmly, and what scores best then, the share of the length that falls as
// asked for included, is laid.
//
// The fit does not hold limits as such: look at the score, and see [Break].
func Fit(ctx context.Context, site Site, lim Limits) (Fitted, error) {
	return fitOver(ctx, site, lim, nil)
}

// fitOver is Fit that tells of its steps.
func fitOver(ctx context.Context, site Site, lim Limits, tell *progress) (Fitted, error) {
	if err := lim.Validate(); err != nil {
		return Fitted{}, fmt.Errorf("limits of contour rows: %w", err)
	}
	if len(site.Area) == 0 {
		return Fitted{}, nil
	}
	r, index := regionOf(site.Area)
	ft := &fitter{region: r, site: site, lim: &lim, cut: &ground{site.Area, index}, keep: keptStarts, tell: tell}
	ft.base = &judging{raw: site.Raw, lim: &lim}
	best, err := ft.fit(ctx)
	if err == nil && best.Field.s != nil {
		best.Score = Judge(best.Rows, site.Area, site.Raw, lim)
	}
	return best, err
}

// knotM is the distance of the finest knots: fine enough for the tightest curve,
// and for nothing finer.
func (l *Limits) knotM() float64 { return max(10, 0.75*l.RadiusM) }

// spread is half the window of spacing, in terms of |grad phi|, as the fit
// weighs it: 0.07 for 0.9 to 1.15, found by trial on twelve terrains.
func (l *Limits) spread() float64 { return 0.28 * (l.WideRatio - l.NarrowRatio) }

const (
	headings    = 12 // straight starts
	keptStarts  = 3
	tellApart   = 0.02 // starts whose energies differ by less came to the same
	coarseTimes = 8
	fineTimes   = 6
	polishTimes = 8
	leanTimes   = 12
	settleTimes = 4
	fitGrade    = 0.6 // of the limit, aimed at by the fit
	settleGrade = 0.8 // and when it settles
	fitCurve    = 0.2 // of the least radius
	maxKnotsM   = 4   // of the finest knots: the coarsest
)

// fitter is the state of one fit.
type fitter struct {
	region *region
	site   Site
	lim    *Limits
	levels [3]*samples
	cut    cutter
	keep   int      // starts taken to the finest level
	base   *judging // rows that candidates have in common
	// cleared is the clearing of those rows, nil if there are none.
	cleared *clearing
	// assemble, if given, makes the layout to be scored of the rows of the
	// field.
	assemble func(rows []Row) []Row
	tell     *progress
}

// fit is Fit over the region of ft.
func (ft *fitter) fit(ctx context.Context) (Fitted, error) {
	ft.prepare()
	if ft.levels[0].count == 0 || ft.levels[2].count == 0 {
		return Fitted{}, nil
	}
	starts, err := ft.coarse(ctx)
	if err != nil {
		return Fitted{}, err
	}
	found, err := ft.refineAll(ctx, starts)
	if err != nil {
		return Fitted{}, err
	}
	best, err := ft.best(ctx, found)
	if err != nil || ft.lim.TargetRatio == 0 {
		return best, err
	}
	return ft.lean(ctx, best)
}

// prepare samples the ground for the three levels. The lattices are nested, so
// that a field passes from one to the next unchanged.
func (ft *fitter) prepare() {
	box := ft.region.bound.Pad(marginM)
	coarse := cover(box, maxKnotsM*ft.lim.knotM())
	middle := linear(coarse, 0, 0).refine(box)
	fine := middle.refine(box)
	for i, l := range []lattice{coarse, middle.lattice, fine.lattice} {
		ft.levels[i] = newSamples(l, []int{6, 3, 3}[i], ft.region, ft.site.Design, ft.lim)
	}
}

func (ft *fitter) weights() *weights {
	return &weights{
		lim: ft.lim, gradeRatio: fitGrade * ft.lim.GradeRatio, spread: ft.lim.spread(),
		radiusM: fitCurve * ft.lim.RadiusM, plateM: ft.lim.RadiusM,
	}
}

// coarse runs all starts on the coarsest level and keeps the best that differ.
func (ft *fitter) coarse(ctx context.Context) ([]*spline, error) {
	fields, energies := make([]*spline, headings+1), make([]float64, headings+1)
	ft.tell.begin("coarse starts", len(fields))
	err := parallel(ctx, len(fields), func(i int) (err error) {
		defer ft.tell.tick()
		f := ft.start(i)
		if f == nil {
			energies[i] = math.Inf(1)
			return nil
		}
		w := ft.weights()
		w.gradeRatio *= 1.5
		fields[i] = f
		energies[i], err = newSolver(ft.levels[0]).run(ctx, f, w, coarseTimes)
		return err
	})
	if err != nil {
		return nil, err
	}
	order := make([]int, len(fields))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case energies[a] < energies[b]:
			return -1
		case energies[a] > energies[b]:
			return 1
		}
		return 0
	})
	var kept []*spline
	last := math.Inf(-1)
	for _, i := range order {
		if fields[i] == nil || len(kept) == ft.keep {
			break
		}
		if len(kept) > 0 && energies[i]-last <= tellApart*energies[i] {
			continue
		}
		kept, last = append(kept, fields[i]), energies[i]
	}
	return kept, nil
}

// start is start i: straight rows for the first, then rows along the contours
// of the terrain, nil where it is flat or unknown.
func (ft *fitter) start(i int) *spline {
	l := ft.levels[0].lattice
	if i < headings {
		sin, cos := math.Sincos(math.Pi * float64(i) / headings)
		return linear(l, sin, cos)
	}
	return ft.levels[0].terrain()
}

// smooth is the weights that take out what is too tight and leave the rest.
func (ft *fitter) smooth() *weights {
	w := ft.weights()
	w.radiusM, w.hinge = ft.lim.RadiusM, smoothing
	return w
}

// polish is the weights that follow the limits themselves.
func (ft *fitter) polish() *weights {
	w := ft.weights()
	w.gradeRatio, w.radiusM, w.hinge = ft.lim.GradeRatio, ft.lim.RadiusM, polishing
	return w
}

// settle is the weights that spread what polish has left at the limits.
func (ft *fitter) settle() *weights {
	w := ft.polish()
	w.gradeRatio, w.hinge = settleGrade*ft.lim.GradeRatio, smoothing
	return w
}

// candidates is how many fields refineAll makes of a start: as fitted, smoothed,
// polished, and settled after that.
const candidates = 4

// refineAll takes each start to the finest level and makes its candidates.
func (ft *fitter) refineAll(ctx context.Context, starts []*spline) ([]*spline, error) {
	found := make([]*spline, candidates*len(starts))
	box := ft.region.bound.Pad(marginM)
	ft.tell.begin("refining", 5*len(starts))
	err := parallel(ctx, len(starts), func(i int) (err error) {
		f := starts[i]
		var v *solver
		run := func(f *spline, w *weights, times int) *spline {
			if err == nil {
				_, err = v.run(ctx, f, w, times)
				ft.tell.tick()
			}
			return f
		}
		for _, s := range ft.levels[1:] {
			v = newSolver(s)
			f = run(f.refine(box), ft.weights(), fineTimes)
		}
		smoothed := run(f.clone(), ft.smooth(), polishTimes)
		polished := run(f.clone(), ft.polish(), polishTimes)
		settled := run(polished.clone(), ft.settle(), settleTimes)
		copy(found[candidates*i:], []*spline{f, smoothed, polished, settled})
		return err
	})
	return found, err
}
