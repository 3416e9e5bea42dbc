package materials

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDefaultsAreSound(t *testing.T) {
	eachKind(t, func(t *testing.T, s Spec) {
		require.NoError(t, s.Validate())
		assert.False(t, s.film() && s.tooShortTuck())
		// A plan may change the kind alone.
		for _, k := range allKinds() {
			s.Cover = k
			assert.NoError(t, s.Validate(), "as %s", k)
		}
	})
}

// figures are the numbers of a spec by their path, with the covers that use
// them.
type figure struct {
	path string
	of   func(s *Spec) *float64
	in   []CoverKind
}

func figures() []figure {
	film, two, chips := []CoverKind{OneSheet, TwoSheet}, []CoverKind{TwoSheet}, []CoverKind{Chips}
	return []figure{
		{"cover.film_width", func(s *Spec) *float64 { return &s.Film.WidthM }, film},
		{"cover.film_thickness", func(s *Spec) *float64 { return &s.Film.ThicknessUm }, film},
		{"cover.film_density", func(s *Spec) *float64 { return &s.Film.DensityKgM3 }, film},
		{"cover.roll_length", func(s *Spec) *float64 { return &s.Film.RollM }, film},
		{"cover.edge_tuck", func(s *Spec) *float64 { return &s.Film.TuckM }, film},
		{"cover.seam_lap", func(s *Spec) *float64 { return &s.Film.LapM }, two},
		{"cover.end_tuck", func(s *Spec) *float64 { return &s.Film.EndTuckM }, film},
		{"cover.film_waste", func(s *Spec) *float64 { return &s.Film.WastePct }, film},
		{"cover.bed_width", func(s *Spec) *float64 { return &s.Film.BedWidthM }, film},
		{"cover.lift_limit", func(s *Spec) *float64 { return &s.Film.LiftLimitKg }, film},
		{"cover.thin_film", func(s *Spec) *float64 { return &s.Film.ThinFilmUm }, film},
		{"trench.trench_depth", func(s *Spec) *float64 { return &s.Trench.DepthM }, film},
		{"trench.trench_width", func(s *Spec) *float64 { return &s.Trench.WidthM }, film},
		{"trench.soil_swell", func(s *Spec) *float64 { return &s.Trench.SwellPct }, film},
		{"seam.wind", func(s *Spec) *float64 { return &s.Seam.WindMS }, two},
		{"seam.roughness", func(s *Spec) *float64 { return &s.Seam.RoughnessM }, two},
		{"seam.safety", func(s *Spec) *float64 { return &s.Seam.SafetyRatio }, two},
		{"seam.stone_size", func(s *Spec) *float64 { return &s.Seam.StoneMM }, two},
		{"seam.stone_density", func(s *Spec) *float64 { return &s.Seam.StoneKgM3 }, two},
		{"seam.stone_gap", func(s *Spec) *float64 { return &s.Seam.MostApartM }, two},
		{"chips.strip_width", func(s *Spec) *float64 { return &s.Chips.WidthM }, chips},
		{"chips.chip_depth", func(s *Spec) *float64 { return &s.Chips.DepthM }, chips},
		{"chips.chip_bulk", func(s *Spec) *float64 { return &s.Chips.BulkKgM3 }, chips},
		{"chips.load_volume", func(s *Spec) *float64 { return &s.Chips.LoadM3 }, chips},
		{"chips.yearly_loss", func(s *Spec) *float64 { return &s.Chips.TopUpM }, chips},
		{"chips.settling", func(s *Spec) *float64 { return &s.Chips.SettlePct }, chips},
		{"tape.tape_end", func(s *Spec) *float64 { return &s.Tape.EndM }, allKinds()},
		{"tape.tape_slack", func(s *Spec) *float64 { return &s.Tape.SlackPct }, allKinds()},
		{"tape.tape_roll", func(s *Spec) *float64 { return &s.Tape.RollM }, allKinds()},
		{"tape.tape_inside", func(s *Spec) *float64 { return &s.Tape.InsideMM }, allKinds()},
		{"tape.tape_wall", func(s *Spec) *float64 { return &s.Tape.WallUm }, allKinds()},
		{"tape.tape_density", func(s *Spec) *float64 { return &s.Tape.DensityKgM3 }, allKinds()},
	}
}

// paths are those of all faults joined in an error.
func paths(t *testing.T, err error) (list []string) {
	t.Helper()
	if err == nil {
		return nil
	}
	joined, ok := err.(interface{ Unwrap() []error })
	require.True(t, ok)
	for _, e := range joined.Unwrap() {
		var f *Fault
		require.True(t, errors.As(e, &f), "%v", e)
		require.NotEmpty(t, f.Problem)
		list = append(list, f.Path)
	}
	return list
}

// Each figure is looked at where it is used, and only there.
func TestEachBadFigureIsFound(t *testing.T) {
	for _, f := range figures() {
		t.Run(f.path, func(t *testing.T) {
			for _, k := range allKinds() {
				used := false
				for _, in := range f.in {
					used = used || in == k
				}
				for _, bad := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 1e9} {
					s := DefaultSpec(k)
					s.Tape.LinesCount = 1
					*f.of(&s) = bad
					err := s.Validate()
					if !used {
						assert.NoError(t, err, "%g with %s", bad, k)
						continue
					}
					assert.Equal(t, []string{f.path}, paths(t, err), "%g with %s", bad, k)
					_, _, err = Compute(context.Background(), layoutOf(100), s)
					assert.Error(t, err)
				}
			}
		})
	}
}

func TestFaultsOfFiguresTogether(t *testing.T) {
	for _, c := range []struct {
		name   string
		kind   CoverKind
		change func(s *Spec)
		want   string
	}{
		{
			"narrower than its tucks", OneSheet, func(s *Spec) { s.Film.WidthM = 0.3 },
			"cover.film_width: a sheet of 0.3 m is used up by two tucks of 0.15 m",
		},
		{
			"narrower than tuck and lap", TwoSheet, func(s *Spec) { s.Film.WidthM = 0.35 },
			"cover.film_width: a sheet of 0.35 m is used up by its tuck of 0.15 m and its lap of 0.2 m",
		},
		{
			"two sheets that do not meet", TwoSheet, func(s *Spec) { s.Film.LapM = 0 },
			"cover.seam_lap: must be from 0.01 to 5 m, is 0",
		},
		{
			"no cover known", CoverKind(9), func(*Spec) {},
			"cover.covering: must be one of none, one sheet, two sheets, chips",
		},
		{
			"fewer lines than none", NoCover, func(s *Spec) { s.Tape.LinesCount = -1 },
			"tape.tape_lines: must be from 0 to 20, is -1",
		},
		{
			"a mat of tape", Chips, func(s *Spec) { s.Tape.LinesCount = 21 },
			"tape.tape_lines: must be from 0 to 20, is 21",
		},
		{
			"rougher than the seam is high", TwoSheet, func(s *Spec) { s.Seam.RoughnessM = 0.5 },
			"seam.roughness: must be from 0.0001 to 0.1 m, is 0.5",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := DefaultSpec(c.kind)
			c.change(&s)
			assert.EqualError(t, s.Validate(), c.want)
		})
	}
	t.Run("all at once", func(t *testing.T) {
		s := DefaultSpec(TwoSheet)
		s.Film.WidthM, s.Trench.DepthM, s.Seam.WindMS, s.Tape.LinesCount = -1, 0, math.NaN(), 99
		assert.Equal(t, []string{"cover.film_width", "trench.trench_depth", "seam.wind", "tape.tape_lines"}, paths(t, s.Validate()))
	})
	t.Run("zero spec", func(t *testing.T) { assert.NoError(t, Spec{}.Validate(), "no cover needs nothing") })
}

func TestCoverWords(t *testing.T) {
	assert.Equal(t, "none", NoCover.String())
	assert.Equal(t, "one sheet", OneSheet.String())
	assert.Equal(t, "two sheets", TwoSheet.String())
	assert.Equal(t, "chips", Chips.String())
	assert.Equal(t, "unknown", CoverKind(-1).String())
	assert.Equal(t, "unknown", CoverKind(4).String())
	assert.Zero(t, Spec{}.CoveredM())
}
