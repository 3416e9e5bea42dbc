package contour

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

func row(pts ...orb.Point) Row { return Row{Line: pts} }

// arc is points of a circle within 5 mm of it.
func arc(c orb.Point, r, fromDeg, toDeg float64) (l orb.LineString) {
	n := int(math.Ceil((toDeg - fromDeg) * math.Pi / 180 / math.Sqrt(8*0.005/r)))
	for i := range n + 1 {
		s, cs := math.Sincos((fromDeg + (toDeg-fromDeg)*float64(i)/float64(n)) * math.Pi / 180)
		l = append(l, orb.Point{c[0] + r*cs, c[1] + r*s})
	}
	return l
}

func box(w, h float64) orb.MultiPolygon {
	return orb.MultiPolygon{{{{0, 0}, {w, 0}, {w, h}, {0, h}, {0, 0}}}}
}

// Figures by hand: ten rows of 100 m on 100 x 50 m, 2 % along them.
func TestJudgeStraightRows(t *testing.T) {
	lim := Defaults(5)
	var rows []Row
	for k := range 10 {
		y := 2.5 + 5*float64(k)
		rows = append(rows, row(orb.Point{0, y}, orb.Point{100, y}))
	}
	s := Judge(rows, box(100, 50), plane(0.02, 90), lim)
	assert.InDelta(t, 1, s.GoodRatio, 1e-12)
	assert.InDelta(t, 1-5*10*10/5000.0, s.JRatio, 1e-12, "ten pieces cost 10 m each")
	assert.InDelta(t, 1000, s.LengthM, 1e-9)
	assert.InDelta(t, 1, s.CoverRatio, 1e-12)
	assert.InDelta(t, 0.02, s.Grade995Ratio, 1e-12)
	assert.InDelta(t, 0.02, s.GradeMaxRatio, 1e-12)
	assert.InDelta(t, 0.02, s.GradeMeanRatio, 1e-12)
	assert.InDelta(t, 5, s.SpacingMinM, 1e-12)
	assert.InDelta(t, 5, s.SpacingMaxM, 1e-12)
	assert.True(t, math.IsInf(s.RadiusMinM, 1))
	assert.Empty(t, s.Broken)
	assert.Equal(t, 10, s.Pieces)
	assert.Zero(t, s.Short)
}

func TestJudgeFindsFaults(t *testing.T) {
	flat := plane(0, 0)
	long := func(y float64) Row { return row(orb.Point{0, y}, orb.Point{100, y}) }
	for name, c := range map[string]struct {
		rows   []Row
		ground geo.Surface
		want   Faults
	}{
		"steep":            {[]Row{long(20)}, plane(0.031, 90), TooSteep},
		"within grade":     {[]Row{long(20)}, plane(0.029, 90), 0},
		"near":             {[]Row{long(20), long(24.4)}, flat, TooNarrow},
		"at the least":     {[]Row{long(20), long(24.5)}, flat, 0},
		"far":              {[]Row{long(20), long(25.8)}, flat, TooWide},
		"out of sight":     {[]Row{long(20), long(29.1)}, flat, 0},
		"kink":             {[]Row{row(orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{100, 9})}, flat, TooTight},
		"slight kink":      {[]Row{row(orb.Point{0, 0}, orb.Point{50, 0}, orb.Point{100, 3})}, flat, 0},
		"tight arc":        {[]Row{{Line: arc(orb.Point{50, 50}, 19, 0, 180)}}, flat, TooTight},
		"arc":              {[]Row{{Line: arc(orb.Point{50, 50}, 21, 0, 180)}}, flat, 0},
		"wide arc":         {[]Row{{Line: arc(orb.Point{50, 50}, 90, 0, 90)}}, flat, 0},
		"itself":           {[]Row{row(orb.Point{0, 20}, orb.Point{100, 20}, orb.Point{100, 23}, orb.Point{0, 23})}, flat, TooNarrow | TooTight},
		"unknown ground":   {[]Row{long(20)}, nowhere{}, NoGround},
		"end to end":       {[]Row{row(orb.Point{0, 20}, orb.Point{49, 20}), row(orb.Point{50, 20}, orb.Point{100, 20})}, flat, 0},
		"neighbour's end":  {[]Row{long(20), row(orb.Point{0, 25}, orb.Point{60, 25})}, flat, 0},
		"a row across":     {[]Row{long(20), row(orb.Point{50, 22}, orb.Point{50, 60})}, flat, TooNarrow},
		"repeated vertex":  {[]Row{row(orb.Point{0, 20}, orb.Point{0, 20}, orb.Point{100, 20})}, flat, 0},
		"no length at all": {[]Row{row(orb.Point{3, 3}, orb.Point{3, 3}), row(orb.Point{1, 1}), {}}, flat, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s := Judge(c.rows, box(100, 100), c.ground, Defaults(5))
			var got Faults
			for _, b := range s.Broken {
				got |= b.Faults
				assert.Less(t, b.FromM, b.ToM)
			}
			assert.Equal(t, c.want, got)
			assert.Equal(t, len(c.rows), s.Pieces)
		})
	}
}

type nowhere struct{ shape }

func (nowhere) Height(orb.Point) (float64, bool) { return 0, false }

func (nowhere) Gradient(orb.Point) (east, north float64, ok bool) { return 0, 0, false }

// The radius of a circle comes back; a piece below the shortest row is not
// good; of nothing the score is zero.
func TestJudgeMeasures(t *testing.T) {
	lim := Defaults(5)
	lim.FilmM = 1.2
	for _, r := range []float64{8, 20.5, 45, 300} {
		s := Judge([]Row{{Line: arc(orb.Point{0, 0}, r, 0, 90)}}, box(600, 600), plane(0, 0), lim)
		assert.InEpsilon(t, r, s.RadiusMinM, 0.002)
		assert.InEpsilon(t, 1.2/(2*r), s.StrainMaxRatio, 0.002)
	}
	short := Judge([]Row{row(orb.Point{0, 0}, orb.Point{29, 0})}, box(100, 100), plane(0, 0), lim)
	assert.Zero(t, short.GoodRatio)
	assert.Equal(t, 1, short.Short)
	none := Judge(nil, nil, plane(0, 0), lim)
	assert.Zero(t, none.GoodRatio)
	assert.Zero(t, none.Pieces)
	// Of the study's handbook: film of 1.2 m on 20 m of radius strains 3 %.
	assert.InDelta(t, 0.03, lim.StrainRatio(20), 1e-12)
}

func TestBreak(t *testing.T) {
	lim := Defaults(5)
	half := append(orb.LineString{{-60, 10}}, reversed(arc(orb.Point{0, 0}, 10, -90, 90))...)
	half = append(half, orb.Point{-60, -10})
	rows, gaps := Break([]Row{{Line: half, Number: 7}}, lim)
	require.Len(t, rows, 2, "two straights")
	require.Len(t, gaps, 1)
	assert.Equal(t, 7, gaps[0].Number)
	assert.InDelta(t, 10, gaps[0].RadiusM, 0.2)
	assert.Greater(t, gaps[0].GapM, math.Pi*10-2)
	for _, r := range rows {
		assert.Equal(t, 7, r.Number)
		assert.InDelta(t, 58, lengthM(r.Line), 3)
	}

	ring, gaps := Break([]Row{{Line: arc(orb.Point{0, 0}, 40, 0, 360)}}, lim)
	require.Len(t, ring, 1, "a ring is opened")
	require.Len(t, gaps, 2, "at its two ends")
	assert.InDelta(t, 2*math.Pi*40-8, lengthM(ring[0].Line), 0.1)
	assert.InDelta(t, 8, distM(ring[0].Line[0], ring[0].Line[len(ring[0].Line)-1]), 0.1)

	small, _ := Break([]Row{{Line: arc(orb.Point{0, 0}, 15, 0, 360)}}, lim)
	assert.Empty(t, small, "a ring too tight all round")

	pair, _ := Break([]Row{row(orb.Point{0, 0}, orb.Point{100, 0}), row(orb.Point{0, 6}, orb.Point{100, 2})}, lim)
	s := Judge(pair, box(100, 10), plane(0, 0), lim)
	assert.GreaterOrEqual(t, s.SpacingLeastM, 0.85*5-0.01, "rows that close in are parted")
	assert.Len(t, pair, 2)

	none, _ := Break([]Row{{}, row(orb.Point{1, 1})}, lim)
	assert.Empty(t, none)
}

func reversed(l orb.LineString) orb.LineString {
	out := make(orb.LineString, 0, len(l))
	for i := range l {
		out = append(out, l[len(l)-1-i])
	}
	return out
}

// A turn into the end of a row that is too sharp is taken off with it. The stump
// that a cut through a curve leaves is not: the turn next to it is that of the
// curve.
func TestEase(t *testing.T) {
	lim := Defaults(5)
	c := newChain(arc(orb.Point{0, 0}, 21, 0, 90))
	cut := orb.LineString(c.piece(c.m[1]-0.05, c.lengthM()-c.m[1]+0.05))
	assert.Equal(t, cut, Ease(cut, lim))
	assert.Zero(t, Judge([]Row{{Line: cut}}, box(30, 30), plane(0, 0), lim).TightRatio)
	straight := orb.LineString{{0, 0}, {50, 0}}
	assert.Equal(t, straight, Ease(straight, lim))
	assert.Equal(t, straight, Ease(orb.LineString{{-0.5, 0.3}, {0, 0}, {50, 0}}, lim))
	assert.Equal(t, straight, Ease(orb.LineString{{0, 0}, {50, 0}, {51, 0.2}}, lim))
	assert.Empty(t, Ease(nil, lim))
	assert.Len(t, Ease(orb.LineString{{1, 1}, {1, 1}}, lim), 1)
}
