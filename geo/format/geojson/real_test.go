package geojson_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/geojson"
)

// realFiles are the committed outlines and, when a folder of shared data lies
// beside the repository, all outlines there.
func realFiles(t *testing.T) []string {
	t.Helper()
	var out []string
	for _, pattern := range []string{
		"testdata/*.ndjson", "../../../../shared/data/*.ndjson", "../../../../shared/data/*.geojson", "../../../../shared/data/pairs/*.geojson",
	} {
		found, err := filepath.Glob(pattern)
		require.NoError(t, err)
		out = append(out, found...)
	}
	require.NotEmpty(t, out)
	return out
}

// reference is one feature read by encoding/json, the outside value.
type reference struct {
	Properties struct {
		ID string `json:"id"`
	} `json:"properties"`
	Geometry struct {
		Type        string          `json:"type"`
		Coordinates json.RawMessage `json:"coordinates"`
	} `json:"geometry"`
}

func references(t *testing.T, data []byte) (out []reference) {
	t.Helper()
	var whole struct {
		Features []reference `json:"features"`
	}
	if json.Unmarshal(data, &whole) == nil && len(whole.Features) > 0 {
		return whole.Features
	}
	for _, line := range bytes.Split(bytes.TrimSpace(data), []byte("\n")) {
		var r reference
		require.NoError(t, json.Unmarshal(line, &r))
		out = append(out, r)
	}
	return out
}

func polygonsOf(t *testing.T, r reference) (out [][][][]float64) {
	t.Helper()
	if r.Geometry.Type == "MultiPolygon" {
		require.NoError(t, json.Unmarshal(r.Geometry.Coordinates, &out))
		return out
	}
	require.Equal(t, "Polygon", r.Geometry.Type)
	out = make([][][][]float64, 1)
	require.NoError(t, json.Unmarshal(r.Geometry.Coordinates, &out[0]))
	return out
}

// Every coordinate of every real outline is what encoding/json reads, and
// written and read again it is the same.
func TestRealOutlines(t *testing.T) {
	for _, name := range realFiles(t) {
		t.Run(filepath.Base(name), func(t *testing.T) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			f, err := geojson.Read(name, bytes.NewReader(data))
			require.NoError(t, err)
			for _, n := range f.Notes {
				assert.Equal(t, geo.NoteHeightMissing, n.Code, "%v", n)
			}
			want := references(t, data)
			require.Len(t, f.Features, len(want))
			for i, got := range f.Features {
				if want[i].Properties.ID != "" {
					require.Equal(t, want[i].Properties.ID, got.Properties["id"])
				}
				polygons := polygonsOf(t, want[i])
				require.Len(t, got.Polygons, len(polygons))
				for p, rings := range polygons {
					require.Len(t, got.Polygons[p], len(rings))
					for k, ring := range rings {
						require.Len(t, got.Polygons[p][k], len(ring))
						for v, c := range ring {
							if got.Polygons[p][k][v].X != c[0] || got.Polygons[p][k][v].Y != c[1] {
								t.Fatalf("feature %d part %d ring %d vertex %d: %v, want %v", i+1, p+1, k, v+1, got.Polygons[p][k][v], c)
							}
						}
					}
				}
			}
			assert.Equal(t, len(f.Features), roundTrip(t, f), "all real outlines are compared")
		})
	}
}
