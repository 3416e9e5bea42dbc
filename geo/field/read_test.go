package field_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"hemrow/geo/format"
)

// sharedData is where the real outlines lie beside the repository. They are
// not ours to commit, all but the sample in testdata, which stands in for
// them where they are absent.
const (
	sharedData = "../../../shared/data/"
	sample     = "testdata/outlines-sample.ndjson"
)

// readFeatures is the least reader that serves the tests: one GeoJSON feature
// a line, or a feature collection.
func readFeatures(t testing.TB, path string) (format.File, bool) {
	t.Helper()
	data, err := os.ReadFile(path)
	if os.IsNotExist(err) {
		return format.File{}, false
	}
	require.NoError(t, err)
	file := format.File{Name: filepath.Base(path), Format: "GeoJSON", Reference: format.Reference{WGS84: true}}
	var raws []json.RawMessage
	if filepath.Ext(path) == ".ndjson" {
		sc := bufio.NewScanner(bytes.NewReader(data))
		sc.Buffer(nil, 1<<24)
		for sc.Scan() {
			raws = append(raws, bytes.Clone(sc.Bytes()))
		}
	} else {
		var fc struct{ Features []json.RawMessage }
		require.NoError(t, json.Unmarshal(data, &fc))
		raws = fc.Features
	}
	for i, raw := range raws {
		file.Features = append(file.Features, readFeature(t, i+1, raw))
	}
	return file, true
}

func readFeature(t testing.TB, number int, raw []byte) format.Feature {
	var f struct {
		Properties map[string]any
		Geometry   struct {
			Type        string
			Coordinates json.RawMessage
		}
	}
	require.NoError(t, json.Unmarshal(raw, &f))
	var parts [][][][]float64
	if f.Geometry.Type == "Polygon" {
		parts = make([][][][]float64, 1)
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &parts[0]))
	} else {
		require.NoError(t, json.Unmarshal(f.Geometry.Coordinates, &parts))
	}
	out := format.Feature{Number: number, ID: fmt.Sprint(f.Properties["id"]), Properties: f.Properties}
	for _, p := range parts {
		var poly format.Polygon
		for _, r := range p {
			var ring format.Ring
			for _, c := range r {
				ring = append(ring, format.Coord{X: c[0], Y: c[1], Z: math.NaN()})
			}
			poly = append(poly, ring)
		}
		out.Polygons = append(out.Polygons, poly)
	}
	return out
}

// one is the file with a single one of its features.
func one(f format.File, i int) format.File {
	f.Features = f.Features[i : i+1]
	return f
}
