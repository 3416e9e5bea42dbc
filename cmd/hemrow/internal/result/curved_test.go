package result

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/rows"
	"hemrow/rows/contour"
)

// bentInput is the small field with its third row bent, in a zone of its own,
// and two candidates that were weighed.
func bentInput(t testing.TB) Input {
	in := smallInput(t)
	f := in.Field.Frame
	l := &in.Layout
	l.Rows[2].Pieces[0] = piece(f, 1, orb.Point{20, -40}, orb.Point{23, 0}, orb.Point{20, 40})
	for i := range l.Rows {
		l.Rows[i].Zone = 1 + i/2
	}
	l.Rows[2].Pieces[0].Grades = []rows.GradeRun{
		{FromM: 0, ToM: 30, Step: 2, GradePct: 3.14159}, {FromM: 30, ToM: 60, Step: 4, GradePct: -11}, {FromM: 60, ToM: l.Rows[2].Pieces[0].GroundM, Step: -1},
	}
	l.Blocks[0].Bent, l.Blocks[0].OffsetM = true, 0
	l.Blocks[0].Turning.Plain, l.Blocks[0].Turning.Drives = 1, 1
	l.Passes[3].TurnKind = rows.TurnDrive
	lim := contour.Defaults(20)
	lim.HalfSlope, lim.TargetRatio, lim.TargetSide, lim.FilmM = true, 0.005, orb.Point{0, 2}, 1.2
	l.Blocks[0].Curved = &rows.Curved{
		Limits: lim,
		Choice: contour.Choice{
			Why: "Straight rows win.", Depth: "Rows begin anew once.", DepthM: 41.23456, Slight: true, Overruled: true, Winner: 1,
			Candidates: []contour.Candidate{
				{Method: contour.Straight, GoodHa: 0.2, Layout: contour.Layout{Score: contour.Score{AreaM2: 4752, GoodRatio: 0.42, JRatio: 0.4012, GradeMaxRatio: 0.123456, RadiusMinM: math.Inf(1), Pieces: 4}}},
				{
					Method: contour.Restarted, GoodHa: 0.3, LeftCount: 1, LeftM: 4, Warnings: []string{"1 of 4 rows are shorter than 30 m"},
					Layout: contour.Layout{Score: contour.Score{AreaM2: 4752, GoodRatio: 0.63, JRatio: 0.61, SpacingMaxM: 23.0004, RadiusMinM: 20.44444, StrainMaxRatio: 0.02935, FallMeanRatio: -0.0012344, FallOKRatio: 0.825, Pieces: 4}},
					Gaps:   []contour.Gap{{Number: 7, At: orb.Point{0, 0}, RadiusM: 11.5, GapM: 8}, {Number: 8, At: orb.Point{3, 4}, RadiusM: math.Inf(1), GapM: 4}},
				},
			},
		},
		Repeat: contour.Repeat{Guide: orb.LineString{{20, -60}, {23, 0}, {20, 60}}, First: -1, Last: 1, WorstM: 0.0876, ServedM: 160, ServedRatio: 0.714, OtherM: 2.5, Text: "one curve repeated cannot serve all rows"},
	}
	return in
}

func bentDocument(t testing.TB) Document {
	t.Helper()
	d, err := New(bentInput(t))
	require.NoError(t, err)
	return d
}

func TestNewHoldsHowRowsWereChosen(t *testing.T) {
	d := bentDocument(t)
	b := d.Blocks[0]
	assert.Equal(t, "contour", b.Style)
	assert.Equal(t, []int{1, 1, 2}, []int{d.Rows[0].Zone, d.Rows[1].Zone, d.Rows[2].Zone})
	c := b.Curved
	require.NotNil(t, c)
	assert.Equal(t, "rows of a field with restarts", c.Laid)
	assert.True(t, c.Passed && c.Slight)
	assert.Equal(t, 41.235, c.DepthM)
	// by hand: 0.9 and 1.15 of 20 m; 3 %; 0.5 % to the north
	assert.Equal(t, Limits{
		SpacingM: 20, NarrowM: 18, WideM: 23, GradePct: 3, HalfSlope: true, TargetPct: 0.5, TargetSide: "N", ChordM: 10, RadiusM: 20,
		ShortestM: 30, GapM: 8, PieceCostM: 10, ChordErrorM: 0.02, FilmM: 1.2,
	}, c.Limits)
	require.Len(t, c.Candidates, 2)
	straight, laid := c.Candidates[0], c.Candidates[1]
	assert.Nil(t, straight.TightestM, "JSON has no infinity")
	assert.Equal(t, []float64{2000, 12.346, 0.4012}, []float64{straight.GoodM2, straight.WorstGradePct, straight.Score})
	assert.False(t, straight.Laid)
	assert.True(t, laid.Laid)
	assert.Equal(t, []float64{20.444, 23, 2.935, 63, 4}, []float64{*laid.TightestM, laid.SpacingHighM, laid.StrainPct, laid.GoodPct, laid.LeftM})
	assert.Equal(t, []float64{-0.123, 82.5}, []float64{laid.FallMeanPct, laid.FallOKPct})
	require.Len(t, laid.Gaps, 2)
	assert.Equal(t, 2, laid.GapsNo)
	assert.Equal(t, 11.5, *laid.Gaps[0].AskedM)
	assert.Nil(t, laid.Gaps[1].AskedM)
	assert.InDelta(t, -18.4, laid.Gaps[0].LonLat.LonDeg(), 1e-9, "the frame's origin")
	assert.Equal(t, XY{3, 4}, laid.Gaps[1].Local)
	r := c.Repeat
	require.NotNil(t, r)
	assert.Equal(t, []int{-1, 1}, []int{r.FirstPass, r.LastPass})
	assert.Equal(t, []float64{0.088, 71.4}, []float64{r.WorstM, r.ServedPct})
	assert.Len(t, r.Guide.Local, 3)
}

// The way to rows that are no neighbours is counted apart from turns.
func TestNewHoldsDrives(t *testing.T) {
	d := bentDocument(t)
	assert.Equal(t, []string{"none", "plain", "ahead", "drive"}, []string{d.Passes[0].Turn, d.Passes[1].Turn, d.Passes[2].Turn, d.Passes[3].Turn})
	in := bentInput(t)
	f, b := in.Field.Blocks[0], in.Layout.Blocks[0]
	b.Turning.Drives = 2
	in.Field.Blocks, in.Layout.Blocks = append(in.Field.Blocks, f), append(in.Layout.Blocks, b)
	in.WorkingAreas = append(in.WorkingAreas, in.WorkingAreas[0])
	in.Layout.Rows[2].Block, in.Layout.Blocks[0].RowCount, in.Layout.Blocks[1].RowCount = 1, 2, 1
	in.Layout.Blocks[0].Tally.Rows, in.Layout.Blocks[1].Tally.Rows = 2, 1
	in.Layout.Blocks[0].Tally.Pieces, in.Layout.Blocks[1].Tally.Pieces = 3, 1
	d, err := New(in)
	require.NoError(t, err)
	assert.Equal(t, []int{1, 2, 3}, []int{d.Blocks[0].Turning.Drives, d.Blocks[1].Turning.Drives, d.Totals.Drives})
	assert.Equal(t, []int{1, 1, 2}, []int{d.Blocks[0].Turning.Plain, d.Blocks[1].Turning.Plain, d.Totals.PlainTurns})
}

// Every shape of turn that a layout knows may stand in a document.
func TestTurnsAreThoseOfLayouts(t *testing.T) {
	for i, word := range turns() {
		assert.Equal(t, rows.TurnKind(i).String(), word)
	}
	assert.Equal(t, int(rows.TurnDrive)+1, len(turns()))
}

// The ends of a bent block are those of its mean heading, whatever its first
// row does; those of a straight one are its rows'. By hand, from eighths of the
// circle about the points of the compass.
func TestEndsOfBentBlocks(t *testing.T) {
	for _, c := range []struct {
		name       string
		headingDeg float64
		a, b       string
	}{
		{"north", 12.18, "S", "N"},
		{"north-east", 45, "SW", "NE"},
		{"just east", 67.6, "W", "E"},
		{"south-east", 135, "NW", "SE"},
		{"south", 170, "N", "S"},
		{"south, written as north", 180 - 1e-9, "S", "N"},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := bentInput(t)
			in.Layout.Blocks[0].Heading = geo.Bearing(c.headingDeg)
			for i := range in.Layout.Rows {
				in.Layout.Rows[i].EndA, in.Layout.Rows[i].EndB = geo.East, geo.West
			}
			d, err := New(in)
			require.NoError(t, err)
			assert.Equal(t, []string{c.a, c.b}, []string{d.Blocks[0].EndA, d.Blocks[0].EndB})
			assert.Equal(t, "E", d.Rows[0].EndA, "a row keeps its own")
			in.Layout.Blocks[0].Bent = false
			d, err = New(in)
			require.NoError(t, err)
			assert.Equal(t, []string{"E", "W"}, []string{d.Blocks[0].EndA, d.Blocks[0].EndB})
			in.Layout.Blocks[0].Bent, in.Layout.Rows = true, nil
			in.Layout.Passes, in.Takeoff.Rows, in.Layout.Blocks[0].Tally = nil, nil, rows.Tally{}
			d, err = New(in)
			require.NoError(t, err)
			assert.Empty(t, d.Blocks[0].EndA+d.Blocks[0].EndB, "no rows have no ends")
		})
	}
}

// Where only straight rows were asked for there is nothing to say of others.
func TestStraightBlocksHaveNoChoice(t *testing.T) {
	d := smallDocument(t)
	assert.Equal(t, "straight", d.Blocks[0].Style)
	assert.Nil(t, d.Blocks[0].Curved)
	assert.Equal(t, 1, d.Rows[2].Zone)
	assert.Equal(t, []Grade{}, d.Rows[0].Pieces[0].Grades)
	assert.Equal(t, rows.GradeStepsPct[:], d.GradeStepsPct)
	in := bentInput(t)
	in.Layout.Blocks[0].Curved.Repeat = contour.Repeat{}
	d, err := New(in)
	require.NoError(t, err)
	assert.Nil(t, d.Blocks[0].Curved.Repeat)
}

func TestBentDocumentsReadBack(t *testing.T) {
	d := bentDocument(t)
	data, err := Encode(d)
	require.NoError(t, err)
	again, err := Decode(data)
	require.NoError(t, err)
	assert.Equal(t, d, again)
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(string(data)))
	require.NoError(t, err)
	s := compileSchema(t)
	require.NoError(t, s.Validate(v))
	for _, c := range []struct{ name, old, repl, want string }{
		{"style", `"style": "contour"`, `"style": "wavy"`, "blocks[0].style"},
		{"zone", `"zone": 2`, `"zone": 0`, "rows[2] lies in zone 0"},
		{"turn", `"turn": "drive"`, `"turn": "hop"`, `passes[3].turn is "hop"`},
		{"no drives", `"drives":1,`, ``, "drives"},
		{"no style", `"style": "contour",`, ``, "blocks[0].style"},
		{"null radius", `"radius_m": 20,`, `"radius_m": null,`, "radius_m is null"},
		{"nobody laid", `"laid": true`, `"laid": false`, "0 of 2 candidates are laid"},
		{"step", `"step":4`, `"step":5`, "step 5 of 4"},
		{"backwards", `"from_m":30,`, `"from_m":29,`, "grades[1] runs from 29"},
		{"place of a gap", `"local":[3,4]`, `"local":[3]`, "x and y"},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := string(data)
			if !strings.Contains(text, c.old) {
				c.old, c.repl = strings.ReplaceAll(c.old, `": `, `":`), strings.ReplaceAll(c.repl, `": `, `":`)
			}
			require.Contains(t, text, c.old)
			_, err := Decode([]byte(strings.Replace(text, c.old, c.repl, 1)))
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestNewRefusesOfBentRows(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name, want string
		spoil      func(b *rows.Curved, in *Input)
	}{
		{"score", "rows of a field with restarts is NaN", func(b *rows.Curved, _ *Input) { b.Choice.Candidates[1].Score.JRatio = nan }},
		{"radius", "a radius of", func(b *rows.Curved, _ *Input) { b.Choice.Candidates[1].Score.RadiusMinM = math.Inf(-1) }},
		{"radius of a gap", "a radius of", func(b *rows.Curved, _ *Input) { b.Choice.Candidates[1].Gaps[0].RadiusM = nan }},
		{"place of a gap", "a gap of", func(b *rows.Curved, _ *Input) { b.Choice.Candidates[1].Gaps[0].At[1] = nan }},
		{"depth", "the depth of block Main", func(b *rows.Curved, _ *Input) { b.Choice.DepthM = math.Inf(1) }},
		{"limit", "a limit of rows", func(b *rows.Curved, _ *Input) { b.Limits.ChordM = nan }},
		{"side", "the side that rows fall to", func(b *rows.Curved, _ *Input) { b.Limits.TargetSide[0] = nan }},
		{"guide", "the guide to repeat", func(b *rows.Curved, _ *Input) { b.Repeat.Guide[1][0] = nan }},
		{"deviation", "the guide to repeat", func(b *rows.Curved, _ *Input) { b.Repeat.OtherM = math.Inf(1) }},
		{"grade", "a grade of row R003", func(_ *rows.Curved, in *Input) { in.Layout.Rows[2].Pieces[0].Grades[1].GradePct = nan }},
		{"no winner", "laid by candidate 3 of 2", func(b *rows.Curved, _ *Input) { b.Choice.Winner = 2 }},
		{"no candidates", "laid by candidate 1 of 0", func(b *rows.Curved, _ *Input) { b.Choice = contour.Choice{} }},
		{"zone", "rows[0] lies in zone 0", func(_ *rows.Curved, in *Input) { in.Layout.Rows[0].Zone = 0 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := bentInput(t)
			c.spoil(in.Layout.Blocks[0].Curved, &in)
			_, err := New(in)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

// Along the ground and in plan the same places: on an even slope the one is the
// other times a constant, by Pythagoras.
func TestGradesLieInPlan(t *testing.T) {
	in := bentInput(t)
	p := &in.Layout.Rows[0].Pieces[0]
	// 80 m to the north, level for 32 m and then rising 3 in 4
	p.Line = geo.LineOfFlat([]float64{-20, -40, 100, 0, -20, -8, 100, 32, -20, 40, 136, 92})
	p.PlanM, p.GroundM, p.Stations = 80, 92, nil
	p.Grades = []rows.GradeRun{{FromM: 0, ToM: 20, Step: 0}, {FromM: 20, ToM: 42, Step: 4, GradePct: 75}, {FromM: 42, ToM: 92, Step: 4, GradePct: 75}}
	d, err := New(in)
	require.NoError(t, err)
	got := d.Rows[0].Pieces[0].Grades
	for i, want := range []float64{20, 32 + 10*0.8, 80} {
		assert.InDelta(t, want, got[i].ToPlanM, 1e-3)
	}
	assert.Equal(t, []float64{0, got[0].ToPlanM, got[1].ToPlanM}, []float64{got[0].FromPlanM, got[1].FromPlanM, got[2].FromPlanM})
}

func TestPlanAtFindsPlaces(t *testing.T) {
	f := frameAt(t, 10, 50)
	rapid.Check(t, func(rt *rapid.T) {
		var pts []orb.Point
		for range rapid.IntRange(2, 9).Draw(rt, "n") {
			pts = append(pts, orb.Point{rapid.Float64Range(-300, 300).Draw(rt, "x"), rapid.Float64Range(-300, 300).Draw(rt, "y")})
		}
		line := geo.NewLine(f, pts)
		if line.Len() < 2 {
			return
		}
		at := planAt{line: line}
		for k := range 9 {
			m := line.GroundM() * float64(k) / 8
			// without height or slope both lengths are one, but for the scale of the frame
			require.InDelta(rt, m, at.of(m), 1e-4)
		}
	})
	assert.Zero(t, (&planAt{}).of(5))
}
