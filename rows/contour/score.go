package contour

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// tally sums up stations to a score.
func tally(st [][]station, areaM2 float64, lim *Limits) Score {
	t := sums{Score: Score{AreaM2: areaM2, RadiusMinM: math.Inf(1)}}
	for r, row := range st {
		t.add(row, lim)
		t.Broken = runs(t.Broken, r, row)
	}
	sc := t.Score
	if sc.LengthM <= 0 || areaM2 <= 0 {
		return sc
	}
	sc.GoodRatio = lim.SpacingM * t.good / areaM2
	sc.JRatio = t.net(areaM2, lim)
	sc.CoverRatio = lim.SpacingM * sc.LengthM / areaM2
	sc.InWindowRatio, sc.TightRatio = t.inside/sc.LengthM, t.tight/sc.LengthM
	sc.NoGroundRatio = t.unknown / sc.LengthM
	if t.known > 0 {
		sc.OnGradeRatio, sc.GradeMeanRatio = t.on/t.known, t.signed/t.known
	}
	sc.FallOKRatio = t.fallOK()
	if t.sloping > 0 {
		sc.FallMeanRatio = t.fall / t.sloping
	}
	sc.Grade995Ratio, sc.GradeMaxRatio = quantile(t.grades, 0.995), quantile(t.grades, 1)
	sc.SpacingMinM, sc.SpacingMaxM = quantile(t.gaps, 0.005), quantile(t.gaps, 0.995)
	sc.SpacingLeastM, sc.SpacingMeanM = quantile(t.gaps, 0), mean(t.gaps)
	sc.StrainMaxRatio = lim.StrainRatio(sc.RadiusMinM)
	return sc
}

// sums is a score in the making, with lengths of row by what they keep.
type sums struct {
	Score
	good, known, unknown, on, signed, inside, tight float64
	aimed, sloping, fall, asAsked                   float64 // with a target
	grades, gaps                                    []weighted
}

// add adds one row.
func (t *sums) add(row []station, lim *Limits) {
	t.serve(row, lim)
	t.slope(row, lim)
	for i := range row {
		t.addStation(&row[i], row[i].toM-row[i].fromM)
	}
}

// merit is that of the score of [tally] alone, to the last digit.
func merit(st [][]station, areaM2 float64, lim *Limits) float64 {
	var t sums
	for _, row := range st {
		t.serve(row, lim)
		t.slope(row, lim)
	}
	if t.LengthM <= 0 || areaM2 <= 0 {
		return 0
	}
	sc := Score{JRatio: t.net(areaM2, lim), FallOKRatio: t.fallOK()}
	return sc.merit(lim)
}

// net is the good share less the price of the pieces.
func (t *sums) net(areaM2 float64, lim *Limits) float64 {
	return lim.SpacingM*t.good/areaM2 - lim.SpacingM*lim.TurnM*float64(t.Pieces)/areaM2
}

// serve adds what one row serves, and counts it.
func (t *sums) serve(row []station, lim *Limits) {
	t.Pieces++
	length := 0.0
	if len(row) > 0 {
		length = row[len(row)-1].toM
	}
	if length < lim.ShortM {
		t.Short++
	}
	t.LengthM += length
	for i := range row {
		if s := &row[i]; s.faults&^NoGround == 0 && length >= lim.ShortM {
			t.good += s.toM - s.fromM
		}
	}
}

func (t *sums) addStation(s *station, w float64) {
	if s.faults&NoGround == 0 {
		t.known, t.signed = t.known+w, t.signed+w*s.grade
		t.grades = append(t.grades, weighted{math.Abs(s.grade), w})
		if s.faults&TooSteep == 0 {
			t.on += w
		}
	} else {
		t.unknown += w
	}
	if s.faults&(TooNarrow|TooWide) == 0 {
		t.inside += w
	}
	if s.faults&TooTight != 0 {
		t.tight += w
	}
	for _, d := range [2]float64{s.left, s.right} {
		if !math.IsInf(d, 1) {
			t.gaps = append(t.gaps, weighted{d, w})
		}
	}
	if s.curve > 0 {
		t.RadiusMinM = min(t.RadiusMinM, 1/s.curve)
	}
}

// slope adds how one row falls to the side asked for.
func (t *sums) slope(row []station, lim *Limits) {
	if lim.TargetRatio == 0 {
		return
	}
	for i := range row {
		s := &row[i]
		if s.faults&NoGround != 0 {
			continue
		}
		w := s.toM - s.fromM
		t.aimed += w
		fall, square := s.fall(lim)
		if !square {
			t.sloping, t.fall = t.sloping+w, t.fall+w*fall
		}
		if asAsked(fall, square, lim) {
			t.asAsked += w
		}
	}
}

// fallOK is the share of the length with known ground that falls as asked for.
func (t *sums) fallOK() float64 {
	if t.aimed <= 0 {
		return 0
	}
	return t.asAsked / t.aimed
}

// runs appends the stretches of a row that have faults.
func runs(dst []Run, r int, row []station) []Run {
	for i := 0; i < len(row); {
		j := i + 1
		for j < len(row) && row[j].faults == row[i].faults {
			j++
		}
		if row[i].faults != 0 {
			dst = append(dst, Run{r, row[i].fromM, row[j-1].toM, row[i].faults})
		}
		i = j
	}
	return dst
}

type weighted struct{ v, w float64 }

// quantile is the value below which the share q of the weight lies; 0 of
// nothing.
func quantile(xs []weighted, q float64) float64 {
	if len(xs) == 0 {
		return 0
	}
	slices.SortFunc(xs, func(a, b weighted) int { return cmp.Or(cmp.Compare(a.v, b.v), cmp.Compare(a.w, b.w)) })
	var total, sum float64
	for _, x := range xs {
		total += x.w
	}
	for _, x := range xs {
		if sum += x.w; sum >= q*total {
			return x.v
		}
	}
	return xs[len(xs)-1].v
}

func mean(xs []weighted) float64 {
	var total, sum float64
	for _, x := range xs {
		total, sum = total+x.w, sum+x.v*x.w
	}
	if total <= 0 {
		return 0
	}
	return sum / total
}

func distM(a, b orb.Point) float64 { return math.Hypot(b[0]-a[0], b[1]-a[1]) }

func along(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}
