package result

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/materials"
	"hemrow/rows"
)

func TestNewHoldsWhatItWasGiven(t *testing.T) {
	d := smallDocument(t)
	// by hand: 60 m x 100 m; 54 m x 88 m; 2 (60 + 100); four pieces of 80, 32, 32, 80
	assert.Equal(t, 6000.0, d.Field.AreaM2)
	assert.Equal(t, 4752.0, *d.Field.WorkingAreaM2)
	assert.Equal(t, 320.0, d.Field.PerimeterM)
	assert.Equal(t, Totals{
		Blocks: 1, Rows: 3, Pieces: 4, PlanM: 224, GroundM: 224.008, LeftCount: 1, LeftM: 4.25,
		PlainTurns: 2, TurnPathM: 66.8, AheadPast: 1, AheadM: 16, StationsNo: 24,
		WorstNote: "caution", CautionsNo: 1, ShortestM: 32, LongestM: 80, OffTerrainM: 224,
	}, d.Totals)
	assert.Equal(t, "R002.2", d.Rows[1].Pieces[1].Name)
	assert.Equal(t, Pass{Piece: "R002.2", Row: 2, Part: 2, FromB: true, Turn: "plain", TurnM: 33.4}, d.Passes[1])
	assert.Equal(t, 33.123, d.Takeoff.Pieces[0].FilmCutM)
	assert.Equal(t, 268.8, d.Takeoff.Quantities[0].Value)
	assert.Equal(t, 0.00008, d.Takeoff.Quantities[0].Inputs[1].Value, "small inputs keep their figures")
	assert.Equal(t, 3, d.Blocks[0].LastRowNo)
	assert.Equal(t, "S", d.Blocks[0].EndA)
	assert.Equal(t, XY{-20, -40}, d.Rows[0].Pieces[0].LineLocal[0])
	assert.Len(t, d.Rows[0].Pieces[0].Stations[0].ChainageM, 8)
	assert.Equal(t, "hazel", d.Rows[0].Pieces[0].Stations[0].Plant)
	require.NotNil(t, d.Field.Obstacles[1].Path)
	assert.Len(t, d.Field.Obstacles[1].Path.Local, 1)
	assert.Contains(t, d.Frame.Statement, "for ground 215.0 m")
}

func TestNewRounds(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"length", mm(12.34567), 12.346},
		{"length, below", mm(-0.0004), 0},
		{"area", m2(99.96), 100},
		{"degrees", nanoDeg(-18.40165495049), -18.40165495},
		{"figures", figures(1234.56789012), 1234.56789},
		{"figures of a small one", figures(1.2345678949e-7), 1.23456789e-7},
		{"figures of the largest", figures(math.MaxFloat64), 1.79769313e308},
		{"figures past the largest", significant(math.MaxFloat64, 2), math.MaxFloat64},
		{"length beyond all sense", mm(1e308), 1e308},
		{"no figures of nothing", figures(math.Copysign(0, -1)), 0},
		{"tonnes", quantity(1.23456749, "t"), 1.234567},
		{"rolls", quantity(12, "rolls"), 12},
	} {
		assert.Equal(t, c.want, c.got, c.name)
		assert.False(t, c.got == 0 && math.Signbit(c.got), "%s: zero has no sign", c.name)
	}
}

func TestNewRefuses(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name, want string
		spoil      func(in *Input)
	}{
		{"no length", "row R001", func(in *Input) { in.Layout.Rows[0].Pieces[0].PlanM = nan }},
		{"no quantity", "quantity film_area", func(in *Input) { in.Takeoff.Quantities[0].Value = inf }},
		{"no input of a quantity", "film_area, width", func(in *Input) { in.Takeoff.Quantities[0].Inputs[0].Value = nan }},
		{"no height", "height of the ground", func(in *Input) { in.Field.Frame = in.Field.Frame.WithHeight(nan) }},
		{"no corner", "block Main is NaN", func(in *Input) { in.Field.Blocks[0].Outline[0][1][0] = nan }},
		{"no turn", "turn of a pass", func(in *Input) { in.Layout.Passes[1].TurnM = nan }},
		{"no note", "headland-too-shallow", func(in *Input) { in.Notes[1].Value = inf }},
		{"no station", "station of row R001", func(in *Input) { in.Layout.Rows[0].Pieces[0].Stations[0].ChainageM = nan }},
		{"no plant", "plant hazel", func(in *Input) { in.Layout.Spec.Plants[0].PitchM = nan }},
		{"no take", "take-off of row R001", func(in *Input) { in.Takeoff.Rows[0].ChipsM3 = nan }},
		{"row in no block", "row 1 lies in block 8", func(in *Input) { in.Layout.Rows[0].Block = 7 }},
		{"pass of no row", "pass 1 takes row 10", func(in *Input) { in.Layout.Passes[0].Row = 9 }},
		{"take of no piece", "counts row 1, piece 5", func(in *Input) { in.Takeoff.Rows[0].Piece = 4 }},
		{"take of other plants", "2 kinds of plants", func(in *Input) { in.Takeoff.Rows[0].PlantsNo = []int{1, 2} }},
		{"blocks missing", "layout of 0", func(in *Input) { in.Layout.Blocks = nil }},
		{"working areas missing", "working areas of 2", func(in *Input) { in.WorkingAreas = make([]orb.MultiPolygon, 2) }},
		{"units of the moon", `units is "cubits"`, func(in *Input) { in.Units = "cubits" }},
		{"checksum missing", "SHA-256", func(in *Input) { in.Files[0].SHA256 = "" }},
		{"row numbers", "rows[0] is numbered 5", func(in *Input) { in.Layout.Rows[0].Number = 5 }},
		{"obstacle of nothing", "area or a path", func(in *Input) { in.Field.Obstacles[0] = geo.Obstacle{} }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := smallInput(t)
			c.spoil(&in)
			_, err := New(in)
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestNewOnNothing(t *testing.T) {
	f := frameAt(t, 10, 50)
	for name, in := range map[string]Input{
		"no block":          {Units: "us", Field: geo.Field{Frame: f}},
		"block without row": {Units: "us", Field: geo.Field{Frame: f, Blocks: []geo.Block{{Outline: box(0, 0, 5, 5)}}}, Layout: rows.Layout{Blocks: make([]rows.Block, 1)}},
	} {
		d, err := New(in)
		require.NoError(t, err, name)
		assert.Equal(t, "none", d.Totals.WorstNote)
		assert.Nil(t, d.Field.WorkingAreaM2)
		assert.Nil(t, d.Frame.HeightM)
		b, err := Encode(d)
		require.NoError(t, err)
		again, err := Decode(b)
		require.NoError(t, err, name)
		assert.Equal(t, d, again)
	}
	_, err := New(Input{Units: "metric", Field: geo.Field{Frame: f}, Takeoff: materials.Takeoff{Rows: []materials.RowTake{{}}}})
	assert.Error(t, err)
}

// mostStrayM is how far a written line strays from the row between two places,
// looked at in sixteenths of every segment.
func mostStrayM(f geo.Frame, ll []Position, a, b orb.Point) (most float64) {
	dx, dy := b[0]-a[0], b[1]-a[1]
	for i := 1; i < len(ll); i++ {
		for k := 0; k <= 16; k++ {
			s := float64(k) / 16
			p := f.ToLocal(geo.LonLat{
				LonDeg: ll[i-1].LonDeg() + s*(ll[i].LonDeg()-ll[i-1].LonDeg()),
				LatDeg: ll[i-1].LatDeg() + s*(ll[i].LatDeg()-ll[i-1].LatDeg()),
			})
			most = max(most, math.Abs((p[0]-a[0])*dy-(p[1]-a[1])*dx)/math.Hypot(dx, dy))
		}
	}
	return most
}

// Every place on every written segment lies within 2 mm of its row, wherever
// on the earth.
func TestWrittenLinesStayNear(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		lat := rapid.Float64Range(-80, 80).Draw(rt, "lat")
		lon := rapid.SampledFrom([]float64{-180, -18.4, 0, 179.9999, 17}).Draw(rt, "lon")
		f := frameAt(t, lon, lat)
		span := rapid.SampledFrom([]float64{100, 3000, 20000}).Draw(rt, "span")
		draw := func(name string) orb.Point {
			return orb.Point{rapid.Float64Range(-span, span).Draw(rt, name+"x"), rapid.Float64Range(-span, span).Draw(rt, name+"y")}
		}
		a, b := draw("a"), draw("b")
		line := geo.NewLine(f, []orb.Point{a, b})
		if line.Len() < 2 {
			return
		}
		ll, local := newMapper(f).line(line)
		require.Len(rt, local, 2)
		require.LessOrEqual(rt, mostStrayM(f, ll, a, b), geo.CurveChordM)
	})
}

// Near the equator the stray of a long slanting row is all at one end.
func TestWrittenLinesNearTheEquator(t *testing.T) {
	f := frameAt(t, -180, 0.5)
	for _, b := range []orb.Point{{2817.5, -20000}, {9000, 19329.5}, {-15000, -60000}} {
		a := orb.Point{1, 1}
		ll, _ := newMapper(f).line(geo.NewLine(f, []orb.Point{a, b}))
		assert.LessOrEqual(t, mostStrayM(f, ll, a, b), geo.CurveChordM)
		assert.Less(t, len(ll), 40)
	}
}

func TestLineKeepsHeights(t *testing.T) {
	f := frameAt(t, 10, 60)
	flat := []float64{-500, 0, 100, 0, 500, 0, 110, 1000}
	ll, _ := newMapper(f).line(geo.LineOfFlat(flat))
	require.Greater(t, len(ll), 3)
	for i, p := range ll {
		require.Len(t, p, 3)
		assert.InDelta(t, 100+10*float64(i)/float64(len(ll)-1), p[2], 0.001)
	}
}

func TestLongitudesRunOn(t *testing.T) {
	m := newMapper(frameAt(t, 179.9999, -17))
	ll, _ := m.line(geo.NewLine(m.frame, []orb.Point{{-100, 0}, {100, 0}}))
	assert.Greater(t, ll[1].LonDeg(), 180.0)
	assert.InDelta(t, ll[0].LonDeg(), ll[1].LonDeg(), 0.01)
}
