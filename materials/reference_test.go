package materials

import (
	"bytes"
	"context"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/materials/catalog"
	"hemrow/rows"
)

// siOf turns the units of the reference table into SI; "1" is a plain number.
var siOf = map[string]float64{
	"1": 1, "%": 1, "m": 1, "m2": 1, "m3": 1, "mm": 1e-3, "mm2": 1e-6, "kg": 1, "t": geo.TonneKg, "kg/m": 1, "kg/m2": 1,
	"g/m2": 1e-3, "kg/m3": 1, "m/s": 1, "Pa": 1, "m3/ha": 1, "plants/ha": 1,
	"in": geo.InchM, "ft": geo.FootM, "mil": geo.MilM, "ft2": geo.SquareFootM2, "yd3": geo.CubicYardM3, "acre": geo.AcreM2,
	"mph": geo.MilePerHourMS, "psf": geo.PSFPa, "lb/yd3": geo.PoundPerYd3KgM3, "lb/ft2": geo.PoundKg / geo.SquareFootM2,
	"psf/mph2":    geo.PSFPa / geo.MilePerHourMS / geo.MilePerHourMS,
	"plants/acre": geo.HectareM2 / geo.AcreM2,
}

// reckon is a way through the take-off for each kind of row of the table;
// inputs and result are SI, shares in percent.
type reckon func(t *testing.T, in map[string]float64) float64

func reckonings() map[string]reckon {
	return map[string]reckon{
		"film mass": func(t *testing.T, in map[string]float64) float64 {
			out := filmOf(t, in)
			return value(t, out, "film_mass") / value(t, out, "film_area")
		},
		"roll mass": func(t *testing.T, in map[string]float64) float64 { return value(t, filmOf(t, in), "film_roll_mass") },
		"covered width": func(t *testing.T, in map[string]float64) float64 {
			return value(t, filmOf(t, in), "covered_width")
		},
		"tape mass": tapeKgM,
		"tape wall area": func(t *testing.T, in map[string]float64) float64 {
			return tapeKgM(t, in) / in["density"]
		},
		"dynamic pressure": func(_ *testing.T, in map[string]float64) float64 {
			q := dynamicPa(2*in["density"], in["wind"])
			if kz, ok := in["kz"]; ok {
				q *= kz * in["kd"]
			}
			return q
		},
		"roughness factor": roughnessFactor,
		"mean wind": func(t *testing.T, in map[string]float64) float64 {
			return in["wind"] * roughnessFactor(t, in)
		},
		"wind force": func(_ *testing.T, in map[string]float64) float64 {
			return float64(catalog.BeaufortForce(in["wind"]))
		},
		"log law ratio": func(_ *testing.T, in map[string]float64) float64 {
			return logWindRatio(in["height"], 10, in["roughness"])
		},
		"seam by the lip": func(t *testing.T, in map[string]float64) float64 { return value(t, seamOf(t, in), "seam_hold") },
		"seam by suction": func(t *testing.T, in map[string]float64) float64 { return value(t, seamOf(t, in), "seam_hold_check") },
		"stone mass":      stoneMass,
		"ballast":         func(_ *testing.T, in map[string]float64) float64 { return in["mass"] },
		"soil bank":       func(t *testing.T, in map[string]float64) float64 { return value(t, trenchOf(t, in), "soil_bank") },
		"soil loose":      func(t *testing.T, in map[string]float64) float64 { return value(t, trenchOf(t, in), "soil_loose") },
		"load factor":     loadFactor,
		"chip volume":     func(t *testing.T, in map[string]float64) float64 { return value(t, chipsOf(t, in), "chips_laid") },
		"chip area":       func(t *testing.T, in map[string]float64) float64 { return value(t, chipsOf(t, in), "chip_area") },
		"chip rate":       func(t *testing.T, in map[string]float64) float64 { return value(t, chipsOf(t, in), "chips_rate") },
		"chip mass":       func(t *testing.T, in map[string]float64) float64 { return value(t, chipsOf(t, in), "chips_mass") },
		"ground served":   func(t *testing.T, in map[string]float64) float64 { return value(t, chipsOf(t, in), "planted_area") },
		"plant density":   plantDensity,
		"plants in a row": plantsInRow,
		"ground length":   groundLength,
	}
}

func filmOf(t *testing.T, in map[string]float64) Takeoff {
	s := DefaultSpec(OneSheet)
	for name, p := range map[string]*float64{
		"width": &s.Film.WidthM, "tuck": &s.Film.TuckM, "roll": &s.Film.RollM, "density": &s.Film.DensityKgM3,
	} {
		if v, ok := in[name]; ok {
			*p = v
		}
	}
	if v, ok := in["thickness"]; ok {
		s.Film.ThicknessUm = v * 1e6
	}
	return compute(t, layoutOf(100), s)
}

func tapeKgM(t *testing.T, in map[string]float64) float64 {
	s := DefaultSpec(NoCover)
	s.Tape.LinesCount = 1
	s.Tape.InsideMM, s.Tape.WallUm, s.Tape.DensityKgM3 = in["inside"]*1e3, in["wall"]*1e6, in["density"]
	out := compute(t, layoutOf(100), s)
	return value(t, out, "tape_mass") / value(t, out, "tape_length")
}

// roughnessFactor of EN 1991-1-4 is kr ln(z/z0); ln(z/z0) is the wind as a
// share of that at e times the roughness length.
func roughnessFactor(_ *testing.T, in map[string]float64) float64 {
	return in["kr"] * logWindRatio(in["height"], math.E*in["roughness"], in["roughness"])
}

func seamOf(t *testing.T, in map[string]float64) Takeoff {
	s := DefaultSpec(TwoSheet)
	s.Seam.WindMS, s.Seam.RoughnessM, s.Seam.SafetyRatio = in["wind"], in["roughness"], in["safety"]
	s.Film.ThicknessUm, s.Film.DensityKgM3 = in["thickness"]*1e6, in["density"]
	// the seam answers for half the covered width, 2 w - lap - 2 tuck
	s.Film.WidthM = (2*in["span"] + s.Film.LapM + 2*s.Film.TuckM) / 2
	return compute(t, layoutOf(100), s)
}

func stoneMass(t *testing.T, in map[string]float64) float64 {
	s := DefaultSpec(TwoSheet)
	s.Seam.StoneMM, s.Seam.StoneKgM3 = in["size"]*1e3, in["density"]
	return value(t, compute(t, layoutOf(100), s), "stone_each")
}

func trenchOf(t *testing.T, in map[string]float64) Takeoff {
	s := DefaultSpec(OneSheet)
	s.Film.EndTuckM = 0 // edges only
	s.Trench.SwellPct = in["swell"]
	lengthM := in["length"]
	if bankM3, ok := in["bank"]; ok {
		s.Trench.DepthM, s.Trench.WidthM = 0.5, 0.5
		lengthM = bankM3 / (2 * 0.5 * 0.5)
	} else {
		s.Trench.DepthM, s.Trench.WidthM = in["depth"], in["width"]
	}
	return compute(t, layoutOf(lengthM), s)
}

func loadFactor(t *testing.T, in map[string]float64) float64 {
	out := trenchOf(t, in)
	return value(t, out, "soil_bank") / value(t, out, "soil_loose")
}

func chipsOf(t *testing.T, in map[string]float64) Takeoff {
	s := DefaultSpec(Chips)
	s.Chips.DepthM, s.Chips.SettlePct = in["depth"], 0
	if strip, ok := in["strip"]; ok {
		s.Chips.WidthM = strip
	}
	if kg, ok := in["density"]; ok {
		s.Chips.BulkKgM3 = kg
	}
	lengthM, ok := in["length"]
	if !ok {
		lengthM = in["area"] / s.Chips.WidthM
	}
	l := layoutOf(lengthM)
	if v, ok := in["spacing"]; ok {
		l.Spec.SpacingM = v
	}
	return compute(t, l, s)
}

// plantDensity of endless rows: as many plants as pitches.
func plantDensity(t *testing.T, in map[string]float64) float64 {
	l := planted(layoutOf(50*in["pitch"], 80*in["pitch"]), "hazel", in["pitch"])
	l.Spec.SpacingM = in["spacing"]
	return value(t, compute(t, l, DefaultSpec(NoCover)), "plant_density")
}

// plantsInRow lays one row of the length over a field that it just fits.
func plantsInRow(t *testing.T, in map[string]float64) float64 {
	m := in["length"]
	ring := orb.Ring{{-m / 2, -2}, {m / 2, -2}, {m / 2, 2}, {-m / 2, 2}, {-m / 2, -2}}
	f := geo.Field{Name: "strip", Frame: testFrame(), Blocks: []geo.Block{{Name: "strip", Outline: orb.Polygon{ring}}}}
	s := rows.DefaultSpec()
	s.SpacingM, s.HeadlandM, s.SideM, s.ObstacleM = 4, 0, 0, 0
	s.Heading = rows.Heading{Mode: rows.HeadingFixed, Bearing: geo.NewBearing(90)}
	s.FirstRow = rows.FirstRow{OffsetM: 2}
	s.Plants = []rows.Planting{{Plant: "hazel", PitchM: in["pitch"], Every: 1, From: 1}}
	l, _, err := rows.Plan(context.Background(), f, s)
	require.NoError(t, err)
	require.Len(t, l.Rows, 1)
	return value(t, compute(t, l, DefaultSpec(OneSheet)), "holes")
}

// groundLength of a row that climbs a plane from end to end.
func groundLength(t *testing.T, in map[string]float64) float64 {
	plan, rise := in["plan"], in["plan"]*in["grade"]/100
	l := layoutOf(plan)
	p := &l.Rows[0].Pieces[0]
	p.Line = geo.LineOfFlat([]float64{0, 0, 0, 0, plan, 0, rise, math.Hypot(plan, rise)})
	p.GroundM = p.Line.GroundM()
	s := DefaultSpec(OneSheet)
	s.Film.EndTuckM = 0
	out := compute(t, l, s)
	assert.Equal(t, value(t, out, "ground_length"), value(t, out, "film_cut_length"), "film follows the ground")
	assert.Equal(t, plan, value(t, out, "plan_length"))
	return value(t, out, "ground_length")
}

func TestReference(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("testdata", "reference", "takeoff.csv"))
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	table, err := r.ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"id", "what", "inputs", "expected", "unit", "tolerance", "source", "status"}, table[0])
	ways := reckonings()
	used := map[string]bool{}
	for _, row := range table[1:] {
		id, what := row[0], row[1]
		t.Run(id+" "+what, func(t *testing.T) {
			way, ok := ways[what]
			require.True(t, ok)
			used[what] = true
			assert.NotEmpty(t, row[6])
			assert.Regexp(t, `^(FT|MEM|DER|CP)( rule|\+DER)?$`, row[7])
			want := amount(t, row[3]+" "+row[4])
			got := way(t, inputsOf(t, row[2]))
			assert.LessOrEqual(t, math.Abs(got-want), allowed(t, row[5], want, row[4]),
				"got %.9g %s, want %s", got/siOf[row[4]], row[4], row[3])
		})
	}
	for what := range ways {
		assert.True(t, used[what], "no case for %s", what)
	}
}

func inputsOf(t *testing.T, text string) map[string]float64 {
	in := map[string]float64{}
	for _, part := range strings.Split(text, ";") {
		name, figure, ok := strings.Cut(strings.TrimSpace(part), "=")
		require.True(t, ok, part)
		in[name] = amount(t, figure)
	}
	return in
}

func amount(t *testing.T, text string) float64 {
	figure, unit, ok := strings.Cut(text, " ")
	require.True(t, ok, "%s has no unit", text)
	v, err := strconv.ParseFloat(figure, 64)
	require.NoError(t, err)
	factor, ok := siOf[unit]
	require.True(t, ok, "unit %s", unit)
	return v * factor
}

// allowed is the tolerance in SI.
func allowed(t *testing.T, text string, want float64, unit string) float64 {
	if text == "exact" {
		return 1e-12 * math.Abs(want)
	}
	kind, figure, _ := strings.Cut(text, " ")
	v, err := strconv.ParseFloat(figure, 64)
	require.NoError(t, err)
	if kind == "abs" {
		return v * siOf[unit]
	}
	require.Equal(t, "rel", kind)
	return v * math.Abs(want)
}
