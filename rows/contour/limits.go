package contour

import (
	"errors"
	"fmt"
	"math"
)

// Limits is what machine and crop ask of rows.
type Limits struct {
	SpacingM float64 // between rows, horizontal

	// NarrowRatio and WideRatio bound the distance to the next row on either
	// side, in spacings.
	NarrowRatio float64
	WideRatio   float64

	// GradeRatio is the greatest fall or rise along a row over ChordM of it.
	// TargetRatio, if not 0, is the signed grade that rows should have, rising
	// with the row's direction when positive.
	GradeRatio  float64
	TargetRatio float64
	ChordM      float64

	RadiusM   float64 // the tightest curve of a row
	ShortM    float64 // shorter pieces do not pay
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
	check(math.Abs(l.TargetRatio) <= l.GradeRatio, "the target grade must lie within the greatest grade", l.TargetRatio)
	check(positive(l.ChordM), "the chord of the grade must be above 0 m", l.ChordM)
	check(positive(l.RadiusM), "the least radius must be above 0 m", l.RadiusM)
	check(positive(l.ChordErrM), "the chord error must be above 0 m", l.ChordErrM)
	for _, x := range []struct {
		what string
		v    float64
	}{
		{"the shortest row", l.ShortM},
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

// window is the distances to the next row that are allowed, in metres.
func (l *Limits) window() (lo, hi float64) {
	return l.NarrowRatio * l.SpacingM, l.WideRatio * l.SpacingM
}

// sightM is how far to the side a row counts as a neighbour. Where none is so
// near, the side is free: a border, an obstacle or an alley. A gap wider than
// 1.8 spacings is nearly a row left out, which coverage shows.
func (l *Limits) sightM() float64 { return 1.8 * l.SpacingM }
