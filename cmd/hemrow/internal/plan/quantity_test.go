package plan

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseQuantity(t *testing.T) {
	// SP 811: NIST Special Publication 811, Guide for the Use of the SI, 2008,
	// appendix B.8, where bold factors are exact. Others are worked by hand
	// from its exact factors.
	for _, c := range []struct {
		name, text string
		kind       Kind
		want       float64
		source     string
	}{
		{"metre", "5 m", KindLength, 5, "by definition"},
		{"no space", "5m", KindLength, 5, "by definition"},
		{"many spaces", "  5   m ", KindLength, 5, "by definition"},
		{"millimetre", "150 mm", KindLength, 0.15, "by definition"},
		{"centimetre", "60 cm", KindLength, 0.6, "by definition"},
		{"kilometre", "1.5 km", KindLength, 1500, "by definition"},
		{"micrometre", "80 um", KindLength, 0.00008, "by definition"},
		{"foot", "1 ft", KindLength, 0.3048, "SP 811 B.8: foot, 3.048 E-01, exact"},
		{"feet", "16 ft", KindLength, 4.8768, "16 x 0.3048"},
		{"inch", "1 in", KindLength, 0.0254, "SP 811 B.8: inch, 2.54 E-02, exact"},
		{"yard", "1 yd", KindLength, 0.9144, "SP 811 B.8: yard, 9.144 E-01, exact"},
		{"mile", "1 mi", KindLength, 1609.344, "SP 811 B.8: mile, 1.609344 E+03, exact"},
		{"mil", "1 mil", KindLength, 0.0000254, "SP 811 B.8: mil (0.001 in), 2.54 E-05, exact"},
		{"feet and inches", "5 ft 6 in", KindLength, 1.6764, "66 x 0.0254"},
		{"feet and inches, marks", `5'6"`, KindLength, 1.6764, "66 x 0.0254"},
		{"feet and inches, typographic marks", `5′ 6″`, KindLength, 1.6764, "66 x 0.0254"},
		{"feet and inches, negative", "-5 ft 6 in", KindLength, -1.6764, "66 x 0.0254"},
		{"feet and a part of an inch", "5 ft 6.5 in", KindLength, 1.6891, "66.5 x 0.0254"},
		{"foot mark alone", "16'", KindLength, 4.8768, "16 x 0.3048"},
		{"inch mark alone", `6"`, KindLength, 0.1524, "6 x 0.0254"},
		{"negative zero", "-0 m", KindLength, 0, "by definition"},
		{"point first", ".5 m", KindLength, 0.5, "by definition"},
		{"thickness in mil", "3 mil", KindThickness, 76.2, "3 x 25.4"},
		{"thickness in mil, half", "1.25 mil", KindThickness, 31.75, "1.25 x 25.4"},
		{"thickness in um", "80 um", KindThickness, 80, "by definition"},
		{"thickness with a micro sign", "80 µm", KindThickness, 80, "by definition"},
		{"thickness with a Greek mu", "80 μm", KindThickness, 80, "by definition"},
		{"thickness in mm", "0.08 mm", KindThickness, 80, "by definition"},
		{"size in inches", "6 in", KindSize, 152.4, "6 x 25.4"},
		{"size in cm", "15 cm", KindSize, 150, "by definition"},
		{"degrees", "37.25 deg", KindAngle, 37.25, "by definition"},
		{"degree sign", "37°", KindAngle, 37, "by definition"},
		{"percent", "5 %", KindPercent, 5, "by definition"},
		{"percent, no space", "5%", KindPercent, 5, "by definition"},
		{"density", "920 kg/m3", KindDensity, 920, "by definition"},
		{"density, superscript", "920 kg/m³", KindDensity, 920, "by definition"},
		{"density, caret", "920 kg/m^3", KindDensity, 920, "by definition"},
		{"grams", "0.92 g/cm3", KindDensity, 920, "by definition"},
		{"tonnes", "2.65 t/m3", KindDensity, 2650, "by definition"},
		{"pounds per cubic foot", "1 lb/ft3", KindDensity, 16.01846, "SP 811 B.8: 1.601846 E+01"},
		{"pounds per cubic yard", "1 lb/yd3", KindDensity, 0.5932764, "SP 811 B.8: 5.932764 E-01"},
		{"metres a second", "20.7 m/s", KindSpeed, 20.7, "by definition"},
		{"kilometres an hour", "72 km/h", KindSpeed, 20, "72 / 3.6"},
		{"kilometre an hour", "1 km/h", KindSpeed, 0.2777778, "SP 811 B.8: 2.777778 E-01"},
		{"miles an hour", "1 mph", KindSpeed, 0.44704, "SP 811 B.8: 4.4704 E-01, exact"},
		{"knot", "1 kn", KindSpeed, 0.5144444, "SP 811 B.8: 5.144444 E-01"},
		{"cubic metres", "12 m3", KindVolume, 12, "by definition"},
		{"litres", "250 L", KindVolume, 0.25, "SP 811 B.8: liter, 1 E-03, exact"},
		{"cubic yard", "1 yd3", KindVolume, 0.7645549, "SP 811 B.8: 7.645549 E-01"},
		{"cubic foot", "1 ft3", KindVolume, 0.02831685, "SP 811 B.8: 2.831685 E-02"},
		{"kilogram", "23 kg", KindMass, 23, "by definition"},
		{"pound", "1 lb", KindMass, 0.45359237, "SP 811 B.8: pound, 4.535924 E-01; note 22 for the exact value"},
		{"tonne", "1 t", KindMass, 1000, "SP 811 B.8: ton, metric, 1.0 E+03, exact"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, p := parseQuantity(c.text, c.kind)
			require.Nil(t, p, "%+v", p)
			if strings.Contains(c.source, "SP 811") && !strings.Contains(c.source, "exact") {
				assert.InEpsilon(t, c.want, got, 5e-7, c.source) // printed with 7 figures
				return
			}
			assert.Equal(t, c.want, got, c.source) // the nearest float64, not only near
			assert.False(t, math.Signbit(got) && got == 0, "no negative zero")
		})
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	for _, c := range []struct {
		name, text string
		kind       Kind
		what, hint string
	}{
		{"no unit", "5", KindLength, `"5" has no unit`, "write 5 m or 16 ft"},
		{"no unit, zero", "0", KindLength, `"0" has no unit`, "write 0 m or 0 ft"},
		{"no unit, thickness", "60", KindThickness, `"60" has no unit`, "write 60 um or 2.4 mil"},
		{"no unit, angle", "37", KindAngle, `"37" has no unit`, "write 37 deg"},
		{"no unit, percent", "5", KindPercent, `"5" has no unit`, "write 5 %"},
		{"no unit, out of proportion", "12345678", KindLength, `"12345678" has no unit`, "write 5 m or 16 ft"},
		{"a mass for a length", "5 kg", KindLength, `"5 kg" is a mass, not a length`, "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"an angle for a length", "5 deg", KindLength, `"5 deg" is an angle, not a length`, "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"a length for an angle", "5 m", KindAngle, `"5 m" is a length, not an angle`, "units here: deg"},
		{"a length for a volume", "5 yd", KindVolume, `"5 yd" is a length, not a volume`, "units here: m3, L, yd3 or ft3"},
		{"a length for a percentage", "5 mm", KindPercent, `"5 mm" is a length, not a percentage`, "units here: %"},
		{"unknown unit", "5 furlong", KindLength, `unit "furlong" is not known`, "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"unit in capitals", "5 FT", KindLength, `unit "FT" is not known`, "did you mean ft? units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"unit misspelt", "45 mhp", KindSpeed, `unit "mhp" is not known`, "did you mean mph? units here: m/s, km/h, mph or kn"},
		{"decimal comma", "1,5 m", KindLength, `"1,5 m" has a comma`, "write a decimal point, and nothing between thousands: 1.5 m"},
		{"comma that may part thousands", "1,200 m", KindLength, `"1,200 m" has a comma`, "write a decimal point, and nothing between thousands"},
		{"thousands and decimals", "1,200.5 m", KindLength, `"1,200.5 m" has a comma`, "write a decimal point, and nothing between thousands"},
		{"words", "five m", KindLength, `"five m" does not begin with a number`, "write a number and a unit, such as 5 m or 16 ft"},
		{"unit first", "m 5", KindLength, `"m 5" does not begin with a number`, "write a number and a unit, such as 5 m or 16 ft"},
		{"plus sign", "+5 m", KindLength, `"+5 m" does not begin with a number`, "write a number and a unit, such as 5 m or 16 ft"},
		{"nothing", "", KindLength, "has no value", "write a number and a unit, such as 5 m or 16 ft"},
		{"not a number", ".nan", KindLength, `".nan" is no number to reckon with`, "write a number and a unit, such as 5 m or 16 ft"},
		{"infinite", "-inf m", KindLength, `"-inf m" is no number to reckon with`, "write a number and a unit, such as 5 m or 16 ft"},
		{"exponent", "5e3 m", KindLength, `"5e3 m" has an exponent`, "write the number out in decimals"},
		{"fraction", "5 1/2 in", KindLength, `"5 1/2 in" has a fraction`, "write it in decimals, 0.5 for a half"},
		{"fraction sign", "5½ in", KindLength, `"5½ in" has a fraction`, "write it in decimals, 0.5 for a half"},
		{"twelve inches", "5 ft 12 in", KindLength, `"5 ft 12 in" has 12 inches or more behind its feet`, "write them as feet, or all in inches"},
		{"part of a foot before inches", "5.5 ft 6 in", KindLength, `unit "ft 6 in" is not known`, "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"two values", "5 m 6 m", KindLength, `unit "m 6 m" is not known`, "units here: mm, cm, m, km, in, ft, yd, mi, mil or um"},
		{"beyond float64", strings.Repeat("9", 399) + " m", KindLength, `"` + strings.Repeat("9", 60) + `…" is too large`, ""},
		{"too many digits", strings.Repeat("9", 401) + " m", KindLength, "has too many digits", "write at most 15 of them"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, p := parseQuantity(c.text, c.kind)
			require.NotNil(t, p)
			assert.Equal(t, c.what, p.what)
			assert.Equal(t, c.hint, p.hint)
		})
	}
}

func measures() []Kind {
	return []Kind{
		KindLength, KindThickness, KindSize, KindAngle, KindPercent,
		KindDensity, KindSpeed, KindVolume, KindMass,
	}
}

// What is written in SI reads back to the last bit.
func TestQuantityTextReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(measures()).Draw(t, "kind")
		v := rapid.Float64().Draw(t, "value") + 0
		got, p := parseQuantity(quantityText(v, kind), kind)
		require.Nil(t, p, "%+v", p)
		require.Equal(t, v, got)
	})
}

// Every unit is as long as its quotient with every other says: n of one is
// n x a/b of the other, to the rounding of the decimals written.
func TestUnitsAgreeWithEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(measures()).Draw(t, "kind")
		dim := dimensionOf(kind)
		a := rapid.SampledFrom(dim.units).Draw(t, "a")
		b := rapid.SampledFrom(dim.units).Draw(t, "b")
		n := rapid.Float64Range(0.001, 1000).Draw(t, "n")
		m := n * (a.num / a.den) / (b.num / b.den)
		x, p := parseQuantity(plain(n)+" "+a.names[0], kind)
		require.Nil(t, p)
		y, p := parseQuantity(plain(m)+" "+b.names[len(b.names)-1], kind)
		require.Nil(t, p)
		require.InEpsilon(t, x, y, 1e-14)
	})
}

// The published pattern and the reader agree on what is a measure.
func TestPatternsAgreeWithTheReader(t *testing.T) {
	for _, kind := range measures() {
		pattern := regexp.MustCompile("^ *(?:" + quantityPattern(kind) + ") *$")
		parts := []string{"5", "-5", "0.5", ".5", "11", "12", " ", "  ", "m", "mm", "ft", "in", "'", `"`, "′", "deg", "°", "%", "kg", "kg/m3", "kg/m³", "lb/yd^3", "um", "µm", "m/s", "km/h", "L", ",", "e3", "/", "x"}
		rapid.Check(t, func(t *rapid.T) {
			s := strings.Join(rapid.SliceOfN(rapid.SampledFrom(parts), 1, 6).Draw(t, "parts"), "")
			_, p := parseQuantity(s, kind)
			require.Equal(t, p == nil, pattern.MatchString(s), "%q as %s: %+v", s, kind, p)
		})
	}
}

func FuzzQuantity(f *testing.F) {
	for _, s := range []string{"5 m", "16 ft", "5 ft 6 in", `5'6"`, "1,5 m", ".nan", "-0 um", "3 mil", "5e3 m", "½ in", "37°", "1 lb/yd3", "é", "\x00", "5 \xff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, kind := range measures() {
			v, p := parseQuantity(s, kind)
			if p != nil {
				assert.NotEmpty(t, p.what)
				continue
			}
			require.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%q", s)
			again, p := parseQuantity(quantityText(v, kind), kind)
			require.Nil(t, p, "%q: %+v", s, p)
			require.Equal(t, v, again, "%q", s)
		}
	})
}

func TestNearest(t *testing.T) {
	words := []string{"spacing", "heading", "headland", "heading_step", "first_row"}
	for word, want := range map[string]string{
		"spaceing": "spacing", "spacing_m": "spacing", "headng": "heading", "haeding": "heading",
		"firstrow": "first_row", "widthness": "", "x": "", "": "",
	} {
		assert.Equal(t, want, nearest(word, words), word)
	}
}
