package report

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/cmd/hemrow/internal/result"
	"hemrow/geo"
)

// Source of the factors: NIST SP 811 (2008), appendix B.8 and B.9; the acre is
// that of 43 560 international square feet (NIST Handbook 44, appendix C, 2023).
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		value    float64
		unit     string
		want     float64
		wantUnit string
	}{
		{0.3048, "m", 1, "ft"},
		{1.609344, "km", 1, "mi"},
		{25.4, "mm", 1, "in"},
		{25.4, "um", 1, "mil"},
		{9.290304e-2, "m2", 1, "sq ft"},
		{0.40468564224, "ha", 1, "acres"},
		{7.645549e-1, "m3", 1, "yd3"},
		{3.785412, "L", 1, "gal"},
		{3.785412, "L/h", 1, "gal/h"},
		{4.535924e-1, "kg", 1, "lb"},
		{9.071847e-1, "t", 2000, "lb"},
		{5.932764e-1, "kg/m3", 1, "lb/yd3"},
		{4.4704e-1, "m/s", 1, "mph"},
		{6.894757, "kPa", 1, "psi"},
		{6894.757, "Pa", 1, "psi"},
		{12, "rolls", 12, "rolls"},
		{3, "", 3, ""},
	} {
		got, unit := converted(c.value, c.unit, "us")
		assert.InEpsilon(t, c.want, got, 2e-7, c.unit) // the seven figures of the source
		assert.Equal(t, c.wantUnit, unit)
		got, unit = converted(c.value, c.unit, "metric")
		assert.Equal(t, c.value, got)
		assert.Equal(t, c.unit, unit)
	}
}

func TestFigures(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{figure(0), "0"},
		{figure(1 / 3.0), "0.333"},
		{figure(12), "12"},
		{figure(12.345), "12.35"},
		{figure(-12.345), "-12.35"},
		{figure(1234.56), "1234.6"},
		{figure(1e20), "100000000000000000000.0"},
		{amount(5, "m", "us"), "16.40 ft"},
		{amount(5, "", "us"), "5"},
		{length(0.05, "metric"), "0.1 m"},
		{area(48400, "metric"), "4.84 ha"},
		{area(523.4, "metric"), "523 m2"},
		{area(4046.8564224, "us"), "1.00 acres"},
		{area(100*0.09290304, "us"), "100 sq ft"},
		{geo.Counted(1, "row"), "1 row"},
		{geo.Counted(0, "row"), "0 rows"},
		{decimals(-0.0000000001, 9), "0"},
		{decimals(12.5, 9), "12.5"},
		{decimals(100, 2), "100"},
		{clean(hostile), "<script>alert('1')</script> & \"q\" next, line;[31m gnp.exe"},
		{clean("\ufeffa\u2066b\ufffe \xff"), "ab"},
		{named(" \n", "none"), "none"},
		{cut("abcdefgh", 6), "abc..."},
		{cut("مزرعة طويلة", 7), "مزرع..."},
	} {
		assert.Equal(t, c.want, c.got)
	}
}

func TestWrap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := rapid.StringMatching(`[a-z é]{0,300}`).Draw(rt, "s")
		width := rapid.IntRange(1, 100).Draw(rt, "width")
		lines := wrap(s, width)
		require.NotEmpty(rt, lines)
		for _, l := range lines {
			require.LessOrEqual(rt, utf8.RuneCountInString(l), width)
		}
		require.Equal(rt, strings.Join(strings.Fields(s), ""), strings.ReplaceAll(strings.Join(lines, ""), " ", ""), "no letter is lost")
	})
}

// spoiled is the small document with hostile text in every place that comes
// from a file.
func spoiled(t testing.TB, text string) result.Document {
	d := smallDocument(t, "metric")
	d.Field.Name, d.Blocks[0].Name, d.Field.Obstacles[0].Name, d.Field.Obstacles[1].Name = text, text, text, text
	d.Plants[0].Plant, d.Takeoff.Quantities[0].Name, d.Takeoff.Quantities[0].Basis, d.Takeoff.Quantities[0].Unit = text, text, text, text
	d.Takeoff.Quantities[1].Inputs[0].Name, d.Takeoff.Quantities[1].Source = text, text
	d.Notes[0].Text, d.Notes[0].Place, d.Notes[0].Hint = text, text, text
	for i := range d.Rows {
		d.Rows[i].Block = text
	}
	return d
}

func TestSummaryLines(t *testing.T) {
	for _, text := range []string{hostile, "=cmd()", strings.Repeat("x", 500), strings.Repeat("word ", 200), "مزرعة", "田んぼ", ""} {
		for _, units := range []string{"metric", "us"} {
			got := string(Summary(spoiled(t, text), units))
			for line := range strings.Lines(got) {
				require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 100, line)
				require.NotContains(t, line, "\x1b")
				require.NotContains(t, line, "\u202e")
				require.NotContains(t, line, "\r")
			}
		}
	}
	assert.True(t, isASCII(Summary(smallDocument(t, "us"), "us")))
}

func isASCII(b []byte) bool {
	for _, c := range b {
		if c >= 0x80 {
			return false
		}
	}
	return true
}

func TestSummarySays(t *testing.T) {
	got := string(Summary(smallDocument(t, "us"), "us"))
	// by hand: 6000 m2 / 4046.8564 = 1.4826; 222 m / 0.3048 = 728.35; 25.1 kg / 0.45359 = 55.34; 16.9 m3 / 0.764555 = 22.10
	for _, want := range []string{
		"1.48 acres in 1 block", "728.3 ft in plan", "R001 to R003", "Heron Pond, Pole",
		"from S (end A) to N (end B)", "55.34 lb", "22.10 yd3  estimate",
	} {
		assert.Contains(t, got, want)
	}
	caution, serious := strings.Index(got, "shallower"), strings.Index(got, "buried services")
	assert.Less(t, strings.Index(got, "What it takes"), strings.Index(got, "left out\n"), "notes come last")
	assert.Less(t, strings.Index(got, "left out\n"), caution)
	assert.Less(t, caution, serious, "the gravest note is the last")

	d := smallDocument(t, "metric")
	d.Frame.HeightM = nil
	assert.Contains(t, string(Summary(d, "metric")), "whose height and slope are not known")
	for _, s := range scenes(t) {
		doc := s.document(t)
		got := string(Summary(doc, "metric"))
		switch s.name {
		case "bare":
			assert.Contains(t, got, "Rows        none fits")
			assert.Contains(t, got, "no row fits", geo.NoteEmptyBlock)
		case "three":
			for _, b := range doc.Blocks {
				assert.Contains(t, got, "  "+b.Name[:5])
			}
		}
	}
}
