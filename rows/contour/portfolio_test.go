package contour

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync/atomic"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
)

// On invented ground the winner is what the shape of the ground demands: planes
// and parallel ridges are served by straight rows, noses and hills are not. No
// source beyond the study of this method, which says so of each.
func TestBestOnInventedGround(t *testing.T) {
	for _, c := range []struct {
		ground   string
		field    orb.Polygon
		straight bool
		gain     float64 // of score at least
	}{
		{"plane", convex, true, 0},
		{"ridges", convex, true, 0},
		{"nose", convex, false, 0.3},
		{"saddle", lpond, false, 0.15},
		{"crater", convex, false, 0.2},
	} {
		if testing.Short() && len(c.field) == 1 && c.ground != "nose" {
			continue
		}
		t.Run(c.ground, func(t *testing.T) {
			site, lim := siteOn(t, c.field, grounds[c.ground], 5), Defaults(5)
			var steps []string
			choice, err := Best(context.Background(), site, lim, straightest(t, site, lim), func(s string) { steps = append(steps, s) })
			require.NoError(t, err)
			for i := range choice.Candidates {
				logCandidate(t, &choice.Candidates[i])
			}
			t.Log(choice.Why, choice.Depth)
			requireChoice(t, choice, site, lim)
			requireOrder(t, steps, "following a guide", "fitting a field: coarse starts", "fitting a field: refining",
				"fitting a field: laying rows", "fitting a field: shifting rows", "restarting")
			require.Len(t, choice.Candidates, 4)
			best := choice.Best()
			assert.Equal(t, c.straight, best.Method == Straight, choice.Why)
			assert.GreaterOrEqual(t, best.Score.JRatio, choice.Candidates[0].Score.JRatio+c.gain)
			if best.Method == Restarted {
				assert.NotEmpty(t, choice.Depth)
			}
			for i := range choice.Candidates {
				x := &choice.Candidates[i]
				assert.InDelta(t, x.Score.GoodRatio*x.Score.AreaM2, 1e4*x.GoodHa, 1e-6)
				assert.Equal(t, Judge(x.Rows, site.Area, site.Raw, lim), x.Score, "the score is that of the rows given")
			}
		})
	}
}

func TestBestKeepsStraightRows(t *testing.T) {
	lim := Defaults(5)
	straight := []Row{row(orb.Point{0, 2.5}, orb.Point{100, 2.5}), row(orb.Point{0, 7.5}, orb.Point{100, 7.5})}
	for name, c := range map[string]struct {
		site Site
		says string
	}{
		"flat":           {Site{Area: box(100, 10), Design: plane(0.004, 30), Raw: plane(0.004, 30)}, "Straight rows: the ground is flat, with slopes up to 0.4 %, so that it does not choose a direction."},
		"no terrain":     {Site{Area: box(100, 10), Design: nil, Raw: nil}, "Straight rows: the heights of the ground are not known."},
		"unknown ground": {Site{Area: box(100, 10), Design: unsurveyed{}, Raw: unsurveyed{}}, "Straight rows: the heights of the ground are not known."},
		"no ground":      {Site{Area: nil, Design: plane(0.1, 0), Raw: plane(0.1, 0)}, "Straight rows: there is no ground for rows."},
	} {
		t.Run(name, func(t *testing.T) {
			choice, err := Best(context.Background(), c.site, lim, straight, nil)
			require.NoError(t, err)
			require.Len(t, choice.Candidates, 1)
			assert.Equal(t, Straight, choice.Best().Method)
			assert.Equal(t, straight, choice.Best().Rows)
			assert.Equal(t, c.says, choice.Why)
		})
	}
}

func TestBestRefusesLimits(t *testing.T) {
	_, err := Best(context.Background(), Site{}, Limits{}, nil, nil)
	assert.ErrorContains(t, err, "the spacing must be above 0 m")
}

// Without straight rows, which an odd area may not hold, the rest are compared.
func TestBestWithoutStraightRows(t *testing.T) {
	site, lim := siteOn(t, orb.Polygon{{{0, 0}, {150, 0}, {150, 100}, {0, 100}, {0, 0}}}, plane(0.05, 20), 5), Defaults(5)
	choice, err := Best(context.Background(), site, lim, nil, nil)
	require.NoError(t, err)
	assert.NotEqual(t, Straight, choice.Best().Method)
	assert.NotEmpty(t, choice.Best().Rows)
}

// small is a field of 2.5 ha.
var small = orb.Polygon{{{0, 0}, {200, 20}, {180, 160}, {20, 150}, {0, 0}}}

// requireOrder checks that steps are told in an order, and none twice in a row.
func requireOrder(t *testing.T, steps []string, want ...string) {
	t.Helper()
	at := -1
	for _, w := range want {
		k := slices.Index(steps, w)
		require.Greater(t, k, at, "%s in %q", w, steps)
		at = k
	}
	for i, s := range steps[1:] {
		require.NotEqual(t, steps[i], s)
	}
}

// counted counts the heights that are asked for.
type counted struct {
	geo.Surface
	n *atomic.Int64
}

func (c counted) Height(p orb.Point) (float64, bool) {
	c.n.Add(1)
	return c.Surface.Height(p)
}

func (c counted) Gradient(p orb.Point) (e, n float64, ok bool) {
	c.n.Add(1)
	return c.Surface.Gradient(p)
}

// Stopped at any step, Best does little more: of the work by the ground it asks
// for, no more than 0.2 s would be of the 5 s that 12 ha may take.
func TestBestStops(t *testing.T) {
	site, lim := siteOn(t, small, saddle(orb.Point{90, 80}), 5), Defaults(5)
	var asked atomic.Int64
	site.Design, site.Raw = counted{site.Design, &asked}, counted{site.Raw, &asked}
	var steps []string
	_, err := Best(context.Background(), site, lim, nil, func(s string) { steps = append(steps, s) })
	require.NoError(t, err)
	total := float64(asked.Load())
	for k := 0; k < len(steps); k += 7 {
		ctx, cancel := context.WithCancel(context.Background())
		told, after := 0, int64(0)
		_, err := Best(ctx, site, lim, nil, func(string) {
			if told++; told == k+1 {
				cancel()
				after = asked.Load()
			}
		})
		require.ErrorIs(t, err, context.Canceled, steps[k])
		assert.Less(t, float64(asked.Load()-after), 0.04*total, steps[k])
		assert.LessOrEqual(t, told-k-1, 3, "steps told of after the end: %s", steps[k])
		cancel()
	}
}

func TestBestIsDeterministic(t *testing.T) {
	site, lim := siteOn(t, small, saddle(orb.Point{90, 80}), 5), Defaults(5)
	straight := straightest(t, site, lim)
	run := func(procs int) Choice {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(procs))
		c, err := Best(context.Background(), site, lim, straight, nil)
		require.NoError(t, err)
		return c
	}
	assert.Equal(t, run(1), run(3))
}

// On ground z = (m₁ + (m₂ - m₁) x / l) y, whose slope across a row along y = 0
// goes from 6 to 10 % in 100 m, rows parallel to it keep 3 % to 75 m on either
// side. Source: geometry, 0.03 · 100 m / (0.10 - 0.06).
func TestDepthOfRestarts(t *testing.T) {
	ground := shape(func(x, y float64) (z, gx, gy float64) {
		m := 0.06 + 0.04*x/100
		return m * y, 0.04 / 100 * y, m
	})
	lim := Defaults(5)
	p := &portfolio{lim: &lim, site: Site{Area: orb.MultiPolygon{{{{0, -90}, {100, -90}, {100, 90}, {0, 90}, {0, -90}}}}, Design: ground, Raw: ground}}
	rows := []Row{row(orb.Point{0, 0}, orb.Point{100, 0}), {Line: orb.LineString{{0, 80}, {60, 80}}, Zone: 1}}
	c := Choice{Candidates: []Candidate{{}, {Method: Restarted, Layout: Layout{Rows: rows}}}, Winner: 1}
	c.explainDepth(p)
	assert.InDelta(t, 75, c.DepthM, 1e-6)
	assert.Contains(t, c.Depth, "Rows begin anew once")
	assert.Contains(t, c.Depth, "keep a grade of 3.0 % for 75 m to either side, 15 rows")

	c.Depth, c.DepthM = "", 0
	rows[1].Zone = 0
	c.explainDepth(p)
	assert.Empty(t, c.Depth, "one zone needs no explanation")

	p.site.Design, rows[1].Zone = plane(0.06, 0), 1
	c.explainDepth(p)
	assert.Zero(t, c.DepthM)
	assert.Equal(t, "Rows begin anew once: no single run of rows keeps every limit over the whole area.", c.Depth)
}

func ExampleBest() {
	ground := plane(0.08, 90) // rising to the east
	area := box(120, 60)
	var uphill []Row
	for k := range 12 {
		y := 2.5 + 5*float64(k)
		uphill = append(uphill, Row{Line: orb.LineString{{0, y}, {120, y}}})
	}
	c, err := Best(context.Background(), Site{Area: area, Design: ground, Raw: ground}, Defaults(5), uphill, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(c.Why)
	// Output:
	// Rows along a guide win: 0.72 of 0.72 ha lie inside every limit against 0.00 ha with straight rows (score 0.833 against -0.083), the grade exceeded on 0.5 % of the length is 0.0 % against 8.0 %, and there are 24 pieces of row against 12.
}

// The rule of choice, by hand.
func TestChoose(t *testing.T) {
	type c struct {
		j        float64
		pieces   int
		rejected bool
	}
	for name, x := range map[string]struct {
		all  []c
		want Method
		says string
	}{
		"best score":            {[]c{{0.5, 50, false}, {0.6, 50, false}, {0.7, 60, false}, {0.8, 90, false}}, Restarted, "score 0.800 against 0.500"},
		"straight wins a tie":   {[]c{{0.8, 50, false}, {0.7, 50, false}, {0.8015, 40, false}, {0.7, 1, false}}, Straight, "would gain 0.0015"},
		"straight best":         {[]c{{0.8, 50, false}, {0.7, 50, false}, {0.6, 40, false}, {0.6, 1, false}}, Straight, "the best other layout, rows along a guide, scores 0.700"},
		"just more than a tie":  {[]c{{0.8, 50, false}, {0.7, 50, false}, {0.811, 40, false}, {0.7, 1, false}}, ByField, "the gain of 0.011 is slight"},
		"fewer pieces":          {[]c{{0.5, 50, false}, {0.7, 70, false}, {0.7, 60, false}, {0.701, 90, false}}, ByField, "60 pieces of row against 50"},
		"rejected":              {[]c{{0.5, 50, false}, {0.6, 50, false}, {0.7, 60, false}, {0.8, 90, true}}, ByField, "score 0.700"},
		"all others rejected":   {[]c{{0.5, 50, false}, {0.6, 50, true}, {0.7, 60, true}, {0.8, 90, true}}, Straight, "rows of a field with restarts would score 0.800, but by hand"},
		"straight below nought": {[]c{{-0.1, 50, false}, {-0.05, 50, false}, {-0.2, 60, false}, {-0.2, 90, false}}, ByGuide, "score -0.050"},
	} {
		t.Run(name, func(t *testing.T) {
			lim := Defaults(5)
			p := &portfolio{lim: &lim, site: Site{Area: box(100, 100), Design: plane(0.05, 0), Raw: plane(0.05, 0)}}
			for i, k := range x.all {
				a := Candidate{Method: Method(i), Layout: Layout{Score: Score{JRatio: k.j, Pieces: k.pieces, AreaM2: 1e4, Grade995Ratio: 0.04}}}
				if k.rejected {
					a.Rejected = "by hand"
				}
				p.all = append(p.all, a)
			}
			choice := p.choose()
			assert.Equal(t, x.want, choice.Best().Method)
			assert.Contains(t, choice.Why, x.says)
		})
	}
}

// Each hard floor and each warning, by hand.
func TestFloorsOfChoice(t *testing.T) {
	lim := Defaults(5)
	good := Score{LengthM: 1000, AreaM2: 10000, CoverRatio: 1, Pieces: 10, SpacingLeastM: 4.3, RadiusMinM: 20, InWindowRatio: 1}
	for name, c := range map[string]struct {
		change   func(x *Candidate)
		rejected string
		warning  string
	}{
		"good":      {func(*Candidate) {}, "", ""},
		"straight":  {func(x *Candidate) { x.Score.RadiusMinM = math.Inf(1) }, "", ""},
		"no rows":   {func(x *Candidate) { x.Rows = nil }, "it has no rows", ""},
		"too tight": {func(x *Candidate) { x.Score.TightRatio, x.Score.RadiusMinM = 0.001, 18 }, "a row bends to 18.0 m, tighter than 20.0 m", ""},
		"too near":  {func(x *Candidate) { x.Score.SpacingLeastM = 4.2 }, "rows come within 4.20 m of each other, under the 4.25 m allowed at the worst", ""},
		"one row":   {func(x *Candidate) { x.Score.SpacingLeastM = 0 }, "", ""},
		"laid too thin": {
			func(x *Candidate) { x.LaidRatio = 0.94 },
			"its rows leave out too much of the ground: they cover 94.0 % of it as laid, under 95 %", "",
		},
		"a guide is broken as laid": {
			func(x *Candidate) { x.Method, x.LaidRatio, x.Score.CoverRatio = ByGuide, 0.93, 0.93 },
			"", "0.07 ha less are planted than with straight rows",
		},
		"broken": {func(x *Candidate) { x.Score.CoverRatio = 0.92 }, "", "0.08 ha less are planted than with straight rows"},
		"broken too much": {
			func(x *Candidate) { x.Score.CoverRatio = 0.84 },
			"its rows cover 84.0 % of what straight rows cover once headlands and tight places are taken out, under 85 %", "0.16 ha less are planted than with straight rows",
		},
		"uneven": {func(x *Candidate) { x.Score.InWindowRatio = 0.94 }, "", "94.0 % of the row length keeps the spacing of 4.50 to 5.75 m, under 95 %"},
		"short":  {func(x *Candidate) { x.Score.Short = 2 }, "", "2 of 10 rows are shorter than 30 m"},
		"turns":  {func(x *Candidate) { x.Score.Pieces = 15 }, "", "5 more rows to turn in and out of than with straight rows"},
	} {
		t.Run(name, func(t *testing.T) {
			p := &portfolio{lim: &lim, all: []Candidate{{Layout: Layout{Score: good}}}}
			x := Candidate{Method: ByField, LaidRatio: 1, Layout: Layout{Rows: make([]Row, 10), Score: good}}
			c.change(&x)
			assert.Equal(t, c.rejected, p.reject(&x))
			if c.warning == "" {
				assert.Empty(t, p.warn(&x))
			} else {
				assert.Equal(t, []string{c.warning}, p.warn(&x))
			}
		})
	}
}

// Where bent rows are asked for, the best of them is laid though straight rows
// won: of those that pass, or else of those that only plant too little.
func TestOverrule(t *testing.T) {
	for name, c := range map[string]struct {
		all  []Candidate // straight first
		want int
		over bool
	}{
		"bent ones won anyway": {[]Candidate{{}, {Method: ByGuide, Layout: Layout{Score: Score{JRatio: 0.5}}}}, 1, false},
		"best that passes": {[]Candidate{
			{Layout: Layout{Score: Score{JRatio: 0.9}}},
			{Method: ByGuide, Layout: Layout{Score: Score{JRatio: 0.4}}},
			{Method: ByField, Layout: Layout{Score: Score{JRatio: 0.6}}},
			{Method: Restarted, Layout: Layout{Score: Score{JRatio: 0.7}}, Rejected: "thin", Sparse: true},
		}, 2, true},
		"only a thin one": {[]Candidate{
			{Layout: Layout{Score: Score{JRatio: 0.9}}},
			{Method: ByGuide, Layout: Layout{Score: Score{JRatio: 0.8}}, Rejected: "tight"},
			{Method: ByField, Layout: Layout{Score: Score{JRatio: 0.6}}, Rejected: "thin", Sparse: true},
		}, 2, true},
		"none at all": {[]Candidate{{Layout: Layout{Score: Score{JRatio: 0.9}}}, {Method: ByGuide, Rejected: "tight"}}, 0, false},
	} {
		lim := Defaults(5)
		p := &portfolio{lim: &lim, site: Site{Area: box(100, 100), Design: plane(0.05, 0), Raw: plane(0.05, 0), Bent: true}, all: c.all}
		got := p.choose()
		assert.Equal(t, c.want, got.Winner, name)
		assert.Equal(t, c.over, got.Overruled, name)
	}
}
