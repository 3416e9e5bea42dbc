package rows

import (
	"hemrow/geo"
	"hemrow/rows/contour"
)

// Style is whether rows may follow the land.
type Style int

// The styles.
const (
	StyleStraight Style = iota // straight rows, each block by one heading
	StyleContour               // bent by the land, wherever that keeps the limits
	StyleBest                  // whichever of the two scores better
)

// Curving is what rows that follow the land must keep.
type Curving struct {
	// GradePct is the steepest that a row may run over the chord; with HalfSlope
	// no steeper than half the slope of the land either.
	GradePct  float64
	HalfSlope bool
	// TargetPct is the fall along rows to aim at, towards TargetSide, a compass
	// point of eight; 0 for level rows.
	TargetPct  float64
	TargetSide string
	// NarrowPct and WidePct of the spacing bound the distance between rows.
	NarrowPct float64
	WidePct   float64
	// RadiusM is the tightest curve that the machine can lay.
	RadiusM float64
	// StrainPct is the greatest strain of the film's edge on a curve: half the
	// width of the film over the radius.
	StrainPct float64
	// AlleyM is the least ground between the covers of two rows, for the mower;
	// 0 for no such limit.
	AlleyM float64
	// ChordErrM is how far a row's line may stray from its curve.
	ChordErrM float64
	// GuideErrM is how far a row may lie from the pass of a receiver that repeats
	// one curve.
	GuideErrM float64
	// FilmM is the width of one sheet, 0 without film, and BedM that of the
	// ground covered along a row. They follow from the cover.
	FilmM float64
	BedM  float64
}

// String is the style as a plan names it.
func (s Style) String() string {
	if s >= 0 && int(s) < len(styleNames) {
		return styleNames[s]
	}
	return "unknown"
}

var styleNames = [...]string{"straight", "contour", "best"}

// ParseStyle is the style of a name.
func ParseStyle(name string) (Style, bool) {
	for i, n := range styleNames {
		if n == name {
			return Style(i), true
		}
	}
	return StyleStraight, false
}

func (s Spec) validateCurving(within func(path string, v, least, most float64, unit string), bad func(path, format string, args ...any)) {
	c := s.Curving
	if s.Style < StyleStraight || s.Style > StyleBest {
		bad("rows.style", "must be straight, contour or best")
	}
	within("contour.grade_limit", c.GradePct, 0.1, 50, "%")
	within("contour.target_fall", c.TargetPct, 0, c.GradePct, "%")
	if _, ok := geo.ParseCompass(c.TargetSide); c.TargetPct > 0 && !ok {
		bad("contour.fall_to", "must be one of N, NE, E, SE, S, SW, W, NW where there is a target_fall, is %q", c.TargetSide)
	}
	if c.TargetSide != "" && c.TargetPct == 0 {
		bad("contour.fall_to", "has no effect while target_fall is 0 %%")
	}
	within("contour.narrowest_spacing", c.NarrowPct, 60, 99, "%")
	within("contour.widest_spacing", c.WidePct, 101, 150, "%")
	within("contour.tightest_curve", c.RadiusM, 3, 500, "m")
	within("contour.edge_strain", c.StrainPct, 0.1, 20, "%")
	within("contour.curve_error", c.ChordErrM, 0.005, 0.2, "m")
	within("contour.guide_error", c.GuideErrM, 0.01, 10, "m")
	within("contour.mower_alley", c.AlleyM, 0, 100, "m")
	if c.AlleyM > 0 && c.AlleyM+c.BedM > leastShare*s.SpacingM {
		bad("contour.mower_alley", "of %.4g m and a bed of %.4g m leave no room for rows to vary about a spacing of %.4g m", c.AlleyM, c.BedM, s.SpacingM)
	}
}

// leastShare of the spacing is the most that the narrowest distance of rows may
// be, since rows that may not vary cannot bend.
const leastShare = 0.99

// runSpacings is the shortest run of row, in spacings, whose ground counts as
// served: 30 m at 5 m, as in the study of the method. Shorter rows are laid where
// ShortestM lets them, but no layout wins by them.
const runSpacings = 6

// limits is what bent rows must keep, as the layer of them takes it.
func (s Spec) limits() contour.Limits {
	c := s.Curving
	l := contour.Limits{
		SpacingM: s.SpacingM, NarrowRatio: c.NarrowPct / 100, WideRatio: c.WidePct / 100,
		GradeRatio: c.GradePct / 100, HalfSlope: c.HalfSlope, ChordM: s.GradeChordM,
		RadiusM: max(c.RadiusM, c.filmRadiusM()), ShortM: max(s.ShortestM, runSpacings*s.SpacingM), DropM: s.ShortestM,
		GapM: max(s.HeadlandM, s.SpacingM), TurnM: s.PieceCostM, ChordErrM: c.ChordErrM, FilmM: c.FilmM,
	}
	if c.AlleyM > 0 {
		l.LeastM = c.AlleyM + c.BedM
		l.NarrowRatio = max(l.NarrowRatio, l.LeastM/s.SpacingM)
	}
	if side, ok := geo.ParseCompass(c.TargetSide); ok && c.TargetPct > 0 {
		l.TargetRatio = c.TargetPct / 100
		l.TargetSide[0], l.TargetSide[1] = side.Bearing().Unit()
	}
	return l
}

// filmRadiusM is the curve on which the film's edge reaches the greatest strain,
// w/(2 R).
func (c Curving) filmRadiusM() float64 { return c.FilmM / (2 * c.StrainPct / 100) }
