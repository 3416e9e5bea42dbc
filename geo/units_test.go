package geo

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Published values of the units. FR is 85 Fed. Reg. 62698 (5 October 2020), SP
// is NIST SP 811 (2008) appendix B; a row marked "derived" follows exactly
// from the definitions there by the arithmetic shown.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		name          string
		got, want     float64
		toleranceFrac float64
		source        string
	}{
		{"survey foot", SurveyFootM, 0.304800609601219, 1e-14, "FR"},
		{"acre", AcreM2, 4046.8564224, 1e-15, "SP; derived, 43560 ft2"},
		{"acre by the survey foot", SurveyAcreM2, 4046.87260987, 1e-11, "FR; derived"},
		{"half a million feet in the wrong foot", 500000 * (SurveyFootM - FootM) / FootM, 1, 1e-5, "FR; derived"},
		{"gallon a minute", USGallonPerMinuteLPH, 227.124707, 1e-9, "SP; derived, 60 × 231 in3"},
		{"gallon an hour", USGallonPerHourLPH, 3.785411784, 1e-15, "SP"},
		{"psi", PSIPa, 6894.757293, 1e-9, "SP"},
		{"psi in feet of water", PSIPa / WaterColumnPa / FootM, 2.30666, 1e-5, "SP; derived at 1000 kg/m3"},
		{"psf", PSFPa, 47.880259, 1e-8, "SP"},
		{"psf as mass", PoundKg / SquareFootM2, 4.882428, 1e-7, "SP"},
		{"cubic yard", CubicYardM3, 0.764554857984, 1e-15, "SP"},
		{"cubic foot", CubicFootM3, 0.028316846592, 1e-15, "SP"},
		{"chain", ChainM, 20.1168, 1e-15, "SP"},
		{"mil", MilM, 25.4e-6, 1e-15, "SP"},
		{"mil in micrometres", MilUm, MilM * 1e6, 1e-15, "derived"},
		{"inch", InchM, 0.0254, 1e-15, "SP"},
		{"yard", YardM, 0.9144, 1e-15, "SP"},
		{"mile", MileM, 1609.344, 1e-15, "SP"},
		{"acre-inch in gallons", AcreInchM3 * 1000 / USGallonL, 27154.2857, 1e-8, "derived; published as 27154"},
		{"acre-inch", AcreInchM3, 102.790153, 1e-8, "SP; derived"},
		{"gallon", USGallonL, 3.785411784, 1e-15, "SP"},
		{"ounce", OunceKg, 0.028349523125, 1e-15, "SP"},
		{"short ton", ShortTonKg, 907.18474, 1e-15, "SP"},
		{"lb/yd3", PoundPerYd3KgM3, 0.593276, 1e-6, "SP"},
		{"mph", MilePerHourMS, 0.44704, 1e-15, "SP"},
		{"knot", KnotMS, 0.514444444, 1e-8, "SP"},
		{"km/h", KilometrePerHourMS, 0.277777778, 1e-8, "SP"},
		{"acres in a hectare", HectareM2 / AcreM2, 2.4710538, 1e-8, "SP; derived"},
		{"bar in psi", BarPa / PSIPa, 14.503774, 1e-7, "SP; derived"},
		{"tonne", TonneKg, 1000, 0, "SP"},
		{"Fahrenheit step", FahrenheitStepK * 9, 5, 1e-15, "SP"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.LessOrEqual(t, math.Abs(c.got-c.want), c.toleranceFrac*math.Abs(c.want),
				"got %.15g, %s says %.15g", c.got, c.source, c.want)
		})
	}
}
