package gpx_test

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/gpx"
	"hemrow/geo/format/markup/markuptest"
)

func read(in string) (format.File, error) { return gpx.Read("north.gpx", strings.NewReader(in)) }

func file(inside ...string) string {
	return `<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">` + strings.Join(inside, "\n") + "</gpx>"
}

func point(kind, lat, lon, inside string) string {
	return "<" + kind + ` lat="` + lat + `" lon="` + lon + `">` + inside + "</" + kind + ">"
}

func track(name string, segments ...string) string {
	s := "<trk>"
	if name != "" {
		s += "<name>" + name + "</name>"
	}
	for _, seg := range segments {
		s += "<trkseg>" + seg + "</trkseg>"
	}
	return s + "</trk>"
}

var (
	here  = point("trkpt", "46.95", "15.45", "")
	there = point("trkpt", "46.96", "15.46", "")
	zero  = point("trkpt", "0.0", "-0", "")
)

func ExampleRead() {
	in := `<gpx version="1.1"><trk><name>North</name><trkseg>
	<trkpt lat="46.95" lon="15.45"><ele>411.5</ele></trkpt>
	<trkpt lat="46.96" lon="15.46"><ele>412</ele></trkpt></trkseg></trk></gpx>`
	f, err := gpx.Read("north.gpx", strings.NewReader(in))
	fmt.Println(f.Format, err)
	for _, one := range f.Features {
		fmt.Println(one.Number, one.Name, one.Properties["kind"], one.Lines)
	}
	// Output:
	// GPX <nil>
	// 1 North track [[{15.45 46.95 411.5} {15.46 46.96 412}]]
}

// What the file in testdata says, as a person reads it.
func TestGolden(t *testing.T) {
	in, err := os.ReadFile("testdata/walk.gpx")
	require.NoError(t, err)
	f, err := read(string(in))
	require.NoError(t, err)
	assert.Equal(t, format.Reference{WGS84: true, Declared: "WGS84, as every GPX file"}, f.Reference)
	require.Len(t, f.Features, 4)
	var names []string
	for i, one := range f.Features {
		names = append(names, one.Name)
		assert.Equal(t, i+1, one.Number)
	}
	assert.Equal(t, []string{"waypoints", "Round by the gate", "North", "track 2"}, names)
	assert.Equal(t, map[string]any{"kind": "waypoints", "names": []any{"Gate", "Pole 7"}}, f.Features[0].Properties)
	assert.Equal(t, map[string]any{"kind": "route", "number": 1}, f.Features[1].Properties)
	assert.Equal(t, map[string]any{"kind": "track", "number": 1, "type": "survey"}, f.Features[2].Properties)
	assert.Equal(t, []int{4, 6, 7, 11}, []int{f.Features[0].Line, f.Features[1].Line, f.Features[2].Line, f.Features[3].Line})
	assert.Len(t, f.Features[2].Lines, 2)
	assert.Equal(t, format.Coord{X: -15.451, Y: 46.951, Z: 411.25}, f.Features[2].Lines[0][1])
	n := markuptest.NoteOf(t, f, geo.NoteHeightDatum)
	assert.InDelta(t, 6, n.Value, 0)
	assert.Equal(t, "north.gpx: features 1, 3", n.Place)
	assert.Len(t, f.Notes, 1)
}

// GDAL (gdal-bin of Debian) reads the same shapes.
func TestEqualsGDAL(t *testing.T) {
	for _, name := range []string{"testdata/walk.gpx", "testdata/row.gpx"} {
		in, err := os.ReadFile(name)
		require.NoError(t, err)
		f, err := read(string(in))
		require.NoError(t, err)
		byKind := map[any][]format.Feature{}
		for _, one := range f.Features {
			kind := one.Properties["kind"]
			if kind != "waypoints" {
				byKind[kind] = append(byKind[kind], one)
				continue
			}
			for _, p := range one.Points { // GDAL has a feature for each
				byKind[kind] = append(byKind[kind], format.Feature{Points: []format.Coord{p}})
			}
		}
		for kind, layer := range map[string]string{"track": "tracks", "route": "routes", "waypoints": "waypoints"} {
			if len(byKind[kind]) > 0 {
				markuptest.Same(t, byKind[kind], markuptest.GDAL(t, name, layer))
			}
		}
	}
}

// Whatever is written is read, to the last bit.
func TestReadsWhatIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want [][]format.Coord
		var segments []string
		for range rapid.IntRange(1, 4).Draw(t, "segments") {
			var line []format.Coord
			text := ""
			for range rapid.IntRange(1, 6).Draw(t, "n") {
				c := format.Coord{
					X: rapid.Float64Range(1e-9, 180).Draw(t, "x"), Y: rapid.Float64Range(-90, 90).Draw(t, "y"),
					Z: rapid.Float64Range(1, 9000).Draw(t, "z"),
				}
				line = append(line, c)
				plain := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
				text += point("trkpt", plain(c.Y), plain(c.X), "<ele>"+plain(c.Z)+"</ele>")
			}
			want, segments = append(want, line), append(segments, text)
		}
		f, err := read(file(track("North", segments...)))
		require.NoError(t, err)
		require.Equal(t, want, f.Features[0].Lines)
	})
}

// What loggers write that the schema does not foresee, and what the package
// does about each (common practice, no source).
func TestTraps(t *testing.T) {
	for _, c := range []struct {
		name, in string
		lines    int
		vertices int
		code     geo.Code
		count    float64
	}{
		{"version 1.0", `<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0">` + track("a", here+there) + "</gpx>", 1, 2, "", 0},
		{"no namespace", "<gpx>" + track("a", here+there) + "</gpx>", 1, 2, "", 0},
		{"segments", file(track("a", here+there, there+here)), 2, 4, "", 0},
		{"empty segment", file(track("a", "", here+there)), 1, 2, geo.NoteGeometryLeft, 1},
		{"no fix at the start", file(track("a", zero+zero+here+there)), 1, 2, geo.NoteNoFix, 2},
		{"no fix at the start of a segment", file(track("a", here+there, zero+there)), 2, 3, geo.NoteNoFix, 1},
		{"on the equator", file(track("a", point("trkpt", "0", "15", "")+here)), 1, 2, "", 0},
		{"empty height", file(track("a", point("trkpt", "1", "2", "<ele/>")+here)), 1, 2, "", 0},
		{"height that is none", file(track("a", point("trkpt", "1", "2", "<ele>NaN</ele>")+point("trkpt", "1", "3", "<ele>-9999</ele>"))), 1, 2, geo.NoteHeightMissing, 1},
		{"zero heights", file(track("a", point("trkpt", "1", "2", "<ele>0</ele>")+point("trkpt", "1", "3", "<ele>0.0</ele>"))), 1, 2, geo.NoteHeightMissing, 2},
		{"extensions", file("<extensions><trk/></extensions>", track("a", point("trkpt", "1", "2", "<extensions><x:ele xmlns:x='u'>x</x:ele></extensions>"))), 1, 1, "", 0},
		{"wrong time", file(track("a", point("trkpt", "1", "2", "<time>yesterday</time>")+here)), 1, 2, "", 0},
		{
			"times in order", file(track("a", point("trkpt", "1", "2", "<time>2026-01-15T12:00:00.2Z</time>")+
				point("trkpt", "1", "3", "<time>2026-01-15T12:00:00.2Z</time>")+point("trkpt", "1", "3", "<time>2026-01-15T13:00:01+01:00</time>"))), 1, 3, "", 0,
		},
		{
			"times out of order", file(track("a", point("trkpt", "1", "2", "<time>2026-01-15T12:00:01</time>"),
				point("trkpt", "1", "3", "<time>2026-01-15T12:00:00</time>")+point("trkpt", "1", "3", "<time>2026-01-15T12:00:00</time>"))), 2, 3, geo.NoteTimeOrder, 1,
		},
		{"an empty track beside it", file(track("b"), track("a", here+there)), 1, 2, geo.NoteFeatureLeft, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(c.in)
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			require.Len(t, f.Features[0].Lines, c.lines)
			vertices := 0
			for _, l := range f.Features[0].Lines {
				vertices += len(l)
			}
			assert.Equal(t, c.vertices, vertices)
			if c.code == "" {
				assert.Empty(t, f.Notes)
				return
			}
			assert.InDelta(t, c.count, markuptest.NoteOf(t, f, c.code).Value, 0)
		})
	}
}

func TestNames(t *testing.T) {
	f, err := read(file("<rte>"+point("rtept", "1", "2", "")+"</rte>", track(" ", here), point("wpt", "5", "6", ""), track(" North\n bank ", here), point("wpt", "7", "8", "<name>Gate</name>")))
	require.NoError(t, err)
	var names []string
	for _, one := range f.Features {
		names = append(names, one.Name)
	}
	assert.Equal(t, []string{"route 1", "track 1", "waypoints", "North bank"}, names)
	assert.Equal(t, []any{"", "Gate"}, f.Features[2].Properties["names"])
	assert.Len(t, f.Features[2].Points, 2)
	assert.True(t, math.IsNaN(f.Features[2].Points[1].Z))
}

func TestRefusals(t *testing.T) {
	second := func(p string) string {
		return file(track("x", here), "\n"+track("North", here, here+there+"\n"+p))
	}
	where := `north.gpx:4: feature 2 "North", part 2, vertex 3: `
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"no longitude", second(`<trkpt lat="1"/>`), where + "the position has no longitude"},
		{"no latitude", second(`<trkpt lon="1"/>`), where + "the position has no latitude"},
		{"empty", second(point("trkpt", "", "1", "")), where + "the latitude is missing"},
		{"decimal comma", second(point("trkpt", "46,95", "1", "")), where + `the latitude "46,95" has a decimal comma`},
		{"not finite", second(point("trkpt", "NaN", "1", "")), where + `the latitude is the text "NaN"`},
		{"degrees", second(point("trkpt", "1", "15°27'", "")), where + "the longitude is the text"},
		{"height", second(point("trkpt", "1", "2", "<ele>412 m</ele>")), where + `the height is the text "412 m"`},
		{"0, 0 in the middle", second(zero), where + "the position is 0, 0"},
		{"waypoint at 0, 0", file(point("wpt", "1", "2", ""), point("wpt", "0", "0", "")), `north.gpx:2: feature 1 "waypoints", vertex 2: the position is 0, 0`},
		{"nothing", file(), "no track, route or waypoint"},
		{"no fix at all", file(track("a", zero+zero)), "the file has 1 track and 0 routes, and none has a position with a fix"},
		{"other XML", "<kml/>", "this is a KML file, not a GPX file"},
		{"HTML", "<!DOCTYPE html><html/>", "HTML page"},
		{"zip", "PK\x03\x04", "zip archive"},
		{"entities", `<!DOCTYPE gpx [<!ENTITY a "1">]><gpx/>`, "document type"},
		{"power lost", file(track("a", here+there))[:120], "the file ends inside"},
		{"deep", "<gpx>" + strings.Repeat("<extensions>", 100), "nested more than 64 deep"},
	})
	_, err := gpx.Read("north.gpx", &markuptest.Failing{Text: file(track("a", here))[:80]})
	require.ErrorIs(t, err, markuptest.ErrDisk)
}

// FuzzRead: nothing panics, every refusal says what is wrong, and what is read
// is sound.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"walk.gpx", "row.gpx"} {
		in, err := os.ReadFile("testdata/" + name)
		require.NoError(f, err)
		f.Add(in[:min(len(in), 2000)])
		f.Add(in)
	}
	for _, in := range []string{
		"", file(), file(track("a", zero+here, "")), file(point("wpt", "1", "2", "<ele>-9999</ele>"), track("", here), point("wpt", "1", "2", "")),
		file("<rte>" + point("rtept", "1e1", ".5", "<time>2026-01-15T12:00:00Z</time>") + "</rte>"),
	} {
		f.Add([]byte(in))
	}
	f.Fuzz(func(t *testing.T, in []byte) { markuptest.Sound(t, read, string(in)) })
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{100, 10000} {
		var seg strings.Builder
		for i := range n {
			seg.WriteString(point("trkpt", fmt.Sprintf("%.9f", 46.95+1e-6*float64(i)), "15.450000001", fmt.Sprintf("<ele>411.5</ele><time>2026-01-15T%02d:%02d:%02dZ</time>", i/3600, i/60%60, i%60)) + "\n")
		}
		in := file(track("a", seg.String()))
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(in)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := gpx.Read("bench.gpx", strings.NewReader(in)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
