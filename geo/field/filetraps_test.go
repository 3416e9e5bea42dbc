package field_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format/delivery"
	"hemrow/geo/polygon"
)

// fileTrap is a trap that shows only on the way from bytes to a field.
type fileTrap struct {
	name    string
	files   []string // name and content in turn; the first is the one that is read
	spec    field.Spec
	opt     delivery.Options
	problem string // part of the error, "" for none
	hint    string
	code    geo.Code // a note, "" for none
	holes   int
	blocks  int // 0 means 1
}

func TestFileTraps(t *testing.T) {
	p, utm := riseDegrees, riseUTM
	shp := func(b []byte) []string { return []string{"a.shp", string(b), "a.prj", prjUTM} }
	gj := func(old, by string) []string { return []string{"a.json", replaced(t, p.asJSON(""), old, by)} }
	kml := func(old, by string) []string { return []string{"a.kml", replaced(t, p.asKML(), old, by)} }
	csv := func(text string) []string { return []string{"a.csv", text} }
	corners := p.asList("lon,lat\n", func(_ int, c [3]float64) string { return num(c[0]) + "," + num(c[1]) })
	first := num(p[0][0]) + "," + num(p[0][1])
	patch := utm.asShape(true)
	binary.LittleEndian.PutUint32(patch[32:], 31)
	binary.LittleEndian.PutUint32(patch[108:], 31)
	endless := utm.asShape(false)
	binary.LittleEndian.PutUint64(endless[108+52+16:], 0x7FF0000000000000)
	for _, c := range []fileTrap{
		{name: "21 crs member of null", files: gj(`"features"`, `"crs":null,"features"`), holes: 1, code: geo.NoteOldCRSMember},
		{name: "21 crs member that links", files: gj(`"features"`, `"crs":{"type":"link","properties":{"href":"http://x/1"}},"features"`), problem: "link", hint: "convert"},
		{name: "30 heights kept, MultiPatch refused", files: shp(patch), problem: "MultiPatch"},
		{name: "30 heights and measures", files: []string{"a.wkt", measured(p)}, holes: 1, code: geo.NoteMeasureLeft},
		{name: "31 null geometry beside the outline", files: gj(`"features":[`, `"features":[{"type":"Feature","properties":{},"geometry":null},`), holes: 1, code: geo.NoteFeatureLeft},
		{name: "33 collection of an area and a point", files: []string{"a.json", collected(p)}, holes: 1, code: geo.NoteGeometryLeft},
		{name: "34 numbers as text", files: gj("-2.714916628,52.0361847", `"-2.714916628","52.0361847"`), holes: 1, code: geo.NoteTextNumber},
		{name: "34 decimal comma as text", files: gj("-2.714916628,52.0361847", `"-2,714916628","52,0361847"`), holes: 1, code: geo.NoteTextNumber},
		{name: "35 null among the numbers", files: gj("-2.714916628,52.0361847", "null,52.0361847"), problem: "vertex 2"},
		{name: "35 position of one number", files: gj("[-2.714916628,52.0361847,148.5]", "[-2.714916628]"), problem: "vertex 2"},
		{name: "36 NaN in JSON", files: gj("-2.714916628", "NaN"), problem: "NaN"},
		{name: "36 infinity in a shapefile", files: shp(endless), problem: "a.shp: feature 1"},
		{name: "37 no fix at the start of a log", files: []string{"a.gpx", replaced(t, p.asGPX(true), "<trkseg>", `<trkseg><trkpt lat="0" lon="0"/>`)}, code: geo.NoteNoFix},
		{name: "37 no fix within a list", files: csv(replaced(t, corners, first+"\n", first+"\n0,0\n")), problem: "0, 0"},
		{name: "39 hole that runs like an outline", files: shp(allOneWay(utm)), holes: 1, code: geo.NoteRingRole},
		{name: "43 old code page", files: csv("name;wkt\nL\xe4ngli;" + p.asWKT()), holes: 1, code: geo.NoteTextGuessed},
		{name: "45 comment in JSON", files: gj(`"features"`, "// mine\n"+`"features"`), problem: "a.json:1"},
		{name: "45 trailing comma", files: gj("]]}}]}", "]],}}]}"), problem: "a.json:1"},
		{name: "45 TopoJSON", files: []string{"a.json", `{"type":"Topology","objects":{}}`}, problem: "TopoJSON", hint: "ogr2ogr"},
		{name: "45 record separators", files: []string{"a.json", "\x1e" + p.asLine() + "\n"}, holes: 1},
		{name: "45 bare geometry", files: []string{"a.json", `{"type":"Polygon","coordinates":[[[-2.7184213,52.0361847],[-2.714916628,52.0361847],[-2.714916628,52.036993689],[-2.7184213,52.0361847]]]}`}},
		{name: "52 minutes beyond sixty", files: csv("lat;lon\n52°61'00.0\"N;2°43'06.3\"W\n52°02'10.3\"N;2°42'53.7\"W\n52°02'13.2\"N;2°42'53.7\"W\n"), problem: "a.csv:2"},
		{name: "53 comma that may be either", files: csv("1929078,144,5582610,153\n1929178,144,5582610,153\n"), problem: "a.csv"},
		{name: "54 columns without a name", files: []string{"a.txt", "1 350815.46 237774.94\n2 351055.87 237772.57\n3 351056.75 237862.54\n"}, problem: "a.txt", hint: "columns"},
		{name: "55 link only", files: []string{"a.kml", `<kml><NetworkLink><Link><href>http://x/f.kml</href></Link></NetworkLink></kml>`}, problem: "link"},
		{name: "55 no namespace", files: kml(` xmlns="http://www.opengis.net/kml/2.2"`, ""), holes: 1},
		{name: "55 blanks after commas", files: []string{"a.kml", strings.ReplaceAll(p.asKML(), ",", ", ")}, holes: 1, code: geo.NoteTextNumber},
		{name: "55 corners as placemarks", files: []string{"a.kml", marks(p)}, code: geo.NotePointsJoined},
		{name: "56 waypoints only", files: []string{"a.gpx", waypoints(p)}, code: geo.NotePointsJoined},
		{name: "57 points in a binary file", files: []string{"TASKDATA.XML", replaced(t, p.asTask(4), `<LSG A="1">`, `<LSG A="1"><PNT A="" C="" D="" J="PNT00001"/>`)}, problem: "binary"},
		{name: "57 several fields", files: []string{"TASKDATA.XML", replaced(t, p.asTask(4), "</PFD>", "</PFD>"+second(p))}, problem: "2 outlines", hint: `"all"`},
		{name: "60 document type", files: kml("<kml ", `<!DOCTYPE kml [<!ENTITY a "b">]><kml `), problem: "document type"},
		{name: "60 lists without end", files: []string{"a.json", strings.Repeat(`{"a":`, 1000)}, problem: "a.json"},
	} {
		t.Run(c.name, func(t *testing.T) { c.run(t) })
	}
}

func (c fileTrap) run(t *testing.T) {
	fsys := fstest.MapFS{}
	for i := 0; i < len(c.files); i += 2 {
		fsys[c.files[i]] = &fstest.MapFile{Data: []byte(c.files[i+1])}
	}
	file, err := delivery.Read(delivery.Source{FS: fsys, Path: c.files[0]}, c.opt)
	var f geo.Field
	notes := file.Notes
	if err == nil {
		var more geo.Notes
		f, more, err = field.Build(context.Background(), file, nil, c.spec)
		notes = append(notes, more...)
	}
	if c.problem != "" {
		errs := field.Errors(err)
		require.NotEmpty(t, errs, "%v", err)
		assert.Contains(t, errs[0].Error(), c.problem)
		assert.Contains(t, errs[0].Hint, c.hint)
		return
	}
	require.NoError(t, err)
	require.Len(t, f.Blocks, max(1, c.blocks))
	assert.Len(t, f.Blocks[0].Outline, 1+c.holes)
	assert.Empty(t, polygon.Faults(f.Blocks[0].Outline))
	if c.code != "" {
		assert.True(t, has(notes, c.code), "%s missing in %v", c.code, notes)
	}
}

// In task data a ring may end without its first point, however long its last
// side is: no fault, no note, the same to Look and to Build.
func TestTrap57RingsEndWithoutTheirFirstPoint(t *testing.T) {
	var points strings.Builder
	for i := range 21 { // half a round of short sides, and 2 km straight back
		a := math.Pi * float64(i) / 20
		fmt.Fprintf(&points, `<PNT A="2" C="%.9f" D="%.9f"/>`, 52+0.009*math.Sin(a)/20, -2.7-0.0146*math.Cos(a))
	}
	text := `<ISO11783_TaskData VersionMajor="4"><PFD A="PFD1" C="Long Piece"><PLN A="1"><LSG A="1">` + points.String() + `</LSG></PLN></PFD></ISO11783_TaskData>`
	file, err := delivery.Read(delivery.Bytes("TASKDATA.XML", []byte(text)), delivery.Options{})
	require.NoError(t, err)
	f, notes, err := field.Build(context.Background(), file, nil, field.Spec{Strict: true})
	require.NoError(t, err)
	assert.False(t, has(notes, geo.NoteRingClosed))
	assert.Len(t, f.Blocks[0].Outline[0], 22)
	r := field.Look(context.Background(), file, field.Spec{}).Features[0]
	require.NoError(t, r.Refused)
	assert.Empty(t, r.Faults)
	assert.InDelta(t, f.Frame.AreaM2(f.Blocks[0].Outline), r.AreaM2, 1e-6)
}

func replaced(t *testing.T, s, old, by string) string {
	t.Helper()
	require.Contains(t, s, old)
	return strings.Replace(s, old, by, 1)
}

// allOneWay is a shapefile whose pond runs clockwise, as outer rings do.
func allOneWay(p parcel) []byte {
	q := p
	for i, c := range turned(p.pond()) {
		q[cornerCount+i] = c
	}
	return q.asShape(false)
}

// measured is well-known text with a measure on every position.
func measured(p parcel) string {
	pos := func(c [3]float64) string { return blank(c) + " 7" }
	return "POLYGON ZM ((" + list(p.outer(), true, ",", pos) + "),(" + list(p.pond(), true, ",", pos) + "))"
}

// collected is a collection of the parcel and a point.
func collected(p parcel) string {
	_, shape, _ := strings.Cut(p.asLine(), `"geometry":`)
	return `{"type":"Feature","properties":{},"geometry":{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[-2.7184,52.0362]},` +
		strings.TrimSuffix(shape, "}") + "]}}"
}

func marks(p parcel) string {
	return "<kml><Document>" + list(p.outer(), false, "\n", func(c [3]float64) string {
		return "<Placemark><name>corner</name><Point><coordinates>" + num(c[0]) + "," + num(c[1]) + "</coordinates></Point></Placemark>"
	}) + "</Document></kml>"
}

func waypoints(p parcel) string {
	return "<gpx>" + list(p.outer(), false, "\n", func(c [3]float64) string {
		return fmt.Sprintf(`<wpt lat="%s" lon="%s"/>`, num(c[1]), num(c[0]))
	}) + "</gpx>"
}

// second is another field of task data, north of the first.
func second(p parcel) string {
	for i := range p {
		p[i][1] += 0.01
	}
	_, s, _ := strings.Cut(p.asTask(4), "<PFD ")
	s, _, _ = strings.Cut(s, "</ISO")
	return strings.NewReplacer(`A="PFD1"`, `A="PFD2"`, "Long Piece", "Upper Piece").Replace("<PFD " + s)
}
