package materials

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/rows"
)

func codesOf(ns geo.Notes) (list []geo.Code) {
	for _, n := range ns {
		list = append(list, n.Code)
	}
	return list
}

func noted(t *testing.T, ns geo.Notes, code geo.Code) geo.Note {
	t.Helper()
	for _, n := range ns {
		if n.Code == code {
			return n
		}
	}
	require.Fail(t, "not noted", "%s in %v", code, codesOf(ns))
	return geo.Note{}
}

// onSlope gives every vertex a height.
func onSlope(l rows.Layout) rows.Layout {
	for i := range l.Rows {
		for j := range l.Rows[i].Pieces {
			p := &l.Rows[i].Pieces[j]
			p.Line = geo.LineOfFlat([]float64{0, 0, 100, 0, p.PlanM, 0, 101, p.GroundM})
		}
	}
	return l
}

func TestStandingNotes(t *testing.T) {
	film := []geo.Code{geo.NoteBuriedService, geo.NoteBurning, geo.NoteRunoff, geo.NoteHotFilm, geo.NoteGirdling}
	for _, c := range []struct {
		kind CoverKind
		want []geo.Code
	}{
		{NoCover, nil},
		{OneSheet, append(append([]geo.Code{}, film...), geo.NoteWater, geo.NoteEstimate)},
		{TwoSheet, append(append([]geo.Code{}, film...), geo.NoteLifting, geo.NoteEstimate, geo.NoteWater, geo.NoteEstimate)},
		{Chips, []geo.Code{geo.NoteEstimate}},
	} {
		t.Run(c.kind.String(), func(t *testing.T) {
			out := compute(t, onSlope(planted(layoutOf(100, 80), "hazel", 4)), DefaultSpec(c.kind))
			assert.Equal(t, c.want, codesOf(out.Notes))
			for _, n := range out.Notes {
				assert.NotEmpty(t, n.Text, n.Code)
				assert.NotEmpty(t, n.Hint, n.Code)
				assert.Contains(t, geo.Codes(), n.Code)
			}
		})
	}
}

func TestSeverities(t *testing.T) {
	out := compute(t, layoutOf(100), DefaultSpec(TwoSheet))
	assert.Equal(t, geo.Serious, noted(t, out.Notes, geo.NoteBuriedService).Severity)
	assert.Equal(t, geo.Caution, noted(t, out.Notes, geo.NoteBurning).Severity)
	assert.Equal(t, geo.Caution, noted(t, out.Notes, geo.NoteWater).Severity)
	assert.Equal(t, geo.Caution, noted(t, out.Notes, geo.NoteLifting).Severity)
	assert.Equal(t, geo.Info, noted(t, out.Notes, geo.NotePlain).Severity)
	for code, word := range map[geo.Code]string{
		geo.NoteBuriedService: "one-call law", geo.NoteBurning: "ask the authority", geo.NoteWater: "licensed installer",
		geo.NoteRunoff: "no permit and no engineered design", geo.NoteHotFilm: "local rules",
	} {
		assert.Contains(t, noted(t, out.Notes, code).Hint, word, "defers to those who decide")
	}
}

// Each note of a figure comes on one side of its limit and not on the other.
func TestNotesOfFigures(t *testing.T) {
	for _, c := range []struct {
		name         string
		code         geo.Code
		kind         CoverKind
		set          func(s *Spec, v float64)
		quiet, loud  float64
		value, limit float64
		severity     geo.Severity
	}{
		{
			"cover as wide as the bed", geo.NoteFilmNarrow, OneSheet, func(s *Spec, v float64) { s.Film.BedWidthM = v },
			0.9, 0.91, 0.9, 0.91, geo.Caution,
		},
		{
			"two sheets as wide as the bed", geo.NoteFilmNarrow, TwoSheet, func(s *Spec, v float64) { s.Film.BedWidthM = v },
			1.3, 1.31, 1.3, 1.31, geo.Caution,
		},
		{
			"film just thick enough", geo.NoteThinFilm, OneSheet, func(s *Spec, v float64) { s.Film.ThicknessUm = v },
			75, 74, 74, 75, geo.Caution,
		},
		{ // 1.2 m × 80 µm × 920 kg/m3 is 0.08832 kg/m: 23 kg on 260.4 m
			"roll just light enough", geo.NoteHeavyRoll, OneSheet, func(s *Spec, v float64) { s.Film.RollM = v },
			260, 261, 23.0515, 23, geo.Caution,
		},
		{ // the longest cut is 120 + 2×0.75 m
			"roll just long enough", geo.NoteSplices, OneSheet, func(s *Spec, v float64) { s.Film.RollM = v },
			121.5, 121, 121.5, 121, geo.Caution,
		},
		{
			"tuck down to the floor", geo.NoteTuckShort, OneSheet, func(s *Spec, v float64) { s.Trench.DepthM = v },
			0.15, 0.2, 0.15, 0.2, geo.Caution,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := DefaultSpec(c.kind)
			c.set(&s, c.quiet)
			assert.NotContains(t, codesOf(compute(t, byHand(), s).Notes), c.code)
			c.set(&s, c.loud)
			n := noted(t, compute(t, byHand(), s).Notes, c.code)
			assert.InDelta(t, c.value, n.Value, 1e-3)
			assert.InDelta(t, c.limit, n.Limit, rounding)
			assert.Equal(t, c.severity, n.Severity)
			assert.NotEmpty(t, n.Unit)
		})
	}
}

func TestStonesThatDoNotFit(t *testing.T) {
	s := DefaultSpec(TwoSheet)
	assert.NotContains(t, codesOf(compute(t, byHand(), s).Notes), geo.NoteStonesSmall)
	// stones of 30 mm weigh 37 g: the gale asks for one every 6 mm
	s.Seam.StoneMM = 30
	n := noted(t, compute(t, byHand(), s).Notes, geo.NoteStonesSmall)
	assert.Equal(t, geo.Serious, n.Severity)
	assert.Less(t, n.Value, n.Limit)
	assert.Equal(t, 0.03, n.Limit)
}

func TestHeavyStones(t *testing.T) {
	s := DefaultSpec(TwoSheet)
	s.Seam.StoneMM = 250 // 21.68 kg
	assert.NotContains(t, noted(t, compute(t, byHand(), s).Notes, geo.NoteLifting).Hint, "one stone is more")
	s.Seam.StoneMM = 260 // 24.39 kg
	n := noted(t, compute(t, byHand(), s).Notes, geo.NoteLifting)
	assert.Contains(t, n.Hint, "one stone is more")
	assert.InDelta(t, 24.39, n.Value, 0.01)
}

func TestEstimatesAreNamed(t *testing.T) {
	out := compute(t, byHand(), DefaultSpec(TwoSheet))
	var wind, list geo.Note
	for _, n := range out.Notes {
		if n.Code == geo.NoteEstimate && n.Severity == geo.Caution {
			wind = n
		} else if n.Code == geo.NoteEstimate {
			list = n
		}
	}
	assert.Contains(t, wind.Text, "force 8")
	assert.Contains(t, wind.Hint, "no guarantee")
	assert.Contains(t, wind.Hint, "power lines")
	for _, q := range out.Quantities {
		if q.Estimate {
			assert.Contains(t, list.Text, q.Name)
		} else {
			assert.NotContains(t, list.Text, q.Name+";")
		}
	}
	for _, key := range []string{"seam_hold", "seam_hold_check", "stones", "stones_mass"} {
		q, _ := out.Get(key)
		assert.True(t, q.Estimate, key)
	}
}

func TestLevelGroundIsNoted(t *testing.T) {
	l := byHand()
	n := noted(t, compute(t, l, DefaultSpec(NoCover)).Notes, geo.NotePlain)
	assert.Equal(t, 3.0, n.Value)
	assert.Contains(t, n.Text, "3 of 3 pieces")
	assert.Contains(t, n.Hint, "add 1.1 %", "101.119 m on 100 m at 15 %")
	one := onSlope(byHand())
	one.Rows[0] = l.Rows[0]
	one.Rows[0].Pieces = []rows.Piece{piece(1, 120, 0)}
	assert.Equal(t, 1.0, noted(t, compute(t, one, DefaultSpec(NoCover)).Notes, geo.NotePlain).Value)
	assert.Empty(t, compute(t, onSlope(byHand()), DefaultSpec(NoCover)).Notes)
}
