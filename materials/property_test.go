package materials

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/rows"
)

// relative is what two ways through the same sums may differ by.
const relative = 1e-12

func near(t *rapid.T, want, got float64, what string) {
	require.LessOrEqual(t, math.Abs(want-got), relative*math.Max(1, math.Abs(want)), "%s: %g and %g", what, want, got)
}

func drawLayout(t *rapid.T, name string) rows.Layout {
	lengths := rapid.SliceOfN(rapid.Float64Range(0.5, 2000), 0, 40).Draw(t, name)
	return planted(layoutOf(lengths...), "hazel", rapid.Float64Range(5, 50).Draw(t, name+" pitch"))
}

// drawSpec is any sound spec of any kind.
func drawSpec(t *rapid.T) Spec {
	s := DefaultSpec(rapid.SampledFrom(allKinds()).Draw(t, "kind"))
	f := func(name string, least, most float64) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
	s.Film.TuckM = f("tuck", 0, 0.4)
	s.Film.LapM = f("lap", 0.05, 0.5)
	s.Film.WidthM = 2*s.Film.TuckM + s.Film.LapM + f("width", 0.05, 4)
	s.Film.ThicknessUm = f("thickness", 10, 500)
	s.Film.RollM = f("roll", 20, 3000)
	s.Film.EndTuckM = f("end tuck", 0, 2)
	s.Film.WastePct = f("waste", 0, 20)
	s.Trench.DepthM, s.Trench.WidthM = f("depth", 0.05, 0.5), f("trench width", 0.02, 0.5)
	s.Trench.SwellPct = f("swell", 0, 60)
	s.Seam.WindMS, s.Seam.StoneMM = f("wind", 0, 40), f("stone", 50, 300)
	s.Seam.RoughnessM, s.Seam.MostApartM = f("roughness", 0.001, 0.1), f("gap", 0.3, 3)
	s.Chips.WidthM, s.Chips.DepthM, s.Chips.LoadM3 = f("strip", 0.3, 3), f("chip depth", 0.02, 0.5), f("load", 1, 40)
	s.Tape.LinesCount = rapid.IntRange(0, 4).Draw(t, "lines")
	s.Tape.EndM, s.Tape.SlackPct = f("tape end", 0, 5), f("slack", 0, 10)
	require.NoError(t, s.Validate())
	return s
}

// summed are the quantities that two fields take together as they do apart.
var summed = []string{
	"rows", "pieces", "plan_length", "ground_length", "planted_area", "film_cut_length", "film_order_length", "film_area",
	"film_mass", "film_joints", "trench_length", "trench_end_length", "soil_bank", "soil_loose", "seam_length", "stones",
	"stones_mass", "chip_area", "chips_laid", "chips_order", "chips_mass", "chips_top_up", "tape_length", "tape_runs",
	"tape_mass", "plants", "plants_hazel", "holes",
}

func TestTwoFieldsTakeWhatTheyTakeApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpec(t)
		a, b := drawLayout(t, "a"), drawLayout(t, "b")
		apartA, apartB, both := compute(t, a, s), compute(t, b, s), compute(t, joined(a, b), s)
		for _, key := range summed {
			qa, _ := apartA.Get(key)
			qb, _ := apartB.Get(key)
			q, _ := both.Get(key)
			near(t, qa.Value+qb.Value, q.Value, key)
		}
		for _, key := range []string{"film_rolls", "chip_loads", "tape_rolls"} {
			qa, _ := apartA.Get(key)
			qb, _ := apartB.Get(key)
			q, _ := both.Get(key)
			require.LessOrEqual(t, q.Value, qa.Value+qb.Value, "%s together", key)
			require.GreaterOrEqual(t, q.Value, qa.Value+qb.Value-1, "%s together", key)
		}
	})
}

// Without ends, rows twice as long take twice as much.
func TestQuantitiesGrowWithLength(t *testing.T) {
	lengthwise := []string{
		"plan_length", "ground_length", "planted_area", "film_cut_length", "film_order_length", "film_area", "film_mass",
		"trench_length", "soil_bank", "soil_loose", "seam_length", "chip_area", "chips_laid", "chips_order", "chips_mass",
		"chips_top_up", "tape_length", "tape_mass",
	}
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpec(t)
		s.Film.EndTuckM, s.Tape.EndM = 0, 0
		lengths := rapid.SliceOfN(rapid.Float64Range(0.5, 2000), 1, 40).Draw(t, "lengths")
		k := rapid.Float64Range(0.1, 10).Draw(t, "times")
		longer := make([]float64, len(lengths))
		for i, m := range lengths {
			longer[i] = k * m
		}
		a, b := compute(t, layoutOf(lengths...), s), compute(t, layoutOf(longer...), s)
		for _, key := range lengthwise {
			qa, _ := a.Get(key)
			qb, _ := b.Get(key)
			near(t, k*qa.Value, qb.Value, key)
		}
	})
}

func TestWholeRollsAreEnoughAndNotOneTooMany(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpec(t)
		out := compute(t, drawLayout(t, "rows"), s)
		for _, c := range []struct {
			count, of string
			each      float64
		}{
			{"film_rolls", "film_order_length", s.Film.RollM},
			{"tape_rolls", "tape_length", s.Tape.RollM},
			{"chip_loads", "chips_order", s.Chips.LoadM3},
		} {
			n, ok := out.Get(c.count)
			if !ok {
				continue
			}
			need := value(t, out, c.of)
			require.Equal(t, math.Trunc(n.Value), n.Value, "whole")
			require.GreaterOrEqual(t, n.Value*c.each, need*(1-relative)-1e-9*c.each, c.count)
			require.True(t, n.Value == 0 && need == 0 || (n.Value-1)*c.each < need, c.count)
		}
	})
}

func TestStonesHoldTheSeam(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpec(t)
		s.Cover = TwoSheet
		l := drawLayout(t, "rows")
		out := compute(t, l, s)
		gap, hold := value(t, out, "stone_gap"), value(t, out, "seam_hold")
		require.True(t, gap > 0 && gap <= s.Seam.MostApartM)
		for i, r := range out.Rows {
			m := l.Rows[i].Pieces[0].GroundM
			require.GreaterOrEqual(t, float64(r.StoneNo-1)*gap, m-1e-6, "no gap is wider")
			require.Less(t, float64(r.StoneNo-2)*gap, m, "and none too many")
			require.GreaterOrEqual(t, r.StonesKg, hold*m*(1-1e-6), "heavy enough")
		}
	})
}

// More of a cause never gives less of its effect.
func TestMoreNeedsMore(t *testing.T) {
	for _, c := range []struct {
		path string
		keys []string
		less []string // fall instead
	}{
		{"cover.film_width", []string{"covered_width", "film_area", "film_mass", "film_roll_mass", "seam_hold_check"}, nil},
		{"cover.film_thickness", []string{"film_mass", "film_roll_mass"}, []string{"seam_hold"}},
		{"cover.roll_length", []string{"film_roll_mass"}, []string{"film_rolls", "film_joints"}},
		{"cover.edge_tuck", nil, []string{"covered_width", "trench_end_length", "seam_hold_check"}},
		{"cover.seam_lap", nil, []string{"covered_width", "seam_hold_check"}},
		{"cover.end_tuck", []string{"film_cut_length", "film_order_length", "film_area", "film_rolls", "trench_end_length"}, nil},
		{"cover.film_waste", []string{"film_order_length", "film_rolls"}, nil},
		{"trench.trench_depth", []string{"soil_bank", "soil_loose"}, nil},
		{"trench.trench_width", []string{"soil_bank", "soil_loose"}, nil},
		{"trench.soil_swell", []string{"soil_loose"}, nil},
		{"seam.wind", []string{"seam_hold", "seam_hold_check", "stones", "stones_mass"}, []string{"stone_gap"}},
		{"seam.roughness", nil, []string{"seam_hold", "stones"}},
		{"seam.safety", []string{"seam_hold", "stones"}, nil},
		{"seam.stone_size", []string{"stone_each", "stone_gap"}, []string{"stones"}},
		{"seam.stone_gap", []string{"stone_gap"}, []string{"stones"}},
		{"chips.strip_width", []string{"chip_area", "chips_laid", "chips_mass", "chip_loads"}, nil},
		{"chips.chip_depth", []string{"chips_laid", "chips_mass", "chip_loads"}, nil},
		{"chips.chip_bulk", []string{"chips_mass"}, nil},
		{"chips.load_volume", nil, []string{"chip_loads"}},
		{"chips.yearly_loss", []string{"chips_top_up"}, nil},
		{"chips.settling", []string{"chips_order", "chips_mass", "chip_loads"}, nil},
		{"tape.tape_end", []string{"tape_length", "tape_rolls", "tape_mass"}, nil},
		{"tape.tape_slack", []string{"tape_length", "tape_rolls", "tape_mass"}, nil},
		{"tape.tape_roll", nil, []string{"tape_rolls"}},
		{"tape.tape_wall", []string{"tape_mass"}, nil},
	} {
		t.Run(c.path, func(t *testing.T) {
			raised, moved := figureAt(t, c.path), false
			rapid.Check(t, func(t *rapid.T) {
				s := drawSpec(t)
				s.Cover, s.Tape.LinesCount = raised.in[len(raised.in)-1], 1
				l := drawLayout(t, "rows")
				a := compute(t, l, s)
				*raised.of(&s) *= 1 + rapid.Float64Range(0.001, 1).Draw(t, "more")
				if s.Validate() != nil {
					t.Skip("beyond the bounds")
				}
				b := compute(t, l, s)
				for i, key := range append(append([]string{}, c.keys...), c.less...) {
					qa, _ := a.Get(key)
					qb, _ := b.Get(key)
					low, high := qa.Value, qb.Value
					if i >= len(c.keys) {
						low, high = high, low
					}
					require.LessOrEqual(t, low, high*(1+relative)+relative, key)
					moved = moved || low < high
				}
			})
			assert.True(t, moved, "nothing ever changed")
		})
	}
}

func figureAt(t *testing.T, path string) figure {
	for _, f := range figures() {
		if f.path == path {
			return f
		}
	}
	require.Fail(t, "no figure", path)
	return figure{}
}

func TestOrderOfRowsAndRepetitionChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSpec(t)
		l := drawLayout(t, "rows")
		a := compute(t, l, s)
		require.Equal(t, a, compute(t, l, s), "the same again")
		turned := l
		turned.Rows = nil
		for i := range l.Rows {
			turned.Rows = append(turned.Rows, l.Rows[len(l.Rows)-1-i])
		}
		b := compute(t, turned, s)
		require.Len(t, b.Quantities, len(a.Quantities))
		for i, q := range a.Quantities {
			near(t, q.Value, b.Quantities[i].Value, q.Key)
		}
	})
}
