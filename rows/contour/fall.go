package contour

import "math"

const (
	// squareRatio is the cosine to the side below which rows count as square to
	// it, so that neither way along them leads there: 78 degrees and more (common
	// practice, no source).
	squareRatio = 0.2
	// fallOffRatio is how far from the target a fall may be and still be as asked
	// for: half a percent, what heights known to 3.5 cm tell over 10 m, √2·0.035/10
	// (common practice, no source).
	fallOffRatio = 0.005
	// fallWorth is how much more than another a layout may score and still lose to
	// it, if none of its length falls as asked for and all of the other's does
	// (common practice, no source).
	fallWorth = 0.1
)

// toSide is the cosine between the direction (tx, ty) and the side that rows
// shall fall to.
func (l *Limits) toSide(tx, ty float64) float64 {
	d := math.Hypot(l.TargetSide[0], l.TargetSide[1])
	if d == 0 {
		return 0
	}
	return (tx*l.TargetSide[0] + ty*l.TargetSide[1]) / d
}

// aimRatio is the grade that the fit aims at for a row in the direction
// (tx, ty), which falls where the way leads to the side: by the target, but no
// more than the greatest grade there, nor than the land falls by itself in the
// measure that the row heads for the side. Near square to the side it goes to 0
// evenly. So the aim changes sign with the direction, and rows do not turn
// for it more than the land itself would have them.
func (l *Limits) aimRatio(tx, ty, landRatio, limitRatio float64) float64 {
	u := l.toSide(tx, ty)
	w := math.Abs(u)
	fall := min(l.TargetRatio, limitRatio, w*landRatio, w*l.TargetRatio/squareRatio)
	return -math.Copysign(fall, u)
}

// fall is the fall of a station's row towards the side; square tells that no way
// along it leads there.
func (s *station) fall(lim *Limits) (ratio float64, square bool) {
	u := lim.toSide(s.tx, s.ty)
	return -s.grade * math.Copysign(1, u), math.Abs(u) < squareRatio
}

// asAsked reports whether a fall is near enough to the target; a row square to
// the side has none to give.
func asAsked(fall float64, square bool, lim *Limits) bool {
	return square || math.Abs(fall-lim.TargetRatio) <= fallOffRatio
}

// merit is what layouts are compared by: the score and, with a target, how much
// of the length falls as asked for.
func (s *Score) merit(lim *Limits) float64 {
	if lim.TargetRatio == 0 {
		return s.JRatio
	}
	return s.JRatio + fallWorth*s.FallOKRatio
}
