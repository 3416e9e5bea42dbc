package taskdata_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup/markuptest"
	"hemrow/geo/format/taskdata"
)

// What terminals and farm programs write that the standard does not foresee,
// and what the package does about each. Where a case comes from the standard,
// its place is named: ISO 11783-10:2015 annex D; from memory.

// shape is how many rings each polygon of a feature has.
func shape(f format.Feature) (rings []int) {
	for _, p := range f.Polygons {
		rings = append(rings, len(p))
	}
	return rings
}

func TestBoundaries(t *testing.T) {
	outer, pond := line(1, box(46, 15, 1)), line(2, box(46.2, 15.2, 0.1))
	east, eastPond := line(1, box(46, 17, 1)), line(2, box(46.2, 17.2, 0.1))
	islet, isletPond := line(1, box(46.21, 15.21, 0.05)), line(2, box(46.22, 15.22, 0.01))
	for _, c := range []struct {
		name  string
		plns  []string
		rings []int
	}{
		{"one ring, left open", []string{area(1, outer)}, []int{1}},
		{"closed", []string{area(1, line(1, "46 15, 46 16, 47 16, 46 15"))}, []int{1}},
		{"hole", []string{area(1, outer, pond)}, []int{2}},
		{"hole first", []string{area(1, pond, outer)}, []int{2}},
		{"version 3: two outer rings in one PLN", []string{area(1, outer, east, eastPond, pond)}, []int{2, 2}},
		{"version 4: a PLN for each", []string{area(1, outer, pond), area(1, east, eastPond)}, []int{2, 2}},
		{"hole in a PLN of its own", []string{area(1, outer), area(1, east), area(1, eastPond)}, []int{1, 2}},
		{"island in a hole", []string{area(1, outer, pond, islet, isletPond)}, []int{2, 2}},
		{"rings without PLN", []string{outer, pond}, []int{2}},
		{"across 180 degrees", []string{area(1, line(1, "46 179, 46 -179, 47 -179, 47 179"), east, line(2, "46.2 -179.8, 46.2 -179.7, 46.3 -179.7"))}, []int{2, 1}},
		{"hole outside a single ring is judged later", []string{area(1, outer, eastPond)}, []int{2}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := read(taskFile(field("PFD1", "North", c.plns...)))
			require.NoError(t, err)
			require.Len(t, f.Features, 1)
			assert.Equal(t, c.rings, shape(f.Features[0]))
			assert.Empty(t, f.Notes)
		})
	}
}

func TestLiberal(t *testing.T) {
	f, err := read(taskFile(
		field("PFD-3", "", area(1, line(1, "46.123456789012345 15.123456789012345, 46 16, 47 16"))),
		`<PFD A="PFD4" B="F-9" D="123.0" I="PFD-3" E="CTR7">text`+area(1, line(1, box(46, 15, 1)))+"</PFD>",
		field("PFD5", "Bare"), field("PFD6", "Hole only", area(1, line(2, box(46, 15, 1)))), field("PFD7", "No point", area(1, `<LSG A="1"/>`)),
		`<CTR A="CTR7" B="Reed" C="Ada"/><TSK A="TSK1"/>`))
	require.NoError(t, err)
	require.Len(t, f.Features, 2)
	assert.Equal(t, "PFD-3", f.Features[0].ID)
	assert.Equal(t, "PFD-3", f.Features[0].Name)
	assert.Equal(t, map[string]any{"kind": "field"}, f.Features[0].Properties)
	assert.InDelta(t, 46.123456789012345, f.Features[0].Polygons[0][0][0].Y, 0)
	assert.Equal(t, "F-9", f.Features[1].Name)
	assert.Equal(t, map[string]any{"kind": "field", "code": "F-9", "part_of": "PFD-3", "customer": "Ada Reed", "area_m2": 123.0, "area_ha": 0.0123}, f.Features[1].Properties)
	n := markuptest.NoteOf(t, f, geo.NoteFeatureLeft)
	assert.Equal(t, "3 fields without a boundary were left out", n.Text)
	assert.Equal(t, "TASKDATA.XML: features 3, 4, 5", n.Place)
	texts := fmt.Sprint(f.Notes)
	assert.Contains(t, texts, "1 hole without an outer ring")
	assert.Contains(t, texts, "1 empty shape")
}

// Words of PLN A, LSG A and PNT A: XML schema 4.3 (2018).
func TestOtherThings(t *testing.T) {
	f, err := read(taskFile(field("PFD1", "North",
		area(1, line(1, box(46, 15, 1))), area(3, line(1, box(46.2, 15.2, 0.1)), line(2, box(46.22, 15.22, 0.01))), area(4, line(1, box(46.4, 15.2, 0.1))),
		area(6, line(9, box(46.5, 15.2, 0.1))), area(99, line(1, box(46.5, 15.2, 0.1))), area(5, `<LSG A="1"/>`), area(12, line(1, box(46.6, 15.2, 0.1)), line(1, box(46.8, 15.2, 0.1))),
		line(7, "46 15, 47 16"), line(5, "46 15, 46.5 15.4, 47 16"), `<LSG A="5" B="Old row" C="3200"><PNT A="2" C="46" D="15" E=""/><PNT A="2" C="47" D="15"/></LSG>`,
		`<PNT A="5" B="Pole 7" C="46.5" D="15.5" E="412350" G="PNT1"/>`, `<PNT A="3" C="46.5" D="15.5"/>`)))
	require.NoError(t, err)
	var got []string
	for _, one := range f.Features {
		if one.Properties["kind"] != "field" {
			assert.Equal(t, "North", one.Properties["field"])
		}
		got = append(got, fmt.Sprintf("%d %v %q %d %d %d", one.Number, one.Properties["kind"], one.Name, len(one.Polygons), len(one.Lines), len(one.Points)))
	}
	assert.Equal(t, []string{
		`1 field "North" 1 0 0`, `2 water surface "area" 1 0 0`, `3 building "area" 1 0 0`, `4 obstacle "area" 1 0 0`, `5 other "area" 1 0 0`,
		`7 windbreak "area" 2 0 0`, `8 fence "" 0 1 0`, `9 guidance "" 0 1 0`, `10 guidance "Old row" 0 1 0`, `11 obstacle "Pole 7" 0 0 1`, `12 field access "" 0 0 1`,
	}, got)
	assert.Len(t, f.Features[1].Polygons[0], 2)
	assert.InDelta(t, 3.2, f.Features[8].Properties["spacing_m"], 0)
	assert.InDelta(t, 412.35, f.Features[9].Points[0].Z, 0)
	assert.Equal(t, "PNT1", f.Features[9].ID)
}

// Patterns: GPN attribute C, schema 4.3 (2018). Points of any type stand for A
// and B.
func TestGuidance(t *testing.T) {
	gpn := func(kind int, more, inside string) string {
		return fmt.Sprintf(`<GPN A="GPN%d" B="Row %d" C="%d" %s>%s</GPN>`, kind, kind, kind, more, inside)
	}
	f, err := read(taskFile(field("PFD1", "North", area(1, line(1, box(46, 15, 1))), `<GGP A="GGP1" B="Rows"><PLN A="1"/>`+
		gpn(1, "", line(5, "46 15, 47 15"))+gpn(2, `G="271.5"`, line(5, "46 15"))+gpn(3, "", line(5, "46 15, 46.5 15.1, 47 15"))+
		gpn(4, `H="90000"`, line(5, "46.5 15.5")+"<PLN A='1'/>")+gpn(5, "", line(5, "46 15, 47 15"))+gpn(6, "", "")+
		gpn(1, "", `<LSG A="5"><PNT J="PNT00001" K="96"/></LSG>`)+"</GGP>")))
	require.NoError(t, err)
	var got []string
	for _, one := range f.Features[1:] {
		got = append(got, fmt.Sprintf("%s %v %v %d %d %v", one.ID, one.Properties["pattern"], one.Properties["group"], len(one.Lines), len(one.Points), one.Properties["heading_deg"]))
	}
	assert.Equal(t, []string{
		"GPN1 AB Rows 1 0 <nil>", "GPN2 A+ Rows 0 1 271.5", "GPN3 curve Rows 1 0 <nil>", "GPN4 pivot Rows 0 1 <nil>", "GPN5 spiral Rows 1 0 <nil>",
	}, got)
	texts := fmt.Sprint(f.Notes)
	assert.Contains(t, texts, "2 areas that limit guidance lines were left out")
	assert.Contains(t, texts, "1 shape whose points are kept in a binary file was left out")
}

func TestRefusals(t *testing.T) {
	bad := func(p string) string {
		return taskFile(field("PFD9", "x", area(1, line(1, box(46, 15, 1)))), field("PFD1", "North",
			area(1, line(1, box(46, 15, 1)), line(2, box(46.2, 15.2, 0.1))), area(1, line(1, box(46, 17, 1)), `<LSG A="2"><PNT C="46" D="15"/>`+"\n"+p+"</LSG>")))
	}
	where := `TASKDATA.XML:6: feature 2 "North", hole 2, vertex 2: `
	markuptest.Refusals(t, read, []markuptest.Refusal{
		{"no latitude", bad(`<PNT D="15"/>`), where + "the latitude (C) is missing"},
		{"no longitude", bad(`<PNT C="15" D=""/>`), where + "the longitude (D) is missing"},
		{"decimal comma", bad(`<PNT C="46,5" D="15"/>`), where + `the latitude (C) "46,5" has a decimal comma`},
		{"not finite", bad(`<PNT C="46" D="INF"/>`), where + `the longitude (D) is the text "INF"`},
		{"height", bad(`<PNT C="46" D="15" E="high"/>`), where + `the height (E) is the text "high"`},
		{"binary boundary", bad(`<PNT A="" C="" D="" J="PNT00001"/>`), `the points are kept in the binary file "PNT00001".BIN`, "with its points in the XML"},
		{"hole outside both", bad(`<PNT C="10" D="10"/><PNT C="11" D="10"/><PNT C="11" D="11"/>`), `"North", hole 2: the hole lies in none of the outer rings`},
		{"no type of line", taskFile(field("PFD1", "North", area(1, "<LSG/>"))), "a line (LSG) has no type (A)"},
		{"area", taskFile(`<PFD A="PFD1" C="North" D="1,19 ha"/>`), `"North": the stated area (D) is the text "1,19 ha"`},
		{"spacing", taskFile(field("PFD1", "North", `<LSG A="5" C="wide"/>`)), `the line spacing is the text "wide"`, "millimetres"},
		{"heading", taskFile(field("PFD1", "North", `<GGP><GPN C="2" G="west"/></GGP>`)), `the heading is the text "west"`},
		{"two courses", taskFile(field("PFD1", "North", `<GGP><GPN C="1">`+line(5, "1 2, 3 4")+line(5, "1 2, 3 4")+`</GPN></GGP>`)), "a second course"},
		{"hole of a pond outside", taskFile(field("PFD1", "North", area(3, line(1, box(1, 1, 1)), line(1, box(3, 3, 1)), line(2, box(9, 9, 1))))), `feature 2 "area"`, "none of the outer rings"},
		{"no field", taskFile(), "the file holds no field"},
		{"no boundary", taskFile(field("PFD1", "a"), field("PFD2", "b")), "2 fields, and none has a boundary"},
		{"external", taskFile(`<XFR A="PFD00001" B="1"/>`), "kept in files beside it, which were not read: PFD00001.XML", "give the whole folder"},
		{"external name", taskFile(`<XFR A="PFD/../x" B="1"/>`), `"PFD/../x" is no name of an external file`},
		{"part of a set", "<XFC/>", "a part of an ISO 11783-10 task file", "give the folder"},
		{"other XML", "<gpx/>", "this is a GPX file, not an ISO 11783-10 task file"},
		{"entities", `<!DOCTYPE x [<!ENTITY a "1">]><ISO11783_TaskData/>`, "document type"},
		{"cut short", taskFile(field("PFD1", "a", area(1, line(1, box(46, 15, 1)))))[:200], "the file ends inside"},
	})
}

const north = `<PFD A="PFD1" C="North"><PLN A="1"><LSG A="1"><PNT C="46" D="15"/><PNT C="46" D="16"/><PNT C="47" D="16"/></LSG></PLN></PFD>`

func folder(files ...string) fstest.MapFS {
	out := fstest.MapFS{}
	for i := 0; i < len(files); i += 2 {
		out[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
	}
	return out
}

func pack(t testing.TB, files fstest.MapFS) string {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	require.NoError(t, w.AddFS(files))
	require.NoError(t, w.Close())
	return b.String()
}

func TestFolders(t *testing.T) {
	main := taskFile(north)
	split := taskFile(`<XFR A="PFD00001" B="1"/><XFR A="CTR00000" B="1"/><XFR A="TSK00001" B="1"/><XFR A="PFD00001" B="1"/>`)
	parts := []string{"PFD00001.XML", `<XFC>` + strings.Replace(north, `C="North"`, `C="North" E="CTR1"`, 1) + `</XFC>`, "CTR00000.XML", `<XFC><CTR A="CTR1" B="Reed"/></XFC>`}
	in := func(dir string, files ...string) fstest.MapFS {
		out := folder(files...)
		for name, f := range out {
			delete(out, name)
			out[dir+name] = f
		}
		return out
	}
	for _, c := range []struct {
		name  string
		files fstest.MapFS
		at    string
		cases int // notes on names
		owner any
	}{
		{"the file", folder("TASKDATA.XML", main), "TASKDATA.XML", 0, nil},
		{"the folder", folder("a/TASKDATA.XML", main), "a", 0, nil},
		{"the stick", folder("TASKDATA/TASKDATA.XML", main, "other/TASKDATA.XML", "<x/>"), ".", 0, nil},
		{"lower case", folder("taskdata/taskdata.xml", main), ".", 1, nil},
		{"capitals before others", folder("a/taskdata.xml", "<x/>", "a/TASKDATA.XML", main), "a", 0, nil},
		{"deep", folder("x/y/TASKDATA/TASKDATA.XML", main, "__MACOSX/TASKDATA.XML", "x"), ".", 0, nil},
		{"external", in("a/", append(parts, "TASKDATA.XML", split)...), "a", 0, "Reed"},
		{"external, by the file", in("a/", append(parts, "TASKDATA.XML", split)...), "a/TASKDATA.XML", 0, "Reed"},
		{"external in other case", folder("TASKDATA.XML", split, "pfd00001.xml", parts[1], "Ctr00000.xml", parts[3]), ".", 2, "Reed"},
	} {
		t.Run(c.name, func(t *testing.T) {
			check := func(f format.File, err error) {
				require.NoError(t, err)
				require.Len(t, f.Features, 1)
				assert.Equal(t, "North", f.Features[0].Name)
				assert.Equal(t, c.owner, f.Features[0].Properties["customer"])
				assert.Equal(t, "stick", f.Name)
				require.Len(t, f.Notes, c.cases, "%v", f.Notes)
				for _, n := range f.Notes {
					assert.Equal(t, geo.NoteNameCase, n.Code)
				}
			}
			check(taskdata.ReadFS(c.files, c.at, "stick"))
			if !strings.HasSuffix(c.at, ".XML") {
				check(taskdata.ReadFS(folder("f.zip", pack(t, c.files)), "f.zip", "stick"))
				check(taskdata.Read("stick", strings.NewReader(pack(t, c.files))))
			}
		})
	}
}

func TestFolderFaults(t *testing.T) {
	bad := strings.Replace(north, `D="16"`, `D="x"`, 1)
	for _, c := range []struct {
		name  string
		files fstest.MapFS
		want  string
	}{
		{"no set", folder("a.txt", ""), "stick: there is no TASKDATA.XML in it"},
		{"several", folder("a/TASKDATA.XML", "", "b/TASKDATA.XML", ""), "stick: there are 2 file sets in it: a/TASKDATA.XML, b/TASKDATA.XML"},
		{"fault", folder("TASKDATA/TASKDATA.XML", taskFile(bad)), `stick/TASKDATA/TASKDATA.XML:1: feature 1 "North", part 1, vertex 2: the longitude (D)`},
		{"fault outside", folder("TASKDATA/TASKDATA.XML", taskFile(`<XFR A="PFD00001" B="1"/>`), "TASKDATA/PFD00001.XML", "<XFC>\n"+bad+"</XFC>"), `stick/TASKDATA/PFD00001.XML:2: feature 1 "North", part 1, vertex 2`},
		{"empty part", folder("TASKDATA/TASKDATA.XML", taskFile(`<XFR A="PFD00001" B="1"/>`), "TASKDATA/PFD00001.XML", ""), "stick/TASKDATA/PFD00001.XML: the file is empty"},
		{"part is no part", folder("TASKDATA.XML", taskFile(`<XFR A="PFD00001" B="1"/>`), "PFD00001.XML", "<gpx/>"), "this is a GPX file"},
		{"part missing", folder("TASKDATA.XML", taskFile(`<XFR A="PFD00001" B="1"/>`)), "were not read: PFD00001.XML"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := taskdata.ReadFS(c.files, ".", "stick")
			var e *geo.InputError
			require.ErrorAs(t, err, &e)
			assert.Contains(t, e.Error(), c.want)
			_, err = taskdata.ReadFS(folder("f.zip", pack(t, c.files)), "f.zip", "stick")
			require.ErrorAs(t, err, &e)
			assert.Contains(t, e.Error(), strings.Replace(c.want, "stick/", "stick, ", 1))
		})
	}
	f, err := taskdata.ReadFS(folder("TASKDATA.XML", taskFile(north, `<XFR A="PFD00002" B="1"/>`)), "TASKDATA.XML", "TASKDATA.XML")
	require.NoError(t, err)
	assert.Contains(t, markuptest.NoteOf(t, f, geo.NoteCompanion).Text, "PFD00002.XML")
	_, err = taskdata.ReadFS(folder(), "x", "x")
	require.Error(t, err)
	_, err = taskdata.Read("x.zip", strings.NewReader("PK\x03\x04damaged"))
	require.ErrorContains(t, err, "x.zip: the zip archive cannot be read")
	many := fstest.MapFS{}
	for i := range 10001 {
		many[fmt.Sprint(i)] = &fstest.MapFile{}
	}
	_, err = taskdata.ReadFS(many, ".", "stick")
	require.ErrorContains(t, err, "too many files")
}

// FuzzRead: nothing panics, every refusal says what is wrong, and what is read
// is sound.
func FuzzRead(f *testing.F) {
	sample, err := os.ReadFile("testdata/sample.xml")
	require.NoError(f, err)
	f.Add(sample)
	for _, in := range []string{
		"", taskFile(), taskFile(north), taskFile(field("PFD1", "a", area(1, line(1, box(1, 1, 1)), line(1, box(3, 3, 1)), line(2, box(3, 3, 1)), line(2, box(9, 9, 1))))),
		taskFile(`<XFR A="PFD00001" B="1"/>`), taskFile(field("PFD-1", "a", `<PNT A="5" C="1" D="2" E="-9999000"/>`, `<GGP><GPN C="2" G="1">`+line(5, "1 2")+"</GPN></GGP>", area(6, line(1, box(1, 1, 1))))),
		taskFile(field("PFD1", "a", area(1, `<LSG A="1"><PNT J="PNT00001"/></LSG>`))), pack(f, folder("TASKDATA/TASKDATA.XML", taskFile(north))),
	} {
		f.Add([]byte(in))
	}
	f.Fuzz(func(t *testing.T, in []byte) { markuptest.Sound(t, read, string(in)) })
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{10, 1000} {
		var ring []string
		for i := range 26 {
			ring = append(ring, fmt.Sprintf("46.95%07d 15.45%07d", i*i, i))
		}
		in := taskFile(strings.Repeat(field("PFD1", "North", area(1, line(1, strings.Join(ring, ", ")))), n))
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(in)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := taskdata.Read("bench", strings.NewReader(in)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
