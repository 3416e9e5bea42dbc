package report

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/terrain"
	"hemrow/rows"
)

// hill is invented ground by formula, known where known says so.
type hill struct {
	height func(x, y float64) float64
	known  func(x, y float64) bool
}

var _ geo.Surface = hill{}

func (h hill) Height(p orb.Point) (float64, bool) {
	return h.height(p[0], p[1]), h.known == nil || h.known(p[0], p[1])
}

func (h hill) Gradient(p orb.Point) (east, north float64, ok bool) {
	const d = 0.01
	_, ok = h.Height(p)
	return (h.height(p[0]+d, p[1]) - h.height(p[0]-d, p[1])) / (2 * d), (h.height(p[0], p[1]+d) - h.height(p[0], p[1]-d)) / (2 * d), ok
}
func (h hill) Breaks(_, _ orb.Point, dst []float64) []float64 { return dst }
func (h hill) Bounds() orb.Bound {
	return orb.Bound{Min: orb.Point{-1e4, -1e4}, Max: orb.Point{1e4, 1e4}}
}
func (h hill) SpacingM() float64 { return 2 }
func (h hill) Describe() string  { return "a formula" }

// spur is a fall to the south with a spur in the middle, steep enough to bend
// rows for.
func spur(x, y float64) float64 {
	return 220 + 0.06*y + 7*math.Cos(2*math.Pi*x/260)*(1-y/500)
}

// knoll is a round hill beside a second one.
func knoll(x, y float64) float64 {
	bump := func(x0, y0, h, r float64) float64 {
		return h * math.Exp(-((x-x0)*(x-x0)+(y-y0)*(y-y0))/(2*r*r))
	}
	return 180 + bump(-60, -20, 14, 70) + bump(90, 60, 10, 60) - 0.02*x
}

// hillScene is a field on a hill with rows that follow it.
func hillScene(t testing.TB, name string, outline orb.Polygon, h hill) scene {
	s := scene{name: name, spec: specOf(5, 0)}
	s.spec.Style = rows.StyleContour
	s.spec.Heading = rows.Heading{Mode: rows.HeadingSearch, StepDeg: 5}
	s.spec.FirstRow = rows.FirstRow{Best: true, Steps: 4}
	s.field = geo.Field{
		Name: "Kestrel Rise", Frame: frameAt(t, -18.4, 47.2).WithHeight(215), Surface: h,
		Blocks:    []geo.Block{{Name: "Upper Rise", Outline: outline}},
		Obstacles: []geo.Obstacle{{Name: "Wren Pool", Area: round(-40, 10, 12, 9, 24)}},
	}
	return s
}

// hillDocument plans a scene on a hill.
func hillDocument(t testing.TB, s scene) result.Document {
	t.Helper()
	l, notes, err := rows.Plan(context.Background(), s.field, s.spec)
	require.NoError(t, err)
	var areas []orb.MultiPolygon
	for i := range l.Blocks {
		a, err := l.WorkingArea(i)
		require.NoError(t, err)
		areas = append(areas, a)
	}
	interval, levels := terrain.Drawn(s.field.Surface, s.field.Blocks[0].Outline.Bound().Pad(20))
	units := s.units
	if units == "" {
		units = "metric"
	}
	d, err := result.New(result.Input{
		Program: "hemrow", Version: "v0.1.0", Units: units, Field: s.field, Layout: l, WorkingAreas: areas, Notes: notes,
		Relief:    &field.Relief{Method: "by formula", Ground: terrain.Ground{LowestM: 190, HighestM: 240, MeanM: 215, MeanSlopePct: 12, Slope95Pct: 21, CoveredRatio: 1}},
		IntervalM: interval, Levels: levels,
	})
	require.NoError(t, err)
	return d
}

// hills are the documents of two hills: a field of 4 ha on a spur, and one of
// 5 ha over two knolls of which a corner was not surveyed.
func hills(t testing.TB) map[string]result.Document {
	known := func(x, y float64) bool { return x < 110 || y > 0 }
	return map[string]result.Document{
		"spur":   hillDocument(t, hillScene(t, "spur", box(-120, -80, 120, 80), hill{height: spur})),
		"knolls": hillDocument(t, hillScene(t, "knolls", round(20, 20, 150, 120, 11), hill{knoll, known})),
	}
}
