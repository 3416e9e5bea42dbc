package contour

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Limits is what machine and crop ask of rows.
type Limits struct {
	SpacingM float64 // between rows, horizontal

	// NarrowRatio and WideRatio bound the distance to the next row on either
	// side, in spacings.
	NarrowRatio float64
	WideRatio   float64
	// LeastM is the distance below which no row may come at all, whatever the
	// window: cover and mower need it; 0 for none but FloorM.
	LeastM float64

	// GradeRatio is the greatest fall or rise along a row over ChordM of it.
	// With HalfSlope it is no more than half the slope of the land, see
	// GradeLimitRatio.
	// TargetRatio, if not 0, is the fall that rows should have towards
	// TargetSide, a direction (x east, y north) of any length. Rows square to it
	// should be level.
	GradeRatio  float64
	HalfSlope   bool
	TargetRatio float64
	TargetSide  orb.Point
	ChordM      float64

	RadiusM   float64 // the tightest curve of a row
	ShortM    float64 // shorter pieces do not pay: what they serve does not count
	DropM     float64 // [Best] leaves shorter ones out of bent layouts
	GapM      float64 // the least gap where a row is broken
	TurnM     float64 // length of row that one more piece costs
	ChordErrM float64 // how far a polyline may stray from the curve it stands for
	FilmM     float64 // width of the cover, for the strain of its edge; 0 unknown
}

// Defaults is the limits for a spacing: a window of 0.9 to 1.15 spacings,
// 3 % over 10 m, 20 m of radius, rows of 30 m, gaps of 8 m, 10 m of row for a
// piece and chords within 20 mm (common practice, no source).
func Defaults(spacingM float64) Limits {
	return Limits{
		SpacingM: spacingM, NarrowRatio: 0.9, WideRatio: 1.15, GradeRatio: 0.03, ChordM: 10,
		RadiusM: 20, ShortM: 30, GapM: 8, TurnM: 10, ChordErrM: 0.02,
	}
}

// Validate returns all faults at once, nil if there is none.
func (l Limits) Validate() error {
	var errs []error
	check := func(ok bool, what string, got float64) {
		if !ok {
			errs = append(errs, fmt.Errorf("%s, not %g", what, got))
		}
	}
	positive := func(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
	check(positive(l.SpacingM), "the spacing must be above 0 m", l.SpacingM)
	check(l.NarrowRatio > 0 && l.NarrowRatio < 1, "the narrowest spacing must be between 0 and 1 spacings", l.NarrowRatio)
	check(l.WideRatio > 1 && l.WideRatio < 2, "the widest spacing must be between 1 and 2 spacings", l.WideRatio)
	check(positive(l.GradeRatio) && l.GradeRatio < 1, "the greatest grade must be between 0 and 1", l.GradeRatio)
	check(l.TargetRatio >= 0 && l.TargetRatio <= l.GradeRatio, "the target fall must be between 0 and the greatest grade", l.TargetRatio)
	if d := math.Hypot(l.TargetSide[0], l.TargetSide[1]); l.TargetRatio != 0 {
		check(positive(d), "the side that rows shall fall to must be a direction, its length finite and above 0", d)
	}
	check(positive(l.ChordM), "the chord of the grade must be above 0 m", l.ChordM)
	check(positive(l.RadiusM), "the least radius must be above 0 m", l.RadiusM)
	check(positive(l.ChordErrM), "the chord error must be above 0 m", l.ChordErrM)
	for _, x := range []struct {
		what string
		v    float64
	}{
		{"the least distance of rows", l.LeastM},
		{"the shortest row", l.ShortM},
		{"the shortest piece", l.DropM},
		{"the gap of a broken row", l.GapM},
		{"the cost of a piece", l.TurnM},
		{"the width of the cover", l.FilmM},
	} {
		check(x.v >= 0 && !math.IsInf(x.v, 1), x.what+" must be 0 m or more", x.v)
	}
	return errors.Join(errs...)
}

// StrainRatio is the strain of the cover's edge on a curve of that radius,
// FilmM/(2 R): the outer edge is longer than the middle by so much (exact for
// a flat strip bent in its plane).
func (l Limits) StrainRatio(radiusM float64) float64 { return l.FilmM / (2 * radiusM) }

const (
	halfOfLand = 0.5
	// levelRatio is the slope below which land is as good as level: the practice
	// is not meant for it. Source: USDA NRCS Conservation Practice Standard 330,
	// Contour Farming, which begins at 2 %.
	levelRatio = 0.02
	// levelStart is where the fit begins to take land for sloping, so that its
	// weights do not jump at the border of level ground.
	levelStart = 0.75 * levelRatio
)

// GradeLimitRatio is the greatest grade of a row on land of that slope:
// GradeRatio, and with HalfSlope on land of 2 % or more the lesser of that and
// half the slope. Land of unknown slope, NaN, has GradeRatio.
// Source: USDA NRCS Conservation Practice Standard 331, Contour Orchard and
// Other Perennial Crops.
func (l *Limits) GradeLimitRatio(landRatio float64) float64 {
	if l.HalfSlope && landRatio >= levelRatio {
		return min(l.GradeRatio, halfOfLand*landRatio)
	}
	return l.GradeRatio
}

// easeRatio is the greatest grade on land of a slope over GradeRatio, as the
// fit takes it: it falls evenly between levelStart and levelRatio, and is never
// above the true one.
func (l *Limits) easeRatio(landRatio float64) float64 {
	if landRatio >= levelRatio {
		return l.GradeLimitRatio(landRatio) / l.GradeRatio
	}
	return ramp(landRatio, levelStart, levelRatio, 1, l.GradeLimitRatio(levelRatio)/l.GradeRatio)
}

// window is the distances to the next row that are allowed, in metres.
func (l *Limits) window() (lo, hi float64) {
	return l.NarrowRatio * l.SpacingM, l.WideRatio * l.SpacingM
}

// FloorM is the nearest that rows may come to each other at the worst: 0.05
// spacings below the window (the study of this method), but never below LeastM.
func (l *Limits) FloorM() float64 {
	return max(l.LeastM, (l.NarrowRatio-floorRatio)*l.SpacingM)
}

// sightM is how far to the side a row counts as a neighbour. Where none is so
// near, the side is free: a border, an obstacle or an alley. A wider gap is nearly a row left out, which coverage shows.
func (l *Limits) sightM() float64 { return SightRatio * l.SpacingM }

// SightRatio is how far to the side rows count as neighbours, in spacings.
const SightRatio = 1.8
