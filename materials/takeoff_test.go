package materials

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/rows"
)

// rounding is what sums of a few thousand metres may differ by.
const rounding = 1e-9

// An independent count by hand of one orchard of two rows, the second in two
// pieces of 40 and 55 m; the first is 120 m. Ground 215 m, 3 pieces, 2 rows.
func byHand() rows.Layout {
	l := layoutOf(120)
	l.Rows = append(l.Rows, rows.Row{Number: 2, Pieces: []rows.Piece{piece(1, 40, 5), piece(2, 55, 5)}})
	return l
}

func TestCountedByHand(t *testing.T) {
	one := DefaultSpec(OneSheet)
	one.Film = Film{
		WidthM: 1.5, ThicknessUm: 100, DensityKgM3: 900, RollM: 100, TuckM: 0.2, EndTuckM: 0.5, WastePct: 10,
		BedWidthM: 1, LiftLimitKg: 23, ThinFilmUm: 75,
	}
	one.Trench = Trench{DepthM: 0.2, WidthM: 0.1, SwellPct: 50, Soil: "clay"}
	one.Tape = Tape{LinesCount: 2, EndM: 2, SlackPct: 10, RollM: 200}
	two := one
	two.Cover = TwoSheet
	two.Film.LapM = 0.3
	chips := one
	chips.Cover = Chips
	chips.Chips = ChipStrip{WidthM: 2, DepthM: 0.1, BulkKgM3: 250, LoadM3: 10, TopUpM: 0.02, SettlePct: 20}
	for _, c := range []struct {
		spec Spec
		want map[string]float64
	}{
		{one, map[string]float64{
			"rows": 2, "pieces": 3, "plan_length": 215, "ground_length": 215, "planted_area": 1075,
			"covered_width":     1.1,    // 1.5 - 2×0.2
			"film_cut_length":   218,    // 215 + 3×2×0.5
			"film_order_length": 239.8,  // ×1.1
			"film_area":         327,    // 218×1.5
			"film_mass":         29.43,  // ×100e-6×900
			"film_rolls":        3,      // 2.398
			"film_roll_mass":    13.5,   // 100×1.5×0.09
			"film_joints":       1,      // 121 on rolls of 100
			"trench_length":     430,    // 2×215
			"trench_end_length": 6.6,    // 3×2×1.1
			"soil_bank":         8.732,  // 436.6×0.02
			"soil_loose":        13.098, // ×1.5
			"tape_length":       499.4,  // 2×(215 + 3×4)×1.1
			"tape_runs":         6,      // 2×3
			"tape_rolls":        3,      // 2.497
		}},
		{two, map[string]float64{
			"covered_width":     2.3, // 2×1.5 - 0.3 - 2×0.2
			"film_cut_length":   436, // 2×218
			"film_order_length": 479.6,
			"film_area":         654,
			"film_rolls":        5,
			"film_joints":       2,
			"trench_length":     430,
			"trench_end_length": 13.8, // 6×2.3
			"seam_length":       215,
		}},
		{chips, map[string]float64{
			"chip_area":    430,
			"chips_laid":   43,
			"chips_order":  51.6,
			"chip_loads":   6,
			"chips_mass":   12900,
			"chips_top_up": 8.6,
			"chips_rate":   400, // 43 m3 on 0.1075 ha
		}},
	} {
		t.Run(c.spec.Cover.String(), func(t *testing.T) {
			out := compute(t, byHand(), c.spec)
			for key, want := range c.want {
				assert.InDelta(t, want, value(t, out, key), rounding, key)
			}
		})
	}
}

// Wind 30 m/s over ground of roughness 0.01 m: at 0.3 m
// 30 ln 30/ln 1000 = 14.7713 m/s, ½ 1.225 u² = 133.643 Pa; the film holds
// itself with 0.1 kg/m2. Width 1 m each side of the seam: B = 2×133.643/9.80665
// - 0.1 = 27.1556 kg/m. Stones of 0.2 m and 2500 kg/m3 weigh 10.4720 kg: one
// every 0.385629 m. 120 m takes 312 gaps, 40 m 104, 55 m 143.
func TestStonesByHand(t *testing.T) {
	s := DefaultSpec(TwoSheet)
	s.Film.WidthM, s.Film.TuckM, s.Film.LapM = 1.3, 0.2, 0.2
	s.Film.ThicknessUm, s.Film.DensityKgM3 = 100, 1000
	s.Seam = Seam{WindMS: 30, RoughnessM: 0.01, SafetyRatio: 2, StoneMM: 200, StoneKgM3: 2500, MostApartM: 1.5}
	out := compute(t, byHand(), s)
	assert.InDelta(t, 27.1556, value(t, out, "seam_hold"), 1e-3)
	assert.InDelta(t, 10.4720, value(t, out, "stone_each"), 1e-4)
	assert.InDelta(t, 0.385629, value(t, out, "stone_gap"), 1e-5)
	assert.Equal(t, 312.0+104+143+3, value(t, out, "stones"))
	assert.InDelta(t, 562*10.4720, value(t, out, "stones_mass"), 0.1)
	// A: 0.4×½×1.225×900×1/9.80665
	assert.InDelta(t, 22.4847, value(t, out, "seam_hold_check"), 1e-3)
	assert.Equal(t, 313, out.Rows[0].StoneNo)

	s.Seam.WindMS = 0
	out = compute(t, byHand(), s)
	assert.Zero(t, value(t, out, "seam_hold"), "no wind, and the film's own weight is no lift")
	assert.Equal(t, 1.5, value(t, out, "stone_gap"), "the widest gap rules")
	assert.Equal(t, 81.0+28+38, value(t, out, "stones"), "80, 27 and 37 gaps of at most 1.5 m")
}

func TestWhatDoesNotApplyIsAbsent(t *testing.T) {
	film := []string{"film_area", "film_rolls", "covered_width", "trench_length", "trench_end_length", "soil_bank"}
	seam := []string{"seam_length", "seam_hold", "seam_hold_check", "stones"}
	chip := []string{"chip_area", "chips_laid", "chips_rate"}
	for _, c := range []struct {
		kind            CoverKind
		present, absent []string
	}{
		{NoCover, []string{"rows", "plants", "holes"}, slices.Concat(film, seam, chip)},
		{OneSheet, append([]string{"holes"}, film...), slices.Concat(seam, chip)},
		{TwoSheet, slices.Concat(film, seam), append([]string{"holes"}, chip...)},
		{Chips, append([]string{"holes"}, chip...), slices.Concat(film, seam)},
	} {
		t.Run(c.kind.String(), func(t *testing.T) {
			s := DefaultSpec(c.kind)
			none := compute(t, layoutOf(100), s)
			_, ok := none.Get("plants")
			assert.False(t, ok, "nothing was asked about plants")
			out := compute(t, planted(layoutOf(100), "hazel", 4), s)
			for _, key := range c.present {
				_, ok := out.Get(key)
				assert.True(t, ok, key)
			}
			for _, key := range c.absent {
				_, ok := out.Get(key)
				assert.False(t, ok, key)
			}
			_, tape := out.Get("tape_length")
			assert.Equal(t, s.Tape.LinesCount > 0, tape)
		})
	}
	t.Run("by a figure of zero", func(t *testing.T) {
		s := DefaultSpec(OneSheet)
		s.Film.EndTuckM, s.Tape.WallUm = 0, 0
		out := compute(t, layoutOf(100), s)
		for _, key := range []string{"trench_end_length", "tape_mass"} {
			_, ok := out.Get(key)
			assert.False(t, ok, key)
		}
		s = DefaultSpec(Chips)
		s.Chips.TopUpM = 0
		l := layoutOf(100)
		l.Spec.SpacingM = 0
		out = compute(t, l, s)
		for _, key := range []string{"chips_top_up", "chips_rate", "planted_area", "tape_length"} {
			_, ok := out.Get(key)
			assert.False(t, ok, key)
		}
	})
}

func TestRowsAddUpToTheTotals(t *testing.T) {
	eachKind(t, func(t *testing.T, s Spec) {
		s.Tape.LinesCount = 2
		l := planted(planted(byHand(), "hazel", 5), "currant", 1.5)
		out := compute(t, l, s)
		require.Len(t, out.Rows, 3)
		var film, trench, ends, soil, tape, stones, kg, chips float64
		plants := make([]int, 2)
		for _, r := range out.Rows {
			film += r.FilmM2
			trench += r.TrenchM
			ends += r.TrenchEndsM
			soil += r.SoilM3
			tape += r.TapeCutM
			stones += float64(r.StoneNo)
			kg += r.StonesKg
			chips += r.ChipsM3
			plants[0] += r.PlantsNo[0]
			plants[1] += r.PlantsNo[1]
		}
		for key, got := range map[string]float64{
			"film_area": film, "trench_length": trench, "trench_end_length": ends, "soil_bank": soil, "tape_length": tape,
			"stones": stones, "stones_mass": kg, "chips_laid": chips,
			"plants_hazel": float64(plants[0]), "plants_currant": float64(plants[1]),
		} {
			q, _ := out.Get(key)
			assert.InDelta(t, q.Value, got, rounding, key)
		}
		assert.Equal(t, []int{0, 1, 1}, []int{out.Rows[0].Row, out.Rows[1].Row, out.Rows[2].Row})
		assert.Equal(t, []int{0, 0, 1}, []int{out.Rows[0].Piece, out.Rows[1].Piece, out.Rows[2].Piece})
	})
}

func TestPlantsByName(t *testing.T) {
	l := planted(planted(planted(layoutOf(100, 60), "hazel", 5), "Red currant", 2), "hazel", 10)
	l = planted(planted(l, "red-currant", 4), "!?", 20)
	out := compute(t, l, DefaultSpec(OneSheet))
	assert.Equal(t, 32.0+16, value(t, out, "plants_hazel"), "one plant under two pitches is one line")
	assert.Equal(t, 80.0, value(t, out, "plants_red_currant"))
	assert.Equal(t, 40.0, value(t, out, "plants_red_currant_2"), "two names that read alike keep apart")
	assert.Equal(t, 8.0, value(t, out, "plants_unnamed"))
	assert.Equal(t, 176.0, value(t, out, "plants"))
	assert.Equal(t, 176.0, value(t, out, "holes"))
	assert.InDelta(t, 176/0.08, value(t, out, "plant_density"), rounding)
	q, _ := out.Get("plants_red_currant")
	assert.Equal(t, "Plants: Red currant", q.Name)
}

// A roll is not ordered for rounding: 3 × 609.6 over 609.6 is above 3.
func TestWholeCounts(t *testing.T) {
	for _, c := range []struct {
		name               string
		amount, each, want float64
	}{
		{"nothing", 0, 100, 0},
		{"a trace", 1e-12, 100, 1},
		{"part of one", 1, 100, 1},
		{"just one", 100, 100, 1},
		{"one and a millimetre", 100.001, 100, 2},
		{"three but for rounding", 609.6 * 3 * (1 + 2e-16), 609.6, 3},
		{"a tenth summed thirty times", 0.1 * 30 * (1 + 4e-16), 0.1, 30},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Equal(t, c.want, whole(c.amount, c.each)) })
	}
}

func TestNothingLaidIsZero(t *testing.T) {
	for name, l := range map[string]rows.Layout{
		"zero layout":       {},
		"rows of no pieces": {Rows: []rows.Row{{Number: 1}, {Number: 2}}},
		"plants but no row": {Spec: rows.Spec{SpacingM: 5, Plants: []rows.Planting{{Plant: "hazel", PitchM: 2}}}},
	} {
		t.Run(name, func(t *testing.T) {
			eachKind(t, func(t *testing.T, s Spec) {
				s.Tape.LinesCount = 1
				out := compute(t, l, s)
				assert.Empty(t, out.Rows)
				assert.Empty(t, out.Notes)
				for _, q := range out.Quantities {
					switch q.Key { // what describes one, not all
					case "covered_width", "film_roll_mass", "seam_hold", "seam_hold_check", "stone_each", "stone_gap":
						assert.Positive(t, q.Value, q.Key)
					default:
						assert.Zero(t, q.Value, q.Key)
						assert.False(t, math.Signbit(q.Value), q.Key)
					}
				}
			})
		})
	}
}

func TestBrokenLayoutsAreRefused(t *testing.T) {
	change := func(f func(p *rows.Piece)) rows.Layout {
		l := planted(byHand(), "hazel", 5)
		f(&l.Rows[1].Pieces[1])
		return l
	}
	for _, c := range []struct {
		name string
		l    rows.Layout
		want string
	}{
		{"no number", change(func(p *rows.Piece) { p.GroundM = math.NaN() }), "row R002.2: ground length is NaN m"},
		{"endless", change(func(p *rows.Piece) { p.PlanM = math.Inf(1) }), "row R002.2: plan length is +Inf m"},
		{"negative", change(func(p *rows.Piece) { p.GroundM = -1 }), "row R002.2: ground length is -1 m"},
		{"no length", change(func(p *rows.Piece) { p.PlanM = 0 }), "row R002.2: plan length is 0 m"},
		{"beyond the earth", change(func(p *rows.Piece) { p.GroundM = 1e8 }), "row R002.2: ground length is 1e+08 m"},
		{"plant unknown", change(func(p *rows.Piece) { p.Stations[2].Plant = 7 }), "row R002.2: station 3 is of plant 8, but the plan has 1"},
		{"plant below zero", change(func(p *rows.Piece) { p.Stations[0].Plant = -1 }), "row R002.2: station 1 is of plant 0, but the plan has 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, notes, err := Compute(context.Background(), c.l, DefaultSpec(OneSheet))
			require.ErrorContains(t, err, c.want)
			assert.Zero(t, out)
			assert.Empty(t, notes)
		})
	}
	t.Run("spacing beyond reason", func(t *testing.T) {
		l := layoutOf(100, 100)
		l.Spec.SpacingM = math.MaxFloat64
		_, _, err := Compute(context.Background(), l, DefaultSpec(OneSheet))
		require.ErrorContains(t, err, "Ground served by the rows cannot be counted")
	})
}

func TestComputeStopsWhenAsked(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, _, err := Compute(ctx, layoutOf(100), DefaultSpec(OneSheet))
	require.ErrorIs(t, err, context.Canceled)
}

func TestInputIsLeftAlone(t *testing.T) {
	l := planted(byHand(), "hazel", 5)
	before := l.Rows[1].Pieces[0]
	compute(t, l, DefaultSpec(TwoSheet))
	assert.Equal(t, before, l.Rows[1].Pieces[0])
	assert.Equal(t, orb.Point{0, 5}, l.Rows[1].Pieces[0].Line.At(0))
}

// Every quantity can be counted again by hand from what it says.
func TestEveryQuantityExplainsItself(t *testing.T) {
	eachKind(t, func(t *testing.T, s Spec) {
		s.Tape.LinesCount = 2
		l := planted(planted(byHand(), "hazel", 5), "currant", 1.5)
		out := compute(t, l, s)
		assert.Equal(t, s, out.Spec)
		seen := map[string]bool{}
		for _, q := range out.Quantities {
			assert.Regexp(t, `^[a-z0-9]+(_[a-z0-9]+)*$`, q.Key)
			assert.False(t, seen[q.Key], "%s twice", q.Key)
			seen[q.Key] = true
			for field, text := range map[string]string{"name": q.Name, "unit": q.Unit, "basis": q.Basis, "source": q.Source} {
				assert.NotEmpty(t, strings.TrimSpace(text), "%s of %s", field, q.Key)
			}
			assert.False(t, math.IsNaN(q.Value) || math.IsInf(q.Value, 0) || q.Value < 0, "%s is %g", q.Key, q.Value)
			for _, i := range q.Inputs {
				assert.True(t, i.Name != "" && i.Unit != "", "an input of %s", q.Key)
				assert.False(t, math.IsNaN(i.Value) || math.IsInf(i.Value, 0), "%s of %s", i.Name, q.Key)
			}
			if q.Key != "rows" && q.Key != "pieces" {
				assert.NotEmpty(t, q.Inputs, q.Key)
			}
		}
		_, ok := out.Get("no such thing")
		assert.False(t, ok)
	})
}

func TestLinesWithAndWithoutHeights(t *testing.T) {
	assert.False(t, surveyed(geo.Line{}))
	assert.False(t, surveyed(piece(1, 10, 0).Line))
	assert.False(t, surveyed(geo.LineOfFlat([]float64{0, 0, 100, 0, 10, 0, math.NaN(), 10})))
	assert.True(t, surveyed(geo.LineOfFlat([]float64{0, 0, 100, 0, 10, 0, 101, 10.05})))
}
