package taskdata_test

import (
	"encoding/xml"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup/markuptest"
	"hemrow/geo/format/taskdata"
)

func read(in string) (format.File, error) {
	return taskdata.Read("TASKDATA.XML", strings.NewReader(in))
}

func taskFile(inside ...string) string {
	return `<ISO11783_TaskData VersionMajor="4" VersionMinor="3" DataTransferOrigin="1">` + strings.Join(inside, "\n") + "</ISO11783_TaskData>"
}

func field(id, name string, inside ...string) string {
	return `<PFD A="` + id + `" C="` + name + `" D="0">` + strings.Join(inside, "\n") + "</PFD>"
}

func area(kind int, lines ...string) string {
	return fmt.Sprintf(`<PLN A="%d" B="area">%s</PLN>`, kind, strings.Join(lines, "\n"))
}

// line is an LSG of "lat lon, lat lon".
func line(kind int, list string) string {
	s := fmt.Sprintf(`<LSG A="%d">`, kind)
	for _, p := range strings.Split(list, ", ") {
		lat, lon, _ := strings.Cut(p, " ")
		s += `<PNT A="2" C="` + lat + `" D="` + lon + `"/>`
	}
	return s + "</LSG>"
}

// box is the corners of a square from lat, lon to that much more.
func box(lat, lon, size float64) string { //unit:degrees
	return fmt.Sprintf("%g %g, %g %g, %g %g, %g %g", lat, lon, lat, lon+size, lat+size, lon+size, lat+size, lon)
}

func ExampleRead() {
	in, err := os.Open("testdata/sample.xml")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer in.Close()
	f, err := taskdata.Read("TASKDATA.XML", in)
	fmt.Println(f.Format, err)
	for _, one := range f.Features {
		fmt.Println(one.Number, one.ID, one.Name, one.Properties["kind"], len(one.Polygons), len(one.Lines))
	}
	// Output:
	// ISO 11783-10 task data <nil>
	// 1 PFD1 Sample field field 1 0
	// 2 GPN1 Row 01 guidance 0 1
	// 3 GPN2 Row 02 guidance 0 1
}

// The sample is valid against the XML schema 4.3 (2018) of ISO 11783-10; what is
// expected here is what a person reads in it.
func TestGolden(t *testing.T) {
	in, err := os.ReadFile("testdata/sample.xml")
	require.NoError(t, err)
	f, err := read(string(in))
	require.NoError(t, err)
	assert.Equal(t, format.Reference{WGS84: true, Declared: "WGS84, as every ISO 11783-10 file"}, f.Reference)
	require.Len(t, f.Features, 3)
	one := f.Features[0]
	assert.Equal(t, map[string]any{"kind": "field", "code": "F-01", "customer": "Sample Grower", "farm": "Sample Farm", "area_m2": 11897.0, "area_ha": 1.1897}, one.Properties)
	assert.Equal(t, 5, one.Line)
	require.Len(t, one.Polygons, 1)
	require.Len(t, one.Polygons[0], 2)
	assert.InDelta(t, 15.451261052, one.Polygons[0][0][1].X, 0)
	assert.InDelta(t, 46.950449762, one.Polygons[0][1][0].Y, 0)
	row := f.Features[1]
	assert.Equal(t, map[string]any{"kind": "guidance", "field": "Sample field", "group": "Rows", "pattern": "AB", "spacing_m": 3.0}, row.Properties)
	assert.Equal(t, []format.Coord{{X: 15.450078816, Y: 46.950053971, Z: 412.35}, {X: 15.450047289, Y: 46.951043448, Z: 413.12}}, row.Lines[0])
	assert.Equal(t, "curve", f.Features[2].Properties["pattern"])
	assert.Len(t, f.Features[2].Lines[0], 5)
	assert.Contains(t, markuptest.NoteOf(t, f, geo.NoteHeightDatum).Text, "ellipsoid")
	assert.Len(t, f.Notes, 1)
}

// Lengths of the sample's guidance lines as it states them (LSG attribute D, mm)
// and its area (PFD attribute D, m2), which GeographicLib's GeodSolve and
// Planimeter gave as 110.0262 m, 110.233 m and 11960.9 less 64.0 m2.
func TestSampleMeasuresWhatItStates(t *testing.T) {
	in, err := os.Open("testdata/sample.xml")
	require.NoError(t, err)
	defer in.Close()
	f, err := taskdata.Read("TASKDATA.XML", in)
	require.NoError(t, err)
	frame, ok := geo.NewFrame(geo.LonLat{LonDeg: 15.45, LatDeg: 46.95})
	require.True(t, ok)
	for i, wantM := range []float64{110.0262, 110.233} {
		var sumM float64
		l := f.Features[1+i].Lines[0]
		for k := 1; k < len(l); k++ {
			sumM += frame.PlanM(frame.ToLocal(geo.LonLat{LonDeg: l[k-1].X, LatDeg: l[k-1].Y}), frame.ToLocal(geo.LonLat{LonDeg: l[k].X, LatDeg: l[k].Y}))
		}
		assert.InDelta(t, wantM, sumM, 0.0005)
	}
	area := func(ring format.Ring) float64 {
		var r orb.Ring
		for _, c := range ring {
			r = append(r, frame.ToLocal(geo.LonLat{LonDeg: c.X, LatDeg: c.Y}))
		}
		return frame.AreaM2(orb.Polygon{r})
	}
	assert.InDelta(t, 11960.9, area(f.Features[0].Polygons[0][0]), 0.05)
	assert.InDelta(t, 64.0, area(f.Features[0].Polygons[0][1]), 0.05)
}

// Whatever is written is read, to the last bit; the writer is encoding/xml.
func TestReadsWhatIsWritten(t *testing.T) {
	type PNT struct {
		A string `xml:",attr"`
		C string `xml:",attr"`
		D string `xml:",attr"`
		E string `xml:",attr,omitempty"`
	}
	type LSG struct {
		A   int `xml:",attr"`
		PNT []PNT
	}
	type PLN struct {
		A   int `xml:",attr"`
		LSG []LSG
	}
	type PFD struct {
		A   string `xml:",attr"`
		C   string `xml:",attr"`
		PLN []PLN
	}
	type set struct {
		XMLName xml.Name `xml:"ISO11783_TaskData"`
		PFD     []PFD
	}
	plain := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	rapid.Check(t, func(t *rapid.T) {
		var in set
		var want []string
		for k := range rapid.IntRange(1, 3).Draw(t, "fields") {
			var p format.Polygon
			pln := PLN{A: 1}
			for i := range rapid.IntRange(1, 3).Draw(t, "rings") {
				lsg := LSG{A: min(2, 1+i)}
				var ring format.Ring
				for range rapid.IntRange(1, 5).Draw(t, "n") {
					mm := rapid.IntRange(1, 9e6).Draw(t, "mm")
					c := format.Coord{X: rapid.Float64Range(-180, 180).Draw(t, "x"), Y: rapid.Float64Range(-90, 90).Draw(t, "y"), Z: float64(mm) / 1000}
					ring = append(ring, c)
					lsg.PNT = append(lsg.PNT, PNT{"2", plain(c.Y), plain(c.X), fmt.Sprint(mm)})
				}
				p, pln.LSG = append(p, ring), append(pln.LSG, lsg)
			}
			in.PFD = append(in.PFD, PFD{fmt.Sprintf("PFD-%d", k+1), rapid.StringMatching(`[a-zäž&<"]{1,9}`).Draw(t, "name"), []PLN{pln}})
			want = append(want, in.PFD[k].C+markuptest.Shapes(format.Feature{Polygons: []format.Polygon{p}}))
		}
		text, err := xml.MarshalIndent(in, "", " ")
		require.NoError(t, err)
		f, err := read(string(text))
		require.NoError(t, err)
		var got []string
		for _, one := range f.Features {
			got = append(got, one.Name+markuptest.Shapes(one))
		}
		require.Equal(t, want, got)
	})
}
