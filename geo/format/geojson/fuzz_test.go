package geojson_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
)

// roundTrip writes what was read, reads that, and writes it again. Both
// writings of a settled feature must be equal. What cannot be written is passed
// over. It returns how many features were compared.
func roundTrip(t *testing.T, f format.File) (compared int) {
	t.Helper()
	var out []geojson.OutFeature
	for _, one := range f.Features {
		if o := outFeature(one); o.Check() == nil {
			out = append(out, o)
		}
	}
	if len(out) == 0 {
		return 0
	}
	var first bytes.Buffer
	require.NoError(t, geojson.Write(&first, out))
	require.True(t, json.Valid(first.Bytes()), "%s", &first)
	again, err := geojson.Read(f.Name, bytes.NewReader(first.Bytes()))
	require.NoError(t, err, "%s", &first)
	require.Len(t, again.Features, len(out))
	for i, one := range again.Features {
		o := outFeature(one)
		require.Equal(t, out[i].ID, o.ID)
		require.Equal(t, fmt.Sprint(out[i].Properties), fmt.Sprint(o.Properties))
		if settled(out[i].Geometry) {
			compared++
			require.Equal(t, string(geojson.AppendFeature(nil, out[i])), string(geojson.AppendFeature(nil, o)))
		}
	}
	return compared
}

// settled reports whether rounding to the last decimal can change neither the
// sense of a ring nor what lies where: nothing crosses the antimeridian, and
// each ring has ten times the area that moving its vertices by 1e-9 degrees
// can take away, which is at most its number of vertices times width plus
// height times 1e-9.
func settled(g geojson.OutGeometry) bool {
	inside := func(p geojson.Path) bool {
		for i, at := range p.At {
			next := p.At[(i+1)%len(p.At)]
			if math.Abs(at.LonDeg) > 179.9 || math.Abs(at.LonDeg-next.LonDeg) > 180 {
				return false
			}
		}
		return true
	}
	for _, l := range g.Lines {
		if !inside(l) {
			return false
		}
	}
	for _, p := range g.Polygons {
		for _, r := range p {
			var twice float64
			low, high := r.At[0], r.At[0]
			for i, a := range r.At {
				b := r.At[(i+1)%len(r.At)]
				twice += (a.LonDeg-r.At[0].LonDeg)*(b.LatDeg-r.At[0].LatDeg) - (b.LonDeg-r.At[0].LonDeg)*(a.LatDeg-r.At[0].LatDeg)
				low.LonDeg, low.LatDeg = min(low.LonDeg, a.LonDeg), min(low.LatDeg, a.LatDeg)
				high.LonDeg, high.LatDeg = max(high.LonDeg, a.LonDeg), max(high.LatDeg, a.LatDeg)
			}
			size := high.LonDeg - low.LonDeg + high.LatDeg - low.LatDeg
			if !inside(r) || math.Abs(twice) < 10*float64(len(r.At))*size*1e-9 {
				return false
			}
			first, last := r.At[0], r.At[len(r.At)-1]
			if first != last && math.Abs(first.LonDeg-last.LonDeg)+math.Abs(first.LatDeg-last.LatDeg) < 1e-8 {
				return false // rounding may close the ring
			}
		}
	}
	return true
}

// FuzzDecode: nothing panics; a stream and a whole reading agree; every
// refusal says where; what decodes encodes and decodes to the same.
func FuzzDecode(f *testing.F) {
	for _, seed := range seeds(f) {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		file, err := geojson.Read("x", bytes.NewReader(in))
		s := geojson.NewStream("x", bytes.NewReader(in))
		decoded, failed := 0, false
		for {
			raw, err := s.Next()
			if err != nil {
				failed = failed || !errors.Is(err, io.EOF)
				break
			}
			one, _, err := s.Decode(raw)
			if err != nil {
				failed = true
				var e *geo.InputError
				require.ErrorAs(t, err, &e)
				assert.Equal(t, raw.Number, e.Feature, "%v", e)
				continue
			}
			if len(one.Polygons)+len(one.Lines)+len(one.Points) > 0 {
				decoded++
			}
		}
		if err == nil {
			require.False(t, failed)
			require.Equal(t, decoded, len(file.Features))
			roundTrip(t, file)
			return
		}
		require.True(t, failed || decoded == 0)
		var e *geo.InputError
		require.ErrorAs(t, err, &e)
		assert.NotEmpty(t, e.Problem)
	})
}

func seeds(tb testing.TB) []string {
	data, err := os.ReadFile("testdata/outlines-cc0.ndjson")
	require.NoError(tb, err)
	line, _, _ := strings.Cut(string(data), "\n")
	feature := featureJSON(polygonJSON(square))
	return []string{
		"", "{}", "[]", "\x1E", polygonJSON(`[]`), line, feature, collectionJSON(feature, feature), feature + "\n" + feature, feature + feature,
		"\x1E" + feature + "\n\x1E" + feature, "\uFEFF" + feature, "\xFF\xFE{\x00}\x00", feature[:60], feature + "\n" + feature[:60],
		`{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:4326"}},"features":[]}`,
		`{"crs":{"type":"link","properties":{"href":"x"}},"features":[]}`,
		featureJSON(polygonJSON(`[[[0,0],[2,2],[2,0],[0,2],[0,0]]]`)), // bow-tie
		featureJSON(`null`), featureJSON(polygonJSON(`[[]]`)), featureJSON(polygonJSON(`[[],[[1,2]]]`)),
		featureJSON(`{"type":"LineString","coordinates":[[1,2,0],[3,4,-9999],[5,6,"NaN"],[7,8,null],[9,10,1,2]]}`),
		featureJSON(`{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]},{"type":"MultiPoint","coordinates":[[1,2]]}]}`),
		featureJSON(`{"type":"LineString","coordinates":[["15.45","46,5"],[null,1]]}`),
		featureJSON(`{"type":"LineString","coordinates":[[1],[NaN,1e999]]}`),
		featureJSON(`{"type":"LineString","coordinates":[[170,45],[-170,45]]}`),
		featureJSON(polygonJSON(`[[[170,40],[190,40],[190,50],[170,50],[170,40]],[[178,43],[182,43],[182,46],[178,46],[178,43]]]`)),
		`{"type":"Feature","id":7,"properties":{"n":"\ud83c\udf33\u0000","x":[1,{"a":null}],"y":1e999,"z":` + "\"\xE1\"" + `},"geometry":null}`,
		`{"type":"Topology"}`, `{"rings":[[[0,0],[0,9],[9,9],[0,0]]],"spatialReference":{"wkid":4326}}`,
		`{"spatialReference":{"wkid":4326},"hasM":true,"features":[{"attributes":{"NAME":"x"},"geometry":{"paths":[[[1,2,3],[3,4,9]]]}}]}`,
		"PK\x03\x04", "SQLite format 3\x00", "fgb\x03", "<html>", "version https://git-lfs", "POLYGON ((1 2))",
		featureJSON(polygonJSON(strings.Repeat("[", 140))), collectionJSON(feature, ""), collectionJSON("// x"), collectionJSON("null"),
	}
}
