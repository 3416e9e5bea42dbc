package rows

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/terrain"
	"hemrow/rows/contour"
)

// height is ground by formula.
type height func(x, y float64) float64

var _ geo.Surface = height(nil)

func (h height) Height(p orb.Point) (float64, bool) { return h(p[0], p[1]), true }
func (h height) Gradient(p orb.Point) (east, north float64, ok bool) {
	const d = 0.01
	return (h(p[0]+d, p[1]) - h(p[0]-d, p[1])) / (2 * d), (h(p[0], p[1]+d) - h(p[0], p[1]-d)) / (2 * d), true
}
func (h height) Breaks(_, _ orb.Point, dst []float64) []float64 { return dst }
func (h height) Bounds() orb.Bound {
	return orb.Bound{Min: orb.Point{-1e4, -1e4}, Max: orb.Point{1e4, 1e4}}
}
func (h height) SpacingM() float64 { return 1 }
func (h height) Describe() string  { return "by formula" }

// surveyed puts ground into a field as a grid of 2 m cells about it.
func surveyed(f geo.Field, z height) geo.Field {
	l := terrain.SampleGrid(z, f.Bound().Pad(50), 2)
	f.Surface = l.Surface(terrain.Bicubic)
	f.Frame = f.Frame.WithHeight(300)
	return f
}

// cone falls away from its tip by 8 %.
func cone(tip orb.Point) height {
	return func(x, y float64) float64 { return 400 - 0.08*math.Hypot(x-tip[0], y-tip[1]) }
}

// slope is a plane that rises by so much for a metre to the east and the north.
func slope(east, north float64) height {
	return func(x, y float64) float64 { return 300 + east*x + north*y }
}

func following(style Style) Spec {
	s := straight(5)
	s.Style = style
	s.Curving.HalfSlope, s.Curving.GradePct = false, 3
	return s
}

func planned(t testing.TB, f geo.Field, s Spec) (Layout, geo.Notes) {
	t.Helper()
	l, notes, err := Plan(context.Background(), f, s)
	require.NoError(t, err)
	require.NoError(t, l.Check())
	return l, notes
}

// On the flank of a cone level rows are arcs about its tip, a spacing apart:
// every vertex of a row has one distance to the tip within the chord error, and
// the length of a row is its radius times the angle it spans.
// Source: plane geometry.
func TestArcsOnAConeFlank(t *testing.T) {
	tip := orb.Point{150, -120}
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 240, 160)}), cone(tip))
	s := following(StyleBest)
	s.Plants = []Planting{{Plant: "hazel", PitchM: 4, StartM: 1, Every: 1, From: 1}}
	l, notes := planned(t, f, s)
	b := l.Blocks[0]
	require.True(t, b.Bent)
	require.NotNil(t, b.Curved)
	_, said := noted(notes, geo.NoteRowsBent)
	assert.True(t, said)
	radii := map[int]float64{}
	for _, r := range l.Rows {
		for _, p := range r.Pieces {
			line := withoutBreaks(p.Line)
			var sum float64
			for _, q := range line {
				sum += distM(q, tip)
			}
			mean := sum / float64(len(line))
			for _, q := range line {
				assert.InDelta(t, mean, distM(q, tip), 0.03, "row %d", r.Number)
			}
			radii[r.Number] = mean
			a, e := p.Line.Ends()
			span := math.Abs(math.Remainder(math.Atan2(a[1]-tip[1], a[0]-tip[0])-math.Atan2(e[1]-tip[1], e[0]-tip[0]), 2*math.Pi))
			assert.InEpsilon(t, mean*span, p.PlanM, 1e-3)
			assert.InEpsilon(t, p.PlanM*f.Frame.GroundFactor(), p.GroundM, 1e-5, "level rows are as long as in plan")
			for _, g := range p.Grades {
				assert.Zero(t, g.Step, "within 1 %%")
			}
			for k := 1; k < len(p.Stations); k++ {
				assert.InDelta(t, 4, p.Stations[k].ChainageM-p.Stations[k-1].ChainageM, 1e-6)
			}
		}
	}
	for n := 2; n <= len(l.Rows); n++ {
		gap := math.Abs(radii[n] - radii[n-1])
		assert.InDelta(t, 5*math.Round(gap/5), gap, 0.03, "rows %d and %d", n-1, n)
	}
}

// A plane is planted straight, along its contours: the fall of the rows is 0 and
// bending gains nothing. Level with 6 % at bearing 37 means heading 127.
func TestStraightRowsWinOnAPlane(t *testing.T) {
	e, n := geo.Bearing(37).Unit()
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 200, 150)}), slope(0.06*e, 0.06*n))
	l, notes := planned(t, f, following(StyleBest))
	b := l.Blocks[0]
	assert.False(t, b.Bent)
	assert.Less(t, b.Heading.FoldedDiffDeg(127), 30.0, "3 %% of 6 %%")
	require.NotNil(t, b.Curved)
	assert.Equal(t, contour.Straight, b.Curved.Laid().Method)
	note, said := noted(notes, geo.NoteStraightKept)
	require.True(t, said)
	assert.Contains(t, note.Text, "Straight rows win")

	l, notes = planned(t, f, following(StyleContour))
	b = l.Blocks[0]
	assert.True(t, b.Bent)
	assert.True(t, b.Curved.Choice.Overruled)
	assert.Less(t, b.Heading.FoldedDiffDeg(127), 30.0)
	note, said = noted(notes, geo.NoteRowsBent)
	require.True(t, said)
	assert.Contains(t, note.Text, "The style asks for bent rows")
}

func TestNothingToFollow(t *testing.T) {
	bare := fieldOf(nil, orb.Polygon{rect(0, 0, 120, 90)})
	l, notes := planned(t, bare, following(StyleBest))
	assert.Nil(t, l.Blocks[0].Curved)
	note, said := noted(notes, geo.NoteStraightKept)
	require.True(t, said)
	assert.Contains(t, note.Text, "only where its heights are known")
	plain, _ := planned(t, bare, following(StyleStraight))
	require.Len(t, l.Rows, len(plain.Rows), "as straight rows are laid")
	for i, r := range l.Rows {
		assert.Equal(t, plain.Rows[i].Pieces[0].Line.Points(), r.Pieces[0].Line.Points())
	}

	l, notes = planned(t, surveyed(bare, slope(0.001, 0.002)), following(StyleBest))
	assert.False(t, l.Blocks[0].Bent)
	note, said = noted(notes, geo.NoteStraightKept)
	require.True(t, said)
	assert.Contains(t, note.Text, "flat")

	tiny := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 12, 12)}), slope(0.06, 0))
	l, notes = planned(t, tiny, following(StyleBest))
	assert.Empty(t, l.Rows)
	_, said = noted(notes, geo.NoteEmptyBlock)
	assert.True(t, said)
}

// Two blocks of one field, one flat and one on a cone: each is laid by itself,
// and numbers run on.
func TestBlocksAreChosenOneByOne(t *testing.T) {
	tip := orb.Point{420, -150}
	z := func(x, y float64) float64 {
		if x < 200 {
			return 380
		}
		return cone(tip)(x, y)
	}
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 150, 120)}, orb.Polygon{rect(300, 0, 500, 150)}), z)
	l, _ := planned(t, f, following(StyleBest))
	assert.False(t, l.Blocks[0].Bent)
	assert.True(t, l.Blocks[1].Bent)
	assert.Equal(t, l.Blocks[0].RowCount+1, l.Blocks[1].FirstRow)
}

// A pond divides bent rows, and the pieces on both sides keep one number.
func TestRowsRoundAPond(t *testing.T) {
	pond := geo.Obstacle{Name: "pond", Area: orb.Polygon{rect(110, 70, 140, 95)}}
	f := surveyed(fieldOf([]geo.Obstacle{pond}, orb.Polygon{rect(0, 0, 240, 160)}), cone(orb.Point{120, -120}))
	l, _ := planned(t, f, following(StyleBest))
	require.True(t, l.Blocks[0].Bent)
	divided := 0
	for _, r := range l.Rows {
		for k := 1; k < len(r.Pieces); k++ {
			_, e := r.Pieces[k-1].Line.Ends()
			a, _ := r.Pieces[k].Line.Ends()
			if mid := between(e, a, 0.5); pond.Area.Bound().Contains(mid) && distM(e, a) < 60 {
				divided++
			}
		}
	}
	assert.GreaterOrEqual(t, divided, 5)
}

// Rows longer than the longest run are divided by alleys square to them, which
// line up from row to row.
func TestBentRowsDividedByAlleys(t *testing.T) {
	tip := orb.Point{150, -120}
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 300, 160)}), cone(tip))
	s := following(StyleBest)
	s.LongestM, s.CrossAlleyM = 120, 8
	l, notes := planned(t, f, s)
	b := l.Blocks[0]
	require.True(t, b.Bent)
	require.NotEmpty(t, b.Alleys)
	_, said := noted(notes, geo.NoteRunDivided)
	assert.True(t, said)
	for _, alley := range b.Alleys {
		// on a cone an alley is a line through the tip
		require.Greater(t, len(alley), 5)
		first := math.Atan2(alley[0][1]-tip[1], alley[0][0]-tip[0])
		for _, q := range alley {
			assert.InDelta(t, first, math.Atan2(q[1]-tip[1], q[0]-tip[0]), 0.005)
		}
		for _, r := range l.Rows {
			for _, p := range r.Pieces {
				for _, q := range alley {
					near := nearestOn(p.Line.Points(), q)
					assert.Greater(t, near.distM, s.CrossAlleyM/2-1e-3, "row %d stands in an alley", r.Number)
				}
			}
		}
	}
}

// What the ground beyond a survey is, nobody knows: rows are laid there all the
// same, their grade is unknown and a note says so.
func TestBentRowsBeyondTheSurvey(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 240, 160)})
	l := terrain.SampleGrid(cone(orb.Point{120, -120}), orb.Bound{Min: orb.Point{-50, -50}, Max: orb.Point{150, 210}}, 2)
	f.Surface, f.Frame = l.Surface(terrain.Bilinear), f.Frame.WithHeight(300)
	got, notes := planned(t, f, following(StyleBest))
	require.True(t, got.Blocks[0].Bent)
	_, said := noted(notes, geo.NoteTerrainMissing)
	assert.True(t, said)
	unknown := 0
	for _, r := range got.Rows {
		for _, p := range r.Pieces {
			for _, g := range p.Grades {
				if g.Step == -1 {
					unknown++
				}
			}
		}
	}
	assert.Positive(t, unknown)
}

func TestBentLayoutIsDeterministic(t *testing.T) {
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 150, 120)}), cone(orb.Point{70, -90}))
	var all []string
	for _, workers := range []int{1, 3} {
		pl := Planner{Workers: workers}
		l, notes, err := pl.Plan(context.Background(), f, following(StyleBest))
		require.NoError(t, err)
		text := fmt.Sprint(notes, l.Passes) // heights may be NaN, which equals nothing
		for _, r := range l.Rows {
			for _, p := range r.Pieces {
				text += fmt.Sprint(r.Number, r.Zone, r.EndA, p.Line.Points(), p.GroundM, p.Grades)
			}
		}
		all = append(all, text)
	}
	assert.True(t, all[0] == all[1])
}

func TestStepsAreTold(t *testing.T) {
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 150, 120)}), cone(orb.Point{70, -90}))
	var told []string
	pl := Planner{Step: func(name string) { told = append(told, name) }}
	_, _, err := pl.Plan(context.Background(), f, following(StyleBest))
	require.NoError(t, err)
	assert.Greater(t, len(told), 2)
	assert.Contains(t, told[0], "block A: ")

	ctx, stop := context.WithCancel(context.Background())
	pl.Step = func(string) { stop() }
	_, _, err = pl.Plan(ctx, f, following(StyleBest))
	assert.ErrorIs(t, err, context.Canceled)
}

// The limits that a grower sets reach the layer of rows.
func TestLimitsOfCurving(t *testing.T) {
	s := following(StyleBest)
	assert.NoError(t, s.limits().Validate())
	s.Curving.FilmM = 1.2 // 3 % of strain: 1.2/(2*0.03) = 20 m
	assert.InDelta(t, 20, s.limits().RadiusM, 1e-9)
	s.Curving.StrainPct = 1
	assert.InDelta(t, 60, s.limits().RadiusM, 1e-9)
	s.Curving.AlleyM, s.Curving.BedM = 3.9, 0.9
	assert.InDelta(t, 4.8/5, s.limits().NarrowRatio, 1e-12, "the mower needs more than the window leaves")
	lim := s.limits()
	assert.InDelta(t, 4.8, lim.FloorM(), 1e-12, "and rows come no nearer anywhere")
	require.NoError(t, s.Validate())
	s.Curving.AlleyM = 4.5
	assert.ErrorContains(t, s.Validate(), "contour.mower_alley")
	s.Curving.AlleyM, s.Curving.TargetPct = 0, 0.5
	assert.ErrorContains(t, s.Validate(), "contour.fall_to")
	s.Curving.TargetSide = "NE"
	require.NoError(t, s.Validate())
	lim = s.limits()
	assert.InDelta(t, 0.005, lim.TargetRatio, 1e-12)
	assert.InDelta(t, math.Sqrt2/2, lim.TargetSide[0], 1e-12)
	s.Curving.TargetPct = 0
	assert.ErrorContains(t, s.Validate(), "has no effect")
	s.Curving.TargetSide = ""
	s.Curving.NarrowPct, s.Curving.WidePct, s.Curving.RadiusM, s.Curving.GradePct = 100, 100, math.NaN(), 0
	for _, path := range []string{"narrowest_spacing", "widest_spacing", "tightest_curve", "grade_limit"} {
		assert.ErrorContains(t, s.Validate(), "contour."+path)
	}
}

// The opening of bent rows is the clip of straight ones, segment by segment: on
// straight rows both leave the same. Clip and opening share the capsule of an
// edge but not how they go through edges and rows.
func TestOpeningIsTheClip(t *testing.T) {
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 5))
		f := randomField(rng)
		s := straight(5)
		s.ShortestM = 0
		bare := s
		bare.HeadlandM, bare.SideM, bare.ObstacleM = 0, 0, 0
		ch := choice{geo.Bearing(180 * rng.Float64()), 5 * rng.Float64()}
		var clip clipper
		cut := newSite(f.Blocks[0], f.Obstacles, &bare).pieces(&clip, ch)
		var whole []contour.Row
		for _, b := range cut.bits {
			v := cut.rowV(b.row)
			// three vertices, as a bent row has many
			mid := b.u0 + rng.Float64()*(b.u1-b.u0)
			whole = append(whole, contour.Row{Line: orb.LineString{cut.xy(b.u0, v), cut.xy(mid, v), cut.xy(b.u1, v)}, Number: b.row})
		}
		st := newSite(f.Blocks[0], f.Obstacles, &s)
		got := st.opening().cut(whole)
		want := st.pieces(&clip, ch)
		got = slices.DeleteFunc(got, func(r contour.Row) bool { return lineM(r.Line) < 1e-3 })
		bits := slices.DeleteFunc(slices.Clone(want.bits), func(b bit) bool { return b.u1-b.u0 < 1e-3 })
		require.Len(t, got, len(bits), "seed %d", seed)
		for i, b := range bits {
			assert.Equal(t, b.row, got[i].Number)
			assert.InDelta(t, b.u1-b.u0, lineM(got[i].Line), 1e-5, "seed %d", seed)
			assert.InDelta(t, 0, distM(want.xy(b.u0, want.rowV(b.row)), got[i].Line[0]), 1e-5, "seed %d", seed)
		}
	}
}

func TestPiecesInARow(t *testing.T) {
	a := orb.LineString{{0, 0}, {10, 0}}
	b := orb.LineString{{20, 1}, {30, 2}}
	far := orb.LineString{{0, 80}, {10, 80}}
	back := orb.LineString{{30, 10}, {20, 10}} // runs the other way
	assert.Equal(t, [][]orb.LineString{{a, b}, {far}, {back}}, chained([]orb.LineString{a, far, back, b}, nil))
	wall := []contour.Row{{Line: orb.LineString{{15, -5}, {15, 5}}}}
	assert.Len(t, chained([]orb.LineString{a, b}, wall), 2, "a row lies between them")
	ring := []orb.LineString{{{0, 0}, {5, -2}, {10, 0}}, {{11, 1}, {11, 9}, {10, 10}}, {{9, 11}, {1, 11}, {0, 10}}, {{-1, 9}, {-1, 1}, {-0.5, 0.5}}}
	got := chained(ring, nil)
	n := 0
	for _, r := range got {
		n += len(r)
	}
	assert.Equal(t, 4, n, "every piece once, though they run in a ring")
}

// Directions are axes: 350 and 10 degrees are 20 apart, and so are 170 and 10.
func TestMeanHeading(t *testing.T) {
	line := func(deg, m float64) contour.Row {
		e, n := geo.Bearing(deg).Unit()
		return contour.Row{Line: orb.LineString{{0, 0}, {m * e, m * n}}}
	}
	assert.InDelta(t, 0, meanHeading([]contour.Row{line(170, 10), line(10, 10)}).FoldedDiffDeg(0), 1e-9)
	assert.InDelta(t, 0, meanHeading([]contour.Row{line(40, 10), line(240, 10)}).FoldedDiffDeg(50), 1e-9)
	assert.InDelta(t, 30, meanHeading([]contour.Row{line(30, 10), line(210, 3)}).Deg(), 1e-9)
}

func TestGradeRuns(t *testing.T) {
	assert.Equal(t, []int{-1, 0, 0, 1, 2, 3, 4}, []int{
		stepOf(math.NaN()), stepOf(0), stepOf(-1), stepOf(1.1), stepOf(-2.5), stepOf(4.01), stepOf(40),
	})
	f := testFrame()
	line := geo.NewLine(f, []orb.Point{{0, 0}, {10, 0}, {30, 0}})
	var r runs
	for i, g := range []float64{0.005, -0.008, 0.03, math.NaN(), math.NaN()} {
		r.add(contour.Place{FromM: 6 * float64(i), ToM: 6 * float64(i+1), GradeRatio: g})
	}
	got := r.onGround(line)
	require.Len(t, got, 3)
	assert.Equal(t, []int{0, 2, -1}, []int{got[0].Step, got[1].Step, got[2].Step})
	assert.InDelta(t, -0.8, got[0].GradePct, 1e-12)
	assert.InDelta(t, 12, got[0].ToM, 1e-6)
	assert.InDelta(t, 18, got[1].ToM, 1e-6)
	assert.Equal(t, line.GroundM(), got[2].ToM)
	assert.Empty(t, runs(nil).onGround(line))
}

// The check of bent rows finds rows that are bent too tight, too near and
// crossing, and ends too near to the outline.
func TestCheckFindsFaultsOfBentRows(t *testing.T) {
	f := surveyed(fieldOf(nil, orb.Polygon{rect(0, 0, 150, 120)}), cone(orb.Point{70, -90}))
	for fault, spoil := range map[string]func(p orb.LineString) orb.LineString{
		"tighter than": func(p orb.LineString) orb.LineString {
			q := append(orb.LineString(nil), p...)
			q[len(q)/2][1] += 0.8
			return q
		},
		"come within": func(p orb.LineString) orb.LineString {
			q := append(orb.LineString(nil), p...)
			for i := range q {
				q[i][1] += 1.5
			}
			return q
		},
		"cross": func(p orb.LineString) orb.LineString {
			return orb.LineString{p[0], {p[0][0] + 20, p[0][1] + 20}}
		},
		"asked": func(p orb.LineString) orb.LineString {
			return append(append(orb.LineString(nil), p...), orb.Point{149, last(p)[1] - 3})
		},
	} {
		l, _, err := Plan(context.Background(), f, following(StyleBest))
		require.NoError(t, err)
		require.True(t, l.Blocks[0].Bent)
		pc := &l.Rows[len(l.Rows)/2].Pieces[0]
		pc.Line = geo.NewLine(f.Frame, spoil(withoutBreaks(pc.Line)))
		pc.PlanM, pc.GroundM = pc.Line.PlanM(f.Frame), pc.Line.GroundM()
		assert.ErrorContains(t, l.Check(), fault)
	}
}

// Every note on bent rows says what was found: here by rows that were never
// laid, so that each can be had.
func TestNotesOnBentRows(t *testing.T) {
	p := planner{Layout: Layout{Spec: following(StyleContour), Field: fieldOf(nil, orb.Polygon{rect(0, 0, 100, 100)})}}
	p.Spec.Curving.FilmM = 1.2
	lim := p.Spec.limits()
	cv := &Curved{Limits: lim}
	cv.Choice = contour.Choice{
		Overruled: true,
		Winner:    1, Why: "Straight rows win.", Depth: "Rows begin anew once.", DepthM: 12, Partly: "Some heights are unknown.",
		Candidates: []contour.Candidate{{}, {
			Method: contour.Restarted, GoodHa: 0.7, Warnings: []string{"0.10 ha less"},
			Gaps: []contour.Gap{{At: orb.Point{3, 4}, RadiusM: 14, GapM: 9}, {At: orb.Point{5, 4}, RadiusM: math.Inf(1), GapM: 4}},
			Layout: contour.Layout{Score: contour.Score{
				SpacingLeastM: 4.4, SpacingMaxM: 6.1, LengthM: 400, NoGroundRatio: 0.25, OnGradeRatio: 0.8, GradeMaxRatio: 0.07, RadiusMinM: 24, StrainMaxRatio: 0.025,
				Broken: []contour.Run{{FromM: 1, ToM: 4, Faults: contour.TooNarrow}, {FromM: 7, ToM: 9, Faults: contour.TooWide}},
			}},
		}},
	}
	cv.Repeat = contour.Repeat{Text: "no curve", WorstM: 0.2}
	p.noteCurved("A", cv)
	for code, want := range map[geo.Code]string{
		geo.NoteRowsBent:       "The style asks for bent rows",
		geo.NoteRestart:        "begin anew",
		geo.NoteTerrainMissing: "unknown",
		geo.NoteBentWorse:      "less",
		geo.NoteRowsBroken:     "at 1 place, 9 m in all",
		geo.NoteRowsClose:      "on 3 m of row the next row is nearer than 4.50 m, at the nearest 4.40 m",
		geo.NoteRowsWide:       "on 2 m of row the next row is farther than 5.75 m",
		geo.NoteFilmStrain:     "2.5 % longer",
		geo.NoteGradeLimit:     "60 of 300 m of row run steeper than the grade_limit of 3 %; the worst is 7.0 %",
		geo.NoteOneCurve:       "no curve",
	} {
		n, ok := noted(p.notes, code)
		require.True(t, ok, code)
		assert.Contains(t, n.Text, want)
		assert.Equal(t, "block A", n.Place)
	}

	// asked for bent rows, and none pass
	p.notes = nil
	cv.Choice.Winner, cv.Choice.Candidates[1].Rejected = 0, "it has no rows"
	p.noteCurved("A", cv)
	n, ok := noted(p.notes, geo.NoteTerrainMissing)
	require.True(t, ok, "also where rows are straight")
	assert.Contains(t, n.Text, "unknown")
	assert.Contains(t, p.notes[len(p.notes)-1].Text, "rows of a field with restarts: it has no rows")

	// a film too wide for the machine's tightest curve
	p.notes = nil
	p.Spec.Curving.FilmM = 3
	cv.Choice.Winner, cv.Choice.Candidates[1].Rejected = 1, ""
	p.noteStrain("A", cv)
	assert.Contains(t, p.notes[0].Text, "50.0 m and wider by the film")
}

// Rows of one run that end before those of another have no room to turn there.
func TestRowEndsBeforeOtherRows(t *testing.T) {
	f := fieldOf(nil, orb.Polygon{rect(0, 0, 100, 100)})
	row := func(pts ...orb.Point) Row {
		return Row{Pieces: []Piece{{Part: 1, Line: geo.NewLine(f.Frame, pts)}}}
	}
	p := planner{Layout: Layout{Spec: straight(5), Field: f}}
	p.Rows = []Row{
		row(orb.Point{10, 20}, orb.Point{90, 20}), row(orb.Point{10, 25}, orb.Point{80, 25}), // side by side
		row(orb.Point{30, 80}, orb.Point{30, 30}), // B is 5 m before the second
		row(orb.Point{50, 80}, orb.Point{50, 35}), // B is 10 m before it
	}
	assert.Equal(t, [][2]int{{2, endB}}, p.blocked(p.Rows))
	p.Blocks = []Block{{Name: "A", Bent: true, FirstRow: 1, RowCount: 4}}
	for i := range p.Rows {
		p.Rows[i].Number = i + 1
	}
	p.noteEnds()
	n, ok := noted(p.notes, geo.NoteEndBlocked)
	require.True(t, ok)
	assert.Contains(t, n.Text, "1 of 8 row ends stand before other rows, nearer than the headland of 6 m: R003 B")
}

// One level of a field that runs in two parts of a block is two runs of rows, and
// a run is laid before the next.
func TestRunsOfRows(t *testing.T) {
	line := func(x0, x1, y float64) orb.LineString { return orb.LineString{{x0, y}, {x1, y}} }
	var rows []contour.Row
	for k := range 4 {
		y := 5 * float64(k)
		rows = append(rows, contour.Row{Line: line(0, 40, y), Number: k}, contour.Row{Line: line(60, 90, y+30), Number: k})
	}
	got := strandsOf(rows, axesOf(90), 5)
	require.Len(t, got, 8)
	for i := 1; i < 8; i++ {
		assert.Equal(t, i == 4, got[i].zone != got[i-1].zone, "row %d", i)
	}

	ends := make([]rowEnds, 6) // two runs of three, the second nearer at its last row
	for i := range ends {
		y := 5 * float64(i)
		if i > 2 {
			y = 5*float64(5-i) + 30
			ends[i].zone = 1
		}
		ends[i].end = [2]rowEnd{{orb.Point{0, y}, orb.Point{-1, 0}}, {orb.Point{50, y}, orb.Point{1, 0}}}
	}
	tr := turner{radiusM: 2, spacingM: 5, bent: true}
	steps := tr.steps(nil, ends, 1, false, endA)
	assert.Equal(t, []int{0, 1, 2, 5, 4, 3}, steps)
	sum := tr.turning(ends, steps, endA)
	assert.Equal(t, 1, sum.Drives)
	assert.Equal(t, 4, sum.Plain)
	assert.InDelta(t, 4*(2*math.Pi+1)+20, sum.PathM, 1e-9, "four turns and 20 m from one run to the next")
}

// A field of 12 ha on a nose, surveyed every metre: the whole plan, from heights
// to passes.
func BenchmarkPlanByTheLand(b *testing.B) {
	z := func(x, y float64) float64 { return 300 + 0.055*y + 4*math.Cos(2*math.Pi*(x-200)/280)*(1-0.6*y/330) }
	f := fieldOf([]geo.Obstacle{{Name: "pond", Area: orb.Polygon{rect(180, 120, 220, 150)}}}, orb.Polygon{rect(0, 0, 400, 300)})
	l := terrain.SampleGrid(height(z), f.Bound().Pad(50), 1)
	f.Surface = l.Surface(terrain.Bilinear)
	s := straight(5)
	s.Style = StyleBest
	pl := Planner{Workers: runtime.GOMAXPROCS(0)}
	for b.Loop() {
		got, _, err := pl.Plan(context.Background(), f, s)
		if err != nil || !got.Blocks[0].Bent {
			b.Fatal(err, got.Blocks[0].Curved.Choice.Why)
		}
	}
}
