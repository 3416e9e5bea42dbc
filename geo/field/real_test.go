package field_test

import (
	"context"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// realFiles are the valid outlines at hand: the shared ones, and always the
// committed sample.
func realFiles(t *testing.T) []format.File {
	var fs []format.File
	for _, path := range []string{sample, sharedData + "outlines-all.ndjson", sharedData + "outlines-osm-li.ndjson"} {
		if f, ok := readFeatures(t, path); ok {
			fs = append(fs, f)
		}
	}
	require.NotEmpty(t, fs)
	require.Equal(t, "outlines-sample.ndjson", fs[0].Name)
	return fs
}

// Areas: column area_ha of the data, geodesic areas by GeographicLib (through
// pyproj), printed with four decimals: 0.5 m² of rounding.
func TestValidOutlinesKeepShapeAndArea(t *testing.T) {
	quiet := map[geo.Code]bool{
		geo.NoteDuplicate: true, geo.NoteNoHeight: true, geo.NoteNeedle: true, geo.NoteSmallHole: true,
		geo.NoteBlocks: true, geo.NoteSmallPart: true, geo.NoteUnusualSize: true, geo.NoteNear: true, geo.NoteRounded: true,
	}
	for _, file := range realFiles(t) {
		t.Run(file.Name, func(t *testing.T) {
			for i := range file.Features {
				f := &file.Features[i]
				got, notes, err := field.Build(context.Background(), one(file, i), nil, field.Spec{})
				if !assert.NoError(t, err, f.ID) {
					continue
				}
				for _, n := range notes {
					assert.True(t, quiet[n.Code], "%s: %s", f.ID, n)
				}
				assert.Len(t, got.Blocks, len(f.Polygons), f.ID)
				var m2 float64
				for _, b := range got.Blocks {
					m2 += polygon.AreaM2(b.Outline) / got.Frame.AreaScale(centre(b.Outline))
					assert.Empty(t, polygon.Faults(b.Outline), f.ID)
				}
				assert.InDelta(t, f.Properties["area_ha"], m2/1e4, 0.5e-4+1e-6*m2/1e4, f.ID)
				assert.Equal(t, distinct(f), kept(got), "%s: vertices other than repeated ones were dropped", f.ID)
			}
		})
	}
}

func centre(p orb.Polygon) orb.Point { return p.Bound().Center() }

// distinct counts vertices that differ from the one before in their ring.
func distinct(f *format.Feature) (n int) {
	for _, p := range f.Polygons {
		for _, r := range p {
			for i := 1; i < len(r); i++ {
				if r[i].X != r[i-1].X || r[i].Y != r[i-1].Y {
					n++
				}
			}
		}
	}
	return n
}

func kept(f geo.Field) (n int) {
	for _, b := range f.Blocks {
		for _, r := range b.Outline {
			n += len(r) - 1
		}
	}
	return n
}

// What each outline with faults should become: parts and the notes. Worked
// out by looking at each drawing and at the faults that an independent
// library (GEOS 3.11, through shapely 1.8.5, explain_validity and make_valid)
// names.
func TestRealFaultsAreMendedOrPlaced(t *testing.T) {
	want := map[string]struct {
		parts int
		codes []geo.Code
	}{
		"dk-0064":         {1, []geo.Code{geo.NoteSpike}},
		"pt-0005":         {1, []geo.Code{geo.NoteSpike}},
		"pt-0029":         {1, []geo.Code{geo.NoteCrossingMended}},
		"pt-0080":         {1, []geo.Code{geo.NoteSpike}},
		"pt-0094":         {1, []geo.Code{geo.NoteSpike}},
		"sk-0033":         {1, []geo.Code{geo.NoteCrossingMended}}, // a hole with a 0.03 m2 lobe
		"us_csb-0016":     {1, []geo.Code{geo.NoteTouchSplit}},     // hole drawn as part of the ring
		"us_csb-0018":     {1, []geo.Code{geo.NoteTouchSplit}},     // hole of two lobes
		"us_csb-0030":     {1, []geo.Code{geo.NoteTouchSplit}},
		"us_csb-0055":     {1, []geo.Code{geo.NoteTouchSplit}},
		"it_toscana-0032": {2, []geo.Code{geo.NoteTouchSplit, geo.NoteCrossingMended}},
		"it_toscana-0034": {2, []geo.Code{geo.NoteIsland, geo.NoteSmallPart}},
		"it_toscana-0036": {1, []geo.Code{geo.NoteSpike}},
		"it_toscana-0040": {1, []geo.Code{geo.NoteCrossingMended}},
		"it_toscana-0057": {1, []geo.Code{geo.NoteCrossingMended, geo.NoteTouchSplit}},
		"it_toscana-0061": {2, []geo.Code{geo.NoteTouchSplit}}, // two halves meeting in a point
		"it_toscana-0080": {1, []geo.Code{geo.NoteCrossingMended}},
		"it_toscana-0094": {1, []geo.Code{geo.NoteSpike}},
		"it_toscana-0098": {1, []geo.Code{geo.NoteSpike, geo.NoteCrossingMended}},
	}
	for _, path := range []string{"testdata/outlines-invalid-sample.ndjson", sharedData + "outlines-real-invalid.geojson"} {
		file, ok := readFeatures(t, path)
		if !ok {
			continue
		}
		for i, f := range file.Features {
			t.Run(file.Name+"/"+f.ID, func(t *testing.T) {
				w, ok := want[f.ID]
				require.True(t, ok)
				got, notes, err := field.Build(context.Background(), one(file, i), nil, field.Spec{})
				require.NoError(t, err)
				assert.Len(t, got.Blocks, w.parts)
				for _, c := range w.codes {
					assert.True(t, has(notes, c), c)
				}
				var m2, dropped float64
				for _, b := range got.Blocks {
					assert.Empty(t, polygon.Faults(b.Outline))
					m2 += polygon.AreaM2(b.Outline)
				}
				for _, n := range notes {
					if n.Code == geo.NoteCrossingMended {
						dropped += n.Value
						assert.Regexp(t, `vertex \d+ \(-?\d+\.\d{7}, -?\d+\.\d{7}\)$`, n.Place)
					}
				}
				// area_ha: GeographicLib's area of the ring as drawn
				assert.InDelta(t, f.Properties["area_ha"].(float64)*1e4, m2, 0.5+dropped+1e-6*m2)

				_, _, err = field.Build(context.Background(), one(file, i), nil, field.Spec{Strict: true})
				errs := field.Errors(err)
				require.NotEmpty(t, errs)
				assert.NotNil(t, errs[0].At)
				assert.Positive(t, errs[0].Vertex)
			})
		}
	}
}

func has(ns geo.Notes, c geo.Code) bool {
	for _, n := range ns {
		if n.Code == c {
			return true
		}
	}
	return false
}
