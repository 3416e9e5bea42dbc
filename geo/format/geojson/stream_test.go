package geojson_test

import (
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strings"
	"sync"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/geojson"
)

// outcome is what one feature of a stream gave.
type outcome struct {
	number, line int
	name, err    string
	vertices     int
}

func drain(t require.TestingT, s *geojson.Stream) (out []outcome, end error) {
	for {
		raw, err := s.Next()
		if err != nil {
			_, again := s.Next()
			require.Equal(t, err, again, "the end stays the end")
			return out, err
		}
		f, _, err := s.Decode(raw)
		o := outcome{number: raw.Number, line: raw.Line, name: f.Name}
		require.Equal(t, raw.Number, f.Number)
		if err != nil {
			o.err = err.Error()
		}
		for _, p := range f.Polygons {
			for _, r := range p {
				o.vertices += len(r)
			}
		}
		out = append(out, o)
	}
}

func TestStreamGoesOnAfterABrokenRecord(t *testing.T) {
	good := func(name string) string {
		return strings.Replace(featureJSON(polygonJSON(square)), "North", name, 1)
	}
	for name, bad := range map[string]string{
		"cut short":         good("x")[:70],
		"cut in the type":   `{"type":"Fea`,
		"no JSON":           `hello`,
		"comma too many":    `{"type":"Feature","properties":{},"geometry":null,}`,
		"brackets cross":    `{"type":"Feature","properties":[},"geometry":null}`,
		"comment":           `{"kind":1, // "type":"Feature"}`,
		"NaN":               featureJSON(polygonJSON(`[[[1,NaN],[2,3],[4,5],[1,2]]]`)),
		"two in one":        good("x") + good("y"),
		"other system":      `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"EPSG:32633"}},"features":[]}`,
		"broken collection": `{"type":"FeatureCollection"}`,
	} {
		t.Run(name, func(t *testing.T) {
			for way, in := range map[string]string{
				"lines":    good("a") + "\n" + bad + "\n\n" + good("b") + "\n" + good("c"),
				"sequence": "\x1E" + good("a") + "\n\x1E" + bad + "\n\n\x1E" + good("b") + "\n\x1E" + good("c"),
			} {
				out, end := drain(t, geojson.NewStream("x", strings.NewReader(in)))
				require.ErrorIs(t, end, io.EOF, way)
				require.Len(t, out, 4, way)
				assert.Equal(t, outcome{1, 1, "a", "", 5}, out[0])
				assert.Contains(t, out[1].err, "x:2: feature 2", way)
				assert.Equal(t, outcome{3, 4, "b", "", 5}, out[2])
				assert.Equal(t, outcome{4, 5, "c", "", 5}, out[3])
			}
		})
	}
	t.Run("first line cut short", func(t *testing.T) {
		out, end := drain(t, geojson.NewStream("x", strings.NewReader(good("x")[:70]+"\n"+good("b"))))
		require.ErrorIs(t, end, io.EOF)
		require.Len(t, out, 2)
		assert.Contains(t, out[0].err, "ends inside the feature")
		assert.Equal(t, outcome{2, 2, "b", "", 5}, out[1])
	})
	t.Run("collection broken half way", func(t *testing.T) {
		in := good("a") + "\n" + `{"type":"FeatureCollection","features":[` + good("b") + `,7]}` + "\n" + good("c")
		out, end := drain(t, geojson.NewStream("x", strings.NewReader(in)))
		require.ErrorIs(t, end, io.EOF)
		require.Len(t, out, 4)
		assert.Empty(t, out[1].err)
		assert.Contains(t, out[2].err, "feature 3")
		assert.Equal(t, outcome{4, 3, "c", "", 5}, out[3])
	})
}

func TestStreamOfACollection(t *testing.T) {
	bad := featureJSON(polygonJSON(`[[[1,2],[3]]]`))
	good := featureJSON(polygonJSON(square))
	out, end := drain(t, geojson.NewStream("x", strings.NewReader(collectionJSON(good, bad, good))))
	require.ErrorIs(t, end, io.EOF)
	require.Len(t, out, 3)
	assert.Contains(t, out[1].err, "vertex 2")
	assert.Empty(t, out[2].err, "a fault inside one feature does not reach the next")

	out, end = drain(t, geojson.NewStream("x", strings.NewReader(collectionJSON(good, `{"a":]`, good))))
	var e *geo.InputError
	require.ErrorAs(t, end, &e)
	assert.Len(t, out, 1)
	assert.Contains(t, e.Error(), "] stands where } must close")
}

// The pieces in which the input arrives change nothing.
func TestStreamInAnyPieces(t *testing.T) {
	good := featureJSON(polygonJSON(square))
	inputs := []string{
		collectionJSON(good, "\n"+good, good), good + "\n" + good + "\n\nx\n" + good, "\x1E" + good + "\n\x1E" + good,
		"\uFEFF" + good, good[:50], "\xFF\xFE{\x00", collectionJSON(good, "7"), `{"type":"FeatureCollection","crs":null,"features":[` + good + "],\n\"x\":[1,\"a]\\\"\"]}",
	}
	for _, in := range inputs {
		want, wantEnd := drain(t, geojson.NewStream("x", strings.NewReader(in)))
		for name, r := range map[string]io.Reader{
			"bytes": iotest.OneByteReader(strings.NewReader(in)),
			"half":  iotest.HalfReader(strings.NewReader(in)),
			"early": iotest.DataErrReader(strings.NewReader(in)),
		} {
			got, end := drain(t, geojson.NewStream("x", r))
			assert.Equal(t, want, got, "%s %q", name, in)
			assert.Equal(t, wantEnd, end, "%s %q", name, in)
		}
	}
}

// One feature set, written in every way there is, is read the same.
func TestStreamReadsEveryWayTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 150).Draw(t, "features")
		step := rapid.IntRange(1, 97).Draw(t, "step")
		var lines, sequence []byte
		var features []geojson.OutFeature
		for i := range n {
			f := feature26(i * step)
			features = append(features, f)
			lines = append(geojson.AppendFeature(lines, f), '\n')
			sequence = append(geojson.AppendFeature(append(sequence, 0x1E), f), '\n')
		}
		var collection bytes.Buffer
		require.NoError(t, geojson.Write(&collection, features))
		want, err := geojson.Read("x", bytes.NewReader(lines))
		require.NoError(t, err)
		require.Len(t, want.Features, n)
		for _, in := range [][]byte{sequence, collection.Bytes()} {
			got, err := geojson.Read("x", bytes.NewReader(in))
			require.NoError(t, err)
			require.Len(t, got.Features, n)
			for i := range got.Features {
				got.Features[i].Line = want.Features[i].Line
			}
			assert.Equal(t, plain(want.Features), plain(got.Features))
		}
	})
}

// plain prints features so that NaN equals NaN.
func plain(fs []format.Feature) string { return fmt.Sprintf("%v", fs) }

func TestDecodeFromSeveralGoroutines(t *testing.T) {
	const n, workers = 3000, 4
	var in []byte
	for i := range n {
		in = append(geojson.AppendFeature(in, feature26(i)), '\n')
	}
	s := geojson.NewStream("x", bytes.NewReader(in))
	raws := make(chan geojson.Raw, 64)
	names := make([]string, n)
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for raw := range raws {
				f, _, err := s.Decode(raw)
				if err == nil && s.Reference().WGS84 && len(s.Notes()) == 0 {
					names[raw.Number-1] = f.Properties["id"].(string)
				}
			}
		})
	}
	for {
		raw, err := s.Next()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		raws <- raw
	}
	close(raws)
	wg.Wait()
	for i, name := range names {
		require.Equal(t, fmt.Sprintf("kr-%04d", i), name)
	}
}

// endless writes n features without holding them.
type endless struct {
	n, at      int
	collection bool
	rest       []byte
	b          []byte
}

func (e *endless) Read(p []byte) (int, error) {
	for len(e.rest) == 0 {
		if e.at == e.n {
			return 0, io.EOF
		}
		e.b = e.b[:0]
		switch {
		case e.collection && e.at == 0:
			e.b = append(e.b, `{"type":"FeatureCollection","features":[`...)
		case e.collection:
			e.b = append(e.b, ',')
		}
		e.b = geojson.AppendFeature(e.b, feature26(e.at))
		if e.at++; e.collection && e.at == e.n {
			e.b = append(e.b, "]}"...)
		}
		e.b = append(e.b, '\n')
		e.rest = e.b
	}
	n := copy(p, e.rest)
	e.rest = e.rest[n:]
	return n, nil
}

// Memory in use does not grow with the input: 18 MB pass through a few blocks.
func TestStreamMemoryIsConstant(t *testing.T) {
	const n, most = 20_000, 8 << 20
	for _, collection := range []bool{false, true} {
		s := geojson.NewStream("x", &endless{n: n, collection: collection})
		runtime.GC()
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		last := 0
		for {
			raw, err := s.Next()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			if last = raw.Number; last%5_000 == 0 {
				runtime.GC()
				runtime.ReadMemStats(&after)
				assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(most))
			}
		}
		assert.Equal(t, n, last)
	}
}

// A long feature must not cost the square of its length: what is allocated
// stays within a few times the input.
func TestLongFeatureIsNotQuadratic(t *testing.T) {
	const vertices = 2_000_000
	in := []byte(featureJSON(polygonJSON(`[[` + strings.Repeat(`[1,2],`, vertices-1) + `[1,2]]]`)))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f, err := geojson.Read("x", iotest.HalfReader(bytes.NewReader(in)))
	require.NoError(t, err)
	runtime.ReadMemStats(&after)
	assert.Len(t, f.Features[0].Polygons[0][0], vertices)
	blocks, coords := uint64(6*len(in)), uint64(3*8*vertices)
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, blocks+coords)
}

func TestNames(t *testing.T) {
	for _, c := range []struct{ name, members, want string }{
		{"name", `"properties":{"id":"7","name":"North"}`, "North"},
		{"capitals", `"properties":{"NAME":"North"}`, "North"},
		{"label", `"properties":{"crop":"plum","Label":" North "}`, "North"},
		{"name is empty", `"properties":{"name":"","title":"North"}`, "North"},
		{"number", `"properties":{"Field":12}`, "12"},
		{"id among the properties", `"id":"a","properties":{"id":"b"}`, "b"},
		{"id of the feature", `"id":"a","properties":{"crop":"plum"}`, "a"},
		{"number as id", `"id":12345678901234567`, "12345678901234567"},
		{"no text", `"properties":{"name":true,"field":null,"label":{"en":"x"}}`, ""},
		{"escapes", `"properties":{"n\u0061me":"N\u00f8rth \"1\" \ud83c\udf33"}`, `Nørth "1" 🌳`},
		{"properties null", `"id":null,"properties":null`, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(`{"type":"Feature",` + c.members + `,"geometry":` + polygonJSON(square) + `}`)
			require.NoError(t, err)
			assert.Equal(t, c.want, f.Features[0].Name)
		})
	}
}

func TestProperties(t *testing.T) {
	f, err := read(`{"type":"Feature","properties":{"a":12345678901234567,"b":1e999,"c":[1,{"d":null}],"e":true,"f":false,"g":{},"h":[],"a":2},"geometry":` + polygonJSON(square) + `}`)
	require.NoError(t, err)
	p := f.Features[0].Properties
	assert.Equal(t, "2", fmt.Sprint(p["a"]), "of two the later one counts")
	assert.Equal(t, "1e999", fmt.Sprint(p["b"]), "a number that is no coordinate stays text")
	assert.Equal(t, "[1 map[d:<nil>]]", fmt.Sprint(p["c"]))
	assert.Equal(t, true, p["e"])
	assert.Equal(t, false, p["f"])
	assert.Equal(t, map[string]any{}, p["g"])
	assert.Equal(t, []any{}, p["h"])
}
