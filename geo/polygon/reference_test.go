package polygon_test

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/polygon"
)

// reference is testdata/reference.json, figures by shapely 1.8.5 on GEOS
// 3.11.1; see testdata/make_reference.py.
type reference struct {
	Cases []struct {
		Polygon    orb.Polygon `json:"polygon"`
		Area       float64     `json:"area"`
		Perimeter  float64     `json:"perimeter"`
		D          float64     `json:"d"`
		InsetArea  float64     `json:"inset_area"`
		InsetParts int         `json:"inset_parts"`
		Other      orb.Polygon `json:"other"`
		Difference float64     `json:"difference"`
		Shared     float64     `json:"shared"`
		Union      float64     `json:"union"`
		Line       orb.LineString
		ClearArea  float64     `json:"clear_area"`
		Points     []orb.Point `json:"points"`
		Inside     []bool      `json:"inside"`
		Distance   []float64   `json:"distance"`
	}
	Segments []struct {
		Segment  [8]float64
		Distance float64
	}
	Validity []struct {
		Polygon orb.Polygon
		Valid   bool
		Why     string
	}
}

func readReference(t testing.TB) (ref reference) {
	data, err := os.ReadFile("testdata/reference.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &ref))
	require.NotEmpty(t, ref.Cases)
	return ref
}

func TestAgainstShapely(t *testing.T) {
	for i, c := range readReference(t).Cases {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			p, q := c.Polygon, c.Other
			per := c.Perimeter + polygon.PerimeterM(q)
			assert.Empty(t, polygon.Faults(p))
			assert.InDelta(t, c.Area, polygon.AreaM2(p), 1e-9*c.Area)
			assert.InDelta(t, c.Perimeter, polygon.PerimeterM(p), 1e-11*c.Perimeter)

			in, err := polygon.Inset(p, c.D)
			require.NoError(t, err)
			loss := polygon.BufferLossM(c.D)
			assert.InDelta(t, c.InsetArea, polygon.TotalAreaM2(in), loss*per)
			assert.Len(t, in, c.InsetParts)

			d, err := polygon.Difference(p, []orb.Polygon{q})
			require.NoError(t, err)
			assert.InDelta(t, c.Difference, polygon.TotalAreaM2(d), 1e-7*per)
			shared, err := polygon.OverlapAreaM2(p, q)
			require.NoError(t, err)
			assert.InDelta(t, c.Shared, shared, 1e-7*per)
			u, err := polygon.Union([]orb.Polygon{p, q})
			require.NoError(t, err)
			assert.InDelta(t, c.Union, polygon.TotalAreaM2(u), 1e-7*per)

			clear, err := polygon.Clear(p, []polygon.Keep{{Lines: []orb.LineString{c.Line}, DistanceM: c.D}})
			require.NoError(t, err)
			assert.InDelta(t, c.ClearArea, polygon.TotalAreaM2(clear), loss*per)

			ix := polygon.NewIndex(p...)
			for k, pt := range c.Points {
				assert.Equal(t, c.Inside[k], polygon.Contains(p, pt))
				assert.InDelta(t, c.Distance[k], polygon.DistanceM(p, pt), 1e-9)
				_, dist := ix.NearestM(pt)
				assert.InDelta(t, c.Distance[k], dist, 1e-9)
			}
		})
	}
}

func TestSegmentDistanceAgainstShapely(t *testing.T) {
	for _, c := range readReference(t).Segments {
		s := c.Segment
		got := polygon.SegmentDistanceM(orb.Point{s[0], s[1]}, orb.Point{s[2], s[3]}, orb.Point{s[4], s[5]}, orb.Point{s[6], s[7]})
		assert.InDelta(t, c.Distance, got, 1e-12, "%v", s)
		if c.Distance == 0 {
			assert.Zero(t, got, "exactly, %v", s)
		}
	}
}

// Scribbles on a coarse grid have every kind of touch, overlap and crossing,
// all exact. Repeated vertices are a fault of ours but valid to GEOS.
func TestFaultsAgreeWithGEOS(t *testing.T) {
	valid := 0
	for _, c := range readReference(t).Validity {
		faults := grave(polygon.Faults(c.Polygon))
		assert.Equal(t, c.Valid, len(faults) == 0, "%v\n%s\n%v", c.Polygon, c.Why, faults)
		if c.Valid {
			valid++
		}
	}
	assert.Greater(t, valid, 100)
}

func grave(fs []polygon.Fault) (out []polygon.Fault) {
	for _, f := range fs {
		if f.Kind != polygon.Duplicate {
			out = append(out, f)
		}
	}
	return out
}

// Whatever is not refused must be sound in the eyes of an independent library
// (simplefeatures' validity, OGC Simple Features 1.2.1), and split on request
// it must be the even-odd interior, less what was dropped with a fix.
func TestRepairedScribblesAreSound(t *testing.T) {
	refused, mended := 0, 0
	for _, c := range readReference(t).Validity {
		for _, o := range []polygon.Options{{}, {SplitCrossings: true}} {
			parts, fixes, err := polygon.Repair(c.Polygon, o)
			if err != nil {
				var r *polygon.Refusal
				require.ErrorAs(t, err, &r)
				refused++
				continue
			}
			if len(fixes) > 0 {
				mended++
			}
			for _, p := range parts {
				assert.Empty(t, polygon.Faults(p))
				require.NoError(t, validate(p), "%v to %v", c.Polygon, p)
				assert.Positive(t, polygon.SignedAreaM2(p[0]))
				for _, h := range p[1:] {
					assert.Negative(t, polygon.SignedAreaM2(h))
				}
			}
			for i := range parts {
				for k := range i {
					over, err := polygon.OverlapAreaM2(parts[k], parts[i])
					require.NoError(t, err)
					assert.InDelta(t, 0, over, 1e-6, "%v to %v", c.Polygon, parts)
				}
			}
		}
	}
	assert.Greater(t, mended, 200)
	assert.Greater(t, refused, 200)
}

func validate(p orb.Polygon) error {
	var rings [][]float64
	for _, r := range p {
		var xy []float64
		for _, v := range r {
			xy = append(xy, v[0], v[1])
		}
		rings = append(rings, xy)
	}
	return geom.NewPolygonXY(rings...).Validate()
}
