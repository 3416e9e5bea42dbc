package markup_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// Lexical forms of xs:decimal and xs:double: XML Schema part 2, second edition
// (2004), sections 3.2.3.1 and 3.2.5.1.
func TestNumber(t *testing.T) {
	for text, want := range map[string]float64{
		"0": 0, "-1.23": -1.23, "12678967.543233": 12678967.543233, "+100000.00": 100000, "210": 210,
		"-1E4": -1e4, "1267.43233E12": 1267.43233e12, "12.78e-2": 0.1278, "12": 12, "-0": 0, ".5": 0.5, "5.": 5,
		" 15.45\n": 15.45, "46.950000000000003": 46.95, "1e+2": 100,
	} {
		v, problem := markup.Number(text, "latitude")
		assert.Empty(t, problem, text)
		assert.InDelta(t, want, v, 0, text)
	}
	for text, want := range map[string]string{
		"": "the latitude is missing", "  ": "the latitude is missing",
		"46,95":   `the latitude "46,95" has a decimal comma; numbers take a point here`,
		"1,234.5": "no plain number", "1,2,3": "no plain number", "NaN": "no plain number", "INF": "no plain number", "-Infinity": "no plain number",
		"0x1F": "no plain number", "1_000": "no plain number", "1e": "no plain number", "e5": "no plain number", ".": "no plain number",
		"-": "no plain number", "--1": "no plain number", "1.2.3": "no plain number", "46°57'": "no plain number", "N46": "no plain number",
		"1e999": `the latitude "1e999" is too large a number`, "1 2": "no plain number", "１": "no plain number", "1e5.5": "no plain number",
	} {
		v, problem := markup.Number(text, "latitude")
		assert.Contains(t, problem, want, text)
		assert.Zero(t, v, text)
	}
}

// Every finite number in every notation of strconv is read as it was.
func TestNumberReadsWhatIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64().Filter(func(v float64) bool { return !math.IsInf(v, 0) && !math.IsNaN(v) }).Draw(t, "v")
		notation := rapid.SampledFrom([]byte("gefGE")).Draw(t, "notation")
		got, problem := markup.Number(strconv.FormatFloat(want, notation, -1, 64), "x")
		require.Empty(t, problem)
		require.InDelta(t, want, got, 0)
	})
}

func TestSettle(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name      string
		in, want  []float64
		wantCount markup.Heights
	}{
		{"none", []float64{nan, nan}, []float64{nan, nan}, markup.Heights{}},
		{"all", []float64{3.5, -0.25}, []float64{3.5, -0.25}, markup.Heights{Known: 2}},
		{"some 0", []float64{0, 2}, []float64{0, 2}, markup.Heights{Known: 2}},
		{"all 0", []float64{0, 0, nan}, []float64{nan, nan, nan}, markup.Heights{Zero: 2}},
		{"mixed", []float64{7, nan}, []float64{7, nan}, markup.Heights{Known: 1, Missing: 1}},
		{"-9999", []float64{7, -9999}, []float64{7, nan}, markup.Heights{Known: 1, Missing: 1}},
		{"-1e38", []float64{-1.7e38, nan}, []float64{nan, nan}, markup.Heights{Missing: 1}},
		{"empty", nil, nil, markup.Heights{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for where := range 3 {
				var path []format.Coord
				for _, z := range c.in {
					path = append(path, format.Coord{Z: z})
				}
				f := [...]format.Feature{{Points: path}, {Lines: [][]format.Coord{path}}, {Polygons: []format.Polygon{{path}}}}[where]
				assert.Equal(t, c.wantCount, markup.Settle(&f))
				for i, want := range c.want {
					assert.Equal(t, fmt.Sprint(want), fmt.Sprint(path[i].Z))
				}
			}
		})
	}
}

func TestTally(t *testing.T) {
	var tally markup.Tally
	assert.Empty(t, tally.Notes("x"))
	tally.Add(markup.ShapeEmpty, 3, 0)
	assert.Empty(t, tally.Notes("x"))
	tally.Add(markup.ShapeEmpty, 3, 1)
	tally.Add(markup.HeightZero, 0, 2)
	notes := tally.Notes("x")
	require.Len(t, notes, 2)
	assert.Equal(t, geo.Note{Code: geo.NoteGeometryLeft, Place: "x: feature 3", Text: "1 empty shape was left out", Value: 1, Unit: "shapes"}, notes[0])
	assert.Equal(t, "x", notes[1].Place)
	for i := range 12 {
		tally.Add(markup.ShapeEmpty, 3+i, 1)
	}
	assert.Equal(t, "x: features 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more", tally.Notes("x")[0].Place)
	assert.Equal(t, "13 empty shapes were left out", tally.Notes("x")[0].Text)
}

func TestArchive(t *testing.T) {
	pack := func(flags uint16, names ...string) []byte {
		var b bytes.Buffer
		w := zip.NewWriter(&b)
		for _, n := range names {
			_, err := w.CreateRaw(&zip.FileHeader{Name: n, Flags: flags})
			require.NoError(t, err)
		}
		require.NoError(t, w.Close())
		return b.Bytes()
	}
	many := make([]string, 4097)
	for i := range many {
		many[i] = fmt.Sprint(i)
	}
	for _, c := range []struct {
		name string
		in   []byte
		want string
	}{
		{"good", pack(0, "a", "b/c", "d..e"), ""},
		{"empty", pack(0), ""},
		{"up", pack(0, "../a"), `"../a" has a path that leaves the archive`},
		{"up inside", pack(0, "a/../../b"), "leaves the archive"},
		{"up with other slashes", pack(0, `a\..\b`), "leaves the archive"},
		{"absolute", pack(0, "/etc/a"), "leaves the archive"},
		{"password", pack(1, "a"), `"a" is locked with a password`},
		{"password on litter", pack(1, "__MACOSX/a", "b/._a", ".DS_Store"), ""},
		{"many", pack(0, many...), "4097 members; 4096 are allowed"},
		{"no zip", []byte("PK\x03\x04 and so on"), "cannot be read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := markup.OpenArchive("x.zip", bytes.NewReader(c.in), int64(len(c.in)))
			if c.want == "" {
				require.NoError(t, err)
				return
			}
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "x.zip", e.File)
			assert.Contains(t, e.Problem, c.want)
		})
	}
	assert.True(t, markup.IsZip([]byte("PK\x03\x04")))
	assert.False(t, markup.IsZip(nil))
}
