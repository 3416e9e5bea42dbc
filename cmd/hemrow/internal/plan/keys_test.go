package plan

import (
	"math"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/materials"
	"hemrow/rows"
)

func TestKeys(t *testing.T) {
	seen := map[string]bool{}
	known := map[string]bool{"": true}
	for _, s := range sections() {
		known[s[0]] = true
	}
	last, order := "", []string{}
	for _, k := range Keys() {
		assert.False(t, seen[k.Name], "%s is there twice: a flag could not tell which", k.Name)
		seen[k.Name] = true
		assert.True(t, known[k.Section], k.Section)
		assert.Regexp(t, regexp.MustCompile(`^[a-z]+(_[a-z]+)*$`), k.Name)
		assert.NotEmpty(t, k.Help, k.Name)
		assert.NotContains(t, k.Help, "\n", k.Name)
		assert.NotContains(t, k.Help, "`", "%s: the flag help would take it for a name", k.Name)
		assert.False(t, strings.HasSuffix(k.Help, "."), k.Name)
		assert.NotEmpty(t, k.Kind, k.Name)
		if k.Kind == KindChoice {
			assert.Contains(t, k.Choices, k.Default, k.Name)
		}
		if k.Section != last {
			order = append(order, k.Section)
			last = k.Section
		}
	}
	assert.Equal(t, []string{"field", "terrain", "rows", "contour", "cover", "trench", "seam", "chips", "tape", "plants"}, order, "sections stay together")
}

// Setting a key to its default changes nothing, for every key with a flag.
func TestDefaultsAreWhatTheySay(t *testing.T) {
	for _, k := range Keys() {
		if !k.Flag {
			continue
		}
		p := Default()
		require.NoError(t, p.Override(k.Name, k.Default), k.Name)
		assert.Equal(t, Default(), bare(p), k.Name)
	}
}

// Setting a key changes the value in the plan, and the echo shows it: no two
// keys lead to the same field.
func TestEveryKeyHasAFieldOfItsOwn(t *testing.T) {
	for _, k := range Keys() {
		if !k.Flag {
			continue
		}
		p := Default()
		require.NoError(t, p.Override(k.Name, another(k)), k.Name)
		for _, e := range p.Echo() {
			def, _ := findKey(e.Key)
			d := Default()
			before := def.codec.write(target{plan: &d})
			switch {
			case e.Key == k.Name:
				assert.NotEqual(t, before, e.Text, k.Name)
			case k.Name != "covering": // a cover brings its defaults
				assert.Equal(t, before, e.Text, "%s changed %s", k.Name, e.Key)
			}
		}
	}
}

// another is a value of the key that is not its default.
func another(k Key) string {
	switch k.Kind {
	case KindText, KindPath, KindPaths:
		return "other"
	case KindChoice:
		for _, w := range k.Choices {
			if w != k.Default {
				return w
			}
		}
	case KindBool:
		if k.Default == "yes" {
			return "no"
		}
		return "yes"
	case KindCount, KindRatio:
		return "7"
	case KindHeading:
		return "along edge 7"
	case KindFirstRow, KindLimit:
		return "7 m"
	}
	return "7 " + dimensionOf(k.Kind).own
}

// spoil sets every number of a spec to NaN and every count below its least.
func spoil(v reflect.Value) {
	for i := range v.NumField() {
		switch f := v.Field(i); f.Kind() {
		case reflect.Float64:
			f.SetFloat(math.NaN())
		case reflect.Struct:
			spoil(f)
		case reflect.Int:
			if f.Type() == reflect.TypeFor[int]() {
				f.SetInt(-1)
			}
		}
	}
}

// Every path that a spec's fault can name is a key of the table, so that the
// fault finds its line; and every measure in the specs has a key.
func TestFaultPathsAreKeys(t *testing.T) {
	paths := map[string]bool{}
	for _, k := range table() {
		paths[k.Path()] = true
	}
	hit := map[string]bool{}
	for _, kind := range []materials.CoverKind{materials.OneSheet, materials.TwoSheet, materials.Chips, 99} {
		for _, mode := range []rows.HeadingMode{rows.HeadingSearch, rows.HeadingFixed, rows.HeadingEdge} {
			for _, best := range []bool{true, false} {
				p := Default()
				spoil(reflect.ValueOf(&p.Rows).Elem())
				spoil(reflect.ValueOf(&p.Materials).Elem())
				spoil(reflect.ValueOf(&p.Terrain).Elem())
				p.Rows.Heading.Mode, p.Rows.FirstRow.Best, p.Materials.Cover = mode, best, kind
				p.Rows.StartSide, p.Rows.Style = "up", 99
				if best { // a side is asked for only where there is a fall
					p.Rows.Curving.TargetPct, p.Rows.Curving.TargetSide = 0.5, "up"
				}
				p.Rows.Plants = []rows.Planting{{PitchM: math.NaN(), StartM: math.NaN()}}
				for _, f := range p.specFaults(nil) {
					path := strings.Replace(f.Path, "plants[1]", "plants", 1)
					assert.True(t, paths[path], "%s is no key", f.Path)
					hit[path] = true
				}
			}
		}
	}
	for _, k := range table() {
		switch k.Section {
		case "", "field":
		default:
			switch k.Name {
			case "soil", "heights", "break_lines", "heights_crs", "height_columns", "height_unit", "between_cells", "alley_cover", "half_slope":
			default:
				assert.True(t, hit[k.Path()], "%s: no fault of a spec names it", k.Path())
			}
		}
	}
}

func TestUnits(t *testing.T) {
	for text, want := range map[string]Units{"metric": Metric, "us": US, " US ": US} {
		got, err := ParseUnits(text)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := ParseUnits("imperial")
	assert.EqualError(t, err, `units must be metric or us, not "imperial"`)
	assert.Equal(t, "metric us", Metric.String()+" "+US.String())
}
