package report

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/cmd/hemrow/internal/result"
)

var update = flag.Bool("update", false, "write golden files")

// outputs are all files made from a document.
func outputs(d result.Document) map[string][]byte {
	return map[string][]byte{
		"summary.txt": Summary(d, d.Units), "map.svg": MapSVG(d), "rows.geojson": RowsGeoJSON(d),
		"rows.csv": RowsCSV(d), "take-off.csv": TakeoffCSV(d),
	}
}

func TestGolden(t *testing.T) {
	for name, d := range map[string]result.Document{
		"metric": smallDocument(t, "metric"), "us": smallDocument(t, "us"), "bent": bentDocument(t, "metric"),
	} {
		files := outputs(d)
		doc, err := result.Encode(d)
		require.NoError(t, err)
		files["hemrow.json"] = doc
		for file, got := range files {
			path := filepath.Join("testdata", name, file)
			if *update {
				require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
				require.NoError(t, os.WriteFile(path, got, 0o644))
			}
			want, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, string(want), string(got), path)
		}
	}
}

// Outputs depend on the document alone: one that was written and read back
// gives the same bytes.
func TestOutputsComeFromTheDocumentAlone(t *testing.T) {
	for _, s := range scenes(t) {
		d := s.document(t)
		b, err := result.Encode(d)
		require.NoError(t, err)
		again, err := result.Decode(b)
		require.NoError(t, err)
		want := outputs(d)
		for name, got := range outputs(again) {
			assert.Equal(t, string(want[name]), string(got), "%s of %s", name, s.name)
		}
	}
}

// A document of nothing still makes every output.
func TestOutputsOfNothing(t *testing.T) {
	for name, got := range outputs(result.Document{}) {
		assert.NotEmpty(t, got, name)
	}
}

func ExampleSummary() {
	data, err := os.ReadFile(filepath.Join("testdata", "metric", "hemrow.json"))
	if err != nil {
		panic(err)
	}
	doc, err := result.Decode(data)
	if err != nil {
		panic(err)
	}
	text, _, _ := strings.Cut(string(Summary(doc, "metric")), "\n\n")
	fmt.Println(text)
	// Output:
	// Kestrel Corner
	// ==============
	// Field       0.60 ha in 1 block, 320.0 m round; 0.48 ha of working area
	// Obstacles   Heron Pond, Pole
	// Rows        3 rows (R001 to R003) in 4 pieces of 31.0 m to 80.0 m; rows are 20 m apart
	// Direction   0.00 deg from true north, from S (end A) to N (end B)
	// Length      222.0 m in plan, 222.0 m at the height of the ground (215 m), as if it were level
	// Left out    1 piece too short to lay, 4.2 m in all
	// Turns       2 plain turns, 0 bulb turns, 66.8 m of way in all; 1 gap within rows, 18.0 m
}

func BenchmarkReport(b *testing.B) {
	bench := func(name string, d result.Document) {
		for _, c := range []struct {
			name string
			make func(result.Document) []byte
		}{{"map", MapSVG}, {"geojson", RowsGeoJSON}, {"csv", RowsCSV}} {
			b.Run(fmt.Sprintf("%s/%s/rows=%d", c.name, name, len(d.Rows)), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					c.make(d)
				}
			})
		}
	}
	for _, s := range scenes(b) {
		if s.name != "ell" && s.name != "large" {
			continue
		}
		bench(s.name, s.document(b))
	}
	for name, d := range hills(b) {
		bench(name, d)
	}
}
