package shapefile_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/shapefile"
)

// judge fails for what no reader may do, whatever it is given: features that
// are not sound, and errors that do not name the file.
func judge(t *testing.T, f format.File, err error) {
	t.Helper()
	if err != nil {
		if !strings.HasPrefix(err.Error(), "fuzz") {
			t.Fatalf("the error does not begin with the file: %v", err)
		}
		return
	}
	if len(f.Features) == 0 {
		t.Fatal("a file without features was accepted")
	}
	last := 0
	for _, one := range f.Features {
		if one.Number <= last {
			t.Fatalf("feature %d after %d", one.Number, last)
		}
		last = one.Number
		judgeShapes(t, one)
	}
}

func judgeShapes(t *testing.T, one format.Feature) {
	t.Helper()
	check := func(cs []format.Coord) {
		if len(cs) == 0 {
			t.Fatal("an empty part")
		}
		for _, c := range cs {
			if c.X-c.X != 0 || c.Y-c.Y != 0 || math.IsInf(c.Z, 0) {
				t.Fatalf("place %v", c)
			}
		}
	}
	for _, p := range one.Polygons {
		for _, r := range p {
			check(r)
		}
	}
	for _, l := range one.Lines {
		check(l)
	}
	if one.Points != nil {
		check(one.Points)
	}
}

// FuzzRead reads loose files, the same in an archive, and the archive itself.
func FuzzRead(f *testing.F) {
	l := layer()
	f.Add(l["north.shp"], l["north.shx"], l["north.dbf"], l["north.cpg"], l.zip(f)["all.zip"])
	shp, shx := mainFile(polygonZ, multi(polygonZ, doubles(0, 0, 1, 2, 3, 4, 1), box(0, 0, 9, 9)), nullShape(),
		multi(polygonZ, make([]byte, 16+80), box(0, 0, 9, 9), hole(2, 2, 3, 3)))
	f.Add(shp, shx, tableFile(0xC8, []tableField{{"N", 'N', 9}, {"D", 'D', 8}, {"L", 'L', 1}, {"M", 'M', 10}, {"I", 'I', 4}},
		[]string{" ", "1.5", "20260101", "T", "", "abcd"}, []string{"*", "", "", "", "", ""}, []string{" ", "x", "0", "?", "", "1234"}), []byte("1250"), []byte("PK"))
	shp, shx = mainFile(point, append(le32(point), doubles(1, 2)...))
	f.Add(shp, shx[:104], names("a", "b"), []byte{}, layer().zip(f, "north.shp")["all.zip"])
	f.Add([]byte{}, []byte{}, []byte{}, []byte{}, []byte{})
	archive, err := os.ReadFile("testdata/nl-brp-rdnew.zip")
	require.NoError(f, err)
	f.Add(l["north.shp"], []byte{}, []byte{}, []byte{}, archive)
	f.Fuzz(func(t *testing.T, shp, shx, dbf, cpg, archive []byte) {
		loose := files{"fuzz.shp": shp, "fuzz.zip": archive}
		companions := files{"fuzz.shx": shx, "fuzz.dbf": dbf, "fuzz.cpg": cpg}
		for name, data := range companions {
			if len(data) > 0 {
				loose[name] = data
			}
		}
		a, err := read(loose, "fuzz.shp")
		judge(t, a, err)
		delete(loose, "fuzz.zip")
		packed := loose.zip(t)
		packed["fuzz.zip"] = packed["all.zip"]
		b, packedErr := read(packed, "fuzz.zip")
		judge(t, b, packedErr)
		if err == nil && packedErr == nil && fmt.Sprint(a.Features) != fmt.Sprint(b.Features) {
			t.Fatalf("loose %v, packed %v", a.Features, b.Features)
		}
		if (err == nil) != (packedErr == nil) && !strings.Contains(fmt.Sprint(packedErr), "1:200") {
			t.Fatalf("loose %v, packed %v", err, packedErr)
		}
		whole := files{"fuzz.zip": archive}
		c, err := read(whole, "fuzz.zip")
		judge(t, c, err)
	})
}

// FuzzDecode decodes the content of one record with a row of a table.
func FuzzDecode(f *testing.F) {
	square, pond := box(0, 0, 9, 9), hole(2, 2, 3, 3)
	f.Add(multi(polygon, nil, square, pond), []byte("north"))
	f.Add(multi(polygon, nil, square, square, reversed(pond)), []byte("\xc4"))
	f.Add(multi(polygonZ, make([]byte, 16+80+16+80), square, pond), []byte("a\x00b"))
	f.Add(multi(polyLine, nil, square[:2]), []byte(""))
	f.Add(append(le32(pointZ), doubles(1, 2, 3, 4)...), []byte(""))
	f.Add(append(append(append(le32(multiPoint), doubles(0, 0, 0, 0)...), le32(1)...), doubles(1, 1)...), []byte("x"))
	f.Add(nullShape(), []byte("x"))
	shp, shx := mainFile(null, nullShape())
	s, err := shapefile.Open(files{"fuzz.shp": shp, "fuzz.shx": shx, "fuzz.dbf": names("x")}.fs(), "fuzz.shp", "fuzz.shp", optNone)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, content, name []byte) {
		before := bytes.Clone(content)
		row := append([]byte(" "), append(bytes.Clone(name), bytes.Repeat([]byte(" "), 20)...)[:20]...)
		one, notes, err := s.Decode(shapefile.Raw{Number: 1, Shape: content, Row: row})
		if !bytes.Equal(before, content) {
			t.Fatal("the record was changed")
		}
		if err != nil {
			var e *geo.InputError
			if !errors.As(err, &e) || e.Feature != 1 {
				t.Fatal(err)
			}
			return
		}
		judgeShapes(t, one)
		if (len(one.Polygons)+len(one.Lines)+len(one.Points) == 0) != hasLeft(notes) {
			t.Fatalf("%v with notes %v", one, notes)
		}
		rewrite(t, one)
	})
}

func hasLeft(notes geo.Notes) bool {
	for _, n := range notes {
		if n.Code == geo.NoteFeatureLeft {
			return true
		}
	}
	return false
}

// rewrite writes polygons in degrees and reads them again: the same rings come
// back, up to rounding.
func rewrite(t *testing.T, one format.Feature) {
	t.Helper()
	var r shapefile.Record
	vertices := 0
	for _, p := range one.Polygons {
		var rings []shapefile.Path
		for _, ring := range p {
			var w shapefile.Path
			for _, c := range ring {
				w.At = append(w.At, geo.LonLat{LonDeg: c.X, LatDeg: c.Y})
			}
			rings = append(rings, w)
			vertices += len(w.At)
		}
		r.Polygons = append(r.Polygons, rings)
	}
	set, err := shapefile.WriteSet(shapefile.Layer{Name: "fuzz", Kind: shapefile.Polygons, Records: []shapefile.Record{r}, Date: day})
	if err != nil || vertices == 0 { // off the earth, too few vertices
		return
	}
	f := files{}
	for _, m := range set {
		f[m.Name] = m.Data
	}
	s, err := shapefile.Open(f.fs(), "fuzz.shp", "fuzz.shp", optNone)
	require.NoError(t, err)
	raw, err := s.Next()
	require.NoError(t, err)
	again, _, err := s.Decode(raw)
	require.NoError(t, err)
	back := 0
	for _, p := range again.Polygons {
		for _, ring := range p {
			back += len(ring)
		}
	}
	if back < vertices { // closing adds
		t.Fatalf("%d vertices became %d", vertices, back)
	}
	_, err = s.Next()
	require.ErrorIs(t, err, io.EOF)
}
