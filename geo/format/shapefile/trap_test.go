package shapefile_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format/shapefile"
)

// What shapefiles come with that the technical description does not foresee,
// and what the package does about each (common practice, no source).

func TestTrapZipWithFolderAndDroppings(t *testing.T) {
	l := layer()
	f := files{}
	for name, data := range l {
		f["farm/"+name] = data
		f["__MACOSX/farm/._"+name] = []byte("droppings")
	}
	f["farm/._north.shp"], f["farm/.DS_Store"] = []byte("x"), []byte("y")
	got := mustRead(t, f.zip(t), "all.zip")
	require.Len(t, got.Features, 2)
	assert.Empty(t, got.Notes)
	assert.Equal(t, "Upper", got.Features[0].Name)
	assert.Equal(t, "all.zip", got.Name)
	assert.Equal(t, "Shapefile", got.Format)
	assert.Equal(t, "GCS_WGS_1984", got.Reference.Declared)
	assert.Equal(t, wgs84, got.Reference.WKT)

	back := files{}
	for name, data := range l { // as some archivers under Windows write it
		back[`farm\`+name] = data
	}
	assert.Len(t, mustRead(t, back.zip(t), "all.zip").Features, 2)
}

func TestTrapSeveralLayersAskByName(t *testing.T) {
	shp, shx := mainFile(polyLine, multi(polyLine, nil, []xy{{0, 0}, {1, 1}}))
	for name, f := range map[string]files{"zip": nil, "folder": nil} {
		l := layer()
		l["roads.shp"], l["roads.shx"] = shp, shx
		l["walls.shp"] = shp // counted without a .shx
		what, path := "archive", "all.zip"
		if f = l.zip(t); name == "folder" {
			f, what, path = l, "folder", "."
		}
		_, err := read(f, path)
		e := refused(t, err)
		assert.Equal(t, "the "+what+" holds 3 layers: north (2 features, Polygon), roads (1 feature, PolyLine), walls (1 feature, PolyLine)", e.Problem)
		assert.Equal(t, "name the layer to read", e.Hint)

		_, err = shapefile.Read(f.fs(), path, path, shapefile.Options{Layer: "hedges"})
		assert.Contains(t, refused(t, err).Problem, `no layer is called "hedges"; the `+what+` holds north (2`)

		got, err := shapefile.Read(f.fs(), path, path, shapefile.Options{Layer: "NORTH"})
		require.NoError(t, err)
		assert.Len(t, got.Features, 2)
		assert.Contains(t, noteOf(t, got.Notes, geo.NoteMemberLeft).Text, "2 other layers")
	}
	f := files{"a/p.shp": shp, "b/p.shp": shp}.zip(t)
	_, err := shapefile.Read(f.fs(), "all.zip", "all.zip", shapefile.Options{Layer: "p"})
	assert.Contains(t, refused(t, err).Problem, `2 layers are called "p": a/p (1 feature, PolyLine), b/p`)
	got, err := shapefile.Read(f.fs(), "all.zip", "all.zip", shapefile.Options{Layer: "b/p"})
	require.NoError(t, err)
	assert.Len(t, got.Features, 1)

	_, err = shapefile.Read(layer().fs(), "north.shp", "north.shp", shapefile.Options{Layer: "south"})
	assert.Contains(t, refused(t, err).Problem, `no layer is called "south"`, "a single layer under another name")
}

func TestTrapArchiveTricks(t *testing.T) {
	inner := layer().zip(t)["all.zip"]
	for name, c := range map[string]struct {
		f    files
		want string
	}{
		"zip in zip":     {files{"parcels.zip": inner}, `another archive, "parcels.zip"`},
		"leads out":      {files{"../north.shp": layer()["north.shp"]}, "leads out of its folder"},
		"leads out late": {files{`a\..\..\north.shp`: layer()["north.shp"]}, "leads out of its folder"},
		"absolute":       {files{"/north.shp": layer()["north.shp"]}, "absolute path"},
		"drive":          {files{`C:\north.shp`: layer()["north.shp"]}, "absolute path"},
		"no layer":       {files{"readme.txt": []byte("x")}, "holds no .shp"},
		"only the table": {files{"a/north.dbf": names("x")}, "a/north.shp is needed"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(c.f.zip(t), "all.zip")
			e := refused(t, err)
			assert.Contains(t, e.Error(), c.want)
			assert.NotEmpty(t, e.Hint)
		})
	}
}

// patched is an archive of a layer with the header of each member changed.
func patched(t *testing.T, change func(h *zip.FileHeader)) files {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range layer() {
		h := &zip.FileHeader{Name: name, Method: zip.Store, UncompressedSize64: uint64(len(data)), CompressedSize64: uint64(len(data))}
		change(h)
		w, err := z.CreateRaw(h)
		require.NoError(t, err)
		_, err = w.Write(data)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return files{"all.zip": b.Bytes()}
}

func TestTrapArchiveLimitsAreNamed(t *testing.T) {
	many := files{}
	for i := range 4097 {
		many[fmt.Sprintf("m%d.txt", i)] = nil
	}
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, err := z.Create("north.shp")
	require.NoError(t, err)
	shp, _ := mainFile(polygon)
	_, err = w.Write(append(shp, make([]byte, 8<<20)...))
	require.NoError(t, err)
	require.NoError(t, z.Close())

	for name, c := range map[string]struct {
		f    files
		want []string
	}{
		"too many members": {many.zip(t), []string{"4097 members", "at most 4096"}},
		"packed too well":  {files{"all.zip": bomb.Bytes()}, []string{"north.shp", "8388708 bytes", "at most 1:200"}},
		"too large": {
			patched(t, func(h *zip.FileHeader) { h.UncompressedSize64 = 3 << 30 }),
			[]string{"north.shp", "3221225472 bytes", "at most 2 GiB"},
		},
		"encrypted":      {patched(t, func(h *zip.FileHeader) { h.Flags |= 1 }), []string{"encrypted"}},
		"unknown method": {patched(t, func(h *zip.FileHeader) { h.Method = 9 }), []string{"cannot be unpacked"}},
		"checksum wrong": {patched(t, func(h *zip.FileHeader) { h.CRC32 = 7 }), []string{"is damaged", "checksum"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(c.f, "all.zip")
			e := refused(t, err)
			assert.Equal(t, "all.zip", e.File[:7])
			for _, want := range c.want {
				assert.Contains(t, e.Error(), want)
			}
		})
	}
}

// The stated size of a member is checked while it is read.
func TestTrapMemberLargerThanStated(t *testing.T) {
	f := patched(t, func(h *zip.FileHeader) {
		if h.Name == "north.dbf" {
			h.UncompressedSize64-- // the end mark, which nobody needs
		}
	})
	_, err := read(f, "all.zip")
	e := refused(t, err)
	assert.Equal(t, "all.zip, north.dbf", e.File)
	assert.Contains(t, e.Problem, "damaged")
}

func TestTrapCapitals(t *testing.T) {
	l := layer()
	got := mustRead(t, files{"NORTH.SHP": l["north.shp"], "NORTH.SHX": l["north.shx"], "NORTH.DBF": l["north.dbf"], "NORTH.PRJ": l["north.prj"]}, "NORTH.SHP")
	assert.Empty(t, got.Notes, "all in capitals is one spelling")
	assert.False(t, got.Reference.Silent())

	for name, f := range map[string]files{
		"ending": {"north.SHP": l["north.shp"], "north.SHX": l["north.shx"], "north.dbf": l["north.dbf"]},
		"base":   {"North.shp": l["north.shp"], "North.shx": l["north.shx"], "NORTH.dbf": l["north.dbf"]},
	} {
		for path := range f {
			if !strings.EqualFold(path, "north.shp") {
				continue
			}
			got := mustRead(t, f, path)
			assert.Equal(t, "Lower", got.Features[1].Name, name)
			assert.Contains(t, noteOf(t, got.Notes, geo.NoteNameCase).Text, ".dbf")
		}
	}
	two := files{"a.shp": l["north.shp"], "a.dbf": names("one", "two"), "A.dbf": names("no", "no")}
	assert.Equal(t, "one", mustRead(t, two, "a.shp").Features[0].Name, "the exact spelling goes first")
}

func TestTrapIndexMissing(t *testing.T) {
	l := layer()
	delete(l, "north.shx")
	for _, f := range []struct {
		f    files
		path string
	}{{l, "north.shp"}, {l.zip(t), "all.zip"}} {
		got := mustRead(t, f.f, f.path)
		require.Len(t, got.Features, 2)
		assert.Equal(t, "Lower", got.Features[1].Name)
		assert.Contains(t, noteOf(t, got.Notes, geo.NoteCompanion).Text, "no .shx")
	}
}

func TestTrapIndexWrong(t *testing.T) {
	for name, spoil := range map[string]func(b []byte) []byte{
		"empty":         func([]byte) []byte { return nil },
		"another file":  func([]byte) []byte { return []byte("<html>") },
		"half an entry": func(b []byte) []byte { return b[:len(b)-3] },
		"an entry less": func(b []byte) []byte { return b[:len(b)-8] },
		"outside":       func(b []byte) []byte { copy(b[108:], be32(1<<20)); return b },
		"other kind":    func(b []byte) []byte { copy(b[32:], le32(point)); return b },
		"in between":    func(b []byte) []byte { copy(b[100:], be32(52)); return b },
		"other lengths": func(b []byte) []byte {
			copy(b[104:], be32(64))
			copy(b[108:], be32(50+4+64))
			copy(b[112:], be32(72))
			return b
		},
	} {
		t.Run(name, func(t *testing.T) {
			l := layer()
			l["north.shx"] = spoil(l["north.shx"])
			for _, f := range []struct {
				f    files
				path string
			}{{l, "north.shp"}, {l.zip(t), "all.zip"}} {
				got := mustRead(t, f.f, f.path)
				require.Len(t, got.Features, 2)
				assert.Equal(t, "20,0 20,10 30,10 30,0 20,0", text(got.Features[1].Polygons[0][0]))
				assert.Contains(t, noteOf(t, got.Notes, geo.NoteCompanion).Text, ".shx is wrong: ")
			}
		})
	}
}

// Programs that change a record in place leave the old one lying about and
// let the index point at the new one.
func TestTrapIndexLeadsAroundOldRecords(t *testing.T) {
	a, old, b := multi(polygon, nil, box(0, 0, 10, 10)), multi(polygon, nil, box(5, 5, 6, 6)), multi(polygon, nil, box(20, 0, 30, 10))
	shp, shx := mainFile(polygon, b, old, a)
	entries := bytes.Clone(shx[100:])
	shx = append(append(shx[:100], entries[16:24]...), entries[0:8]...) // a, b
	stateLength(shx)
	l := files{"x.shp": shp, "x.shx": shx, "x.dbf": names("a", "b")}
	for _, f := range []struct {
		f    files
		path string
	}{{l, "x.shp"}, {l.zip(t), "all.zip"}} {
		got := mustRead(t, f.f, f.path)
		require.Len(t, got.Features, 2)
		assert.Equal(t, "0,0 0,10 10,10 10,0 0,0", text(got.Features[0].Polygons[0][0]))
		assert.Equal(t, "20,0 20,10 30,10 30,0 20,0", text(got.Features[1].Polygons[0][0]))
		assert.Empty(t, got.Notes)
	}
}

func TestTrapTableMissing(t *testing.T) {
	l := layer()
	delete(l, "north.dbf")
	got := mustRead(t, l, "north.shp")
	require.Len(t, got.Features, 2)
	assert.Equal(t, 2, got.Features[1].Number)
	assert.Nil(t, got.Features[1].Properties)
	assert.Contains(t, noteOf(t, got.Notes, geo.NoteCompanion).Text, "no .dbf")
}

func TestTrapRowCounts(t *testing.T) {
	rows := func(all ...string) []byte { // x marks a deleted row
		var r [][]string
		for _, n := range all {
			mark := " "
			if strings.HasPrefix(n, "x") {
				mark = "*"
			}
			r = append(r, []string{mark, n})
		}
		return tableFile(0, nameField, r...)
	}
	for _, noIndex := range []bool{false, true} {
		with := func(dbf []byte) files {
			l := layer()
			l["north.dbf"] = dbf
			if noIndex {
				delete(l, "north.shx")
			}
			return l
		}
		for _, dbf := range [][]byte{rows("one"), rows("one", "two", "three"), rows("one", "x", "three", "four")} {
			_, err := read(with(dbf), "north.shp")
			e := refused(t, err)
			assert.Contains(t, e.Problem, "the .shp holds 2 shapes and the .dbf")
			assert.Contains(t, e.Hint, "take the .dbf away")
		}
		got := mustRead(t, with(rows("x1", "one", "x2", "two", "x3")), "north.shp")
		require.Len(t, got.Features, 2)
		assert.Equal(t, "one", got.Features[0].Name)
		assert.Equal(t, "two", got.Features[1].Name)
		assert.Contains(t, noteOf(t, got.Notes, geo.NoteFeatureLeft).Text, "3 deleted rows")

		got = mustRead(t, with(rows("x", "two")), "north.shp")
		require.Len(t, got.Features, 1, "a feature is deleted by its row")
		assert.Equal(t, 2, got.Features[0].Number)
		assert.Equal(t, geo.Caution, noteOf(t, got.Notes, geo.NoteFeatureLeft).Severity)
	}
	l := layer()
	l["north.dbf"] = rows("one", "two")[:80]
	_, err := read(l, "north.shp")
	assert.Contains(t, refused(t, err).Error(), "north.dbf: the file ends at byte 80, but its 2 rows of 21 bytes need 107")
}

func TestTrapCompanionNamed(t *testing.T) {
	for _, ext := range []string{".dbf", ".shx", ".prj", ".cpg"} {
		got := mustRead(t, layer(), "north"+ext)
		assert.Len(t, got.Features, 2)
		assert.Contains(t, noteOf(t, got.Notes, geo.NoteMainFile).Text, "north.shp")
		_, err := read(files{"north" + ext: []byte("x")}, "north"+ext)
		assert.Contains(t, refused(t, err).Problem, "north.shp, which is not beside it")
	}
	_, err := read(files{}, "north.shp")
	require.ErrorContains(t, err, "north.shp: file does not exist")
}

func TestTrapNotAShapefile(t *testing.T) {
	shp := layer()["north.shp"]
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":       {nil, "the file is empty (0 bytes)"},
		"LFS pointer": {[]byte("version https://git-lfs.github.com/spec/v1\noid sha256:4d\nsize 1234\n"), "a pointer of Git LFS"},
		"HTML":        {[]byte("\n<!DOCTYPE html><html>"), "an HTML page"},
		"XML":         {[]byte("<?xml version"), "an XML file"},
		"JSON":        {[]byte(`{"type":`), "a JSON file"},
		"zip":         {layer().zip(t)["all.zip"], "a zip archive"},
		"database":    {[]byte("SQLite format 3\x00abc"), "a GeoPackage"},
		"something":   {bytes.Repeat([]byte{1}, 200), "begins with code 16843009 where 9994 is due"},
		"short head":  {shp[:40], "ends at byte 40"},
		"cut short":   {shp[:200], "the file ends at byte 200 of the 372 that its header states"},
		"MultiPatch":  {append(bytes.Clone(shp[:32]), append(le32(multiPatch), shp[36:]...)...), "MultiPatch"},
		"odd type":    {append(bytes.Clone(shp[:32]), append(le32(77), shp[36:]...)...), "shape type 77"},
	} {
		t.Run(name, func(t *testing.T) {
			l := layer()
			l["north.shp"] = c.data
			for _, f := range []struct {
				f    files
				path string
			}{{l, "north.shp"}, {l.zip(t), "all.zip"}} {
				_, err := read(f.f, f.path)
				assert.Contains(t, refused(t, err).Error(), c.want)
			}
		})
	}
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty zip": {nil, "is empty"},
		"HTML zip":  {[]byte("<html>"), "an HTML page"},
		"cut zip":   {layer().zip(t)["all.zip"][:300], "300 bytes"},
		"no zip":    {[]byte("abc"), "no zip archive"},
	} {
		_, err := read(files{"all.zip": c.data}, "all.zip")
		assert.Contains(t, refused(t, err).Error(), c.want, name)
	}
}

// A length in the header that was never corrected does no harm, nor do bytes
// behind the last record.
func TestTrapHeaderLengthWrong(t *testing.T) {
	l := layer()
	copy(l["north.shp"][24:], be32(50))
	delete(l, "north.shx")
	assert.Len(t, mustRead(t, l, "north.shp").Features, 2)
	l = layer()
	l["north.shp"] = append(l["north.shp"], "junk at the end"...)
	assert.Len(t, mustRead(t, l, "north.shp").Features, 2)
}

func TestTrapHeightsAndMeasures(t *testing.T) {
	square := box(0, 0, 10, 10)
	z := func(v ...float64) []byte { return append(doubles(0, 0), doubles(v...)...) }
	t.Run("measures dropped", func(t *testing.T) {
		f, err := oneShape(t, polygonM, multi(polygonM, z(1, 2, 3, 4, -2e38), square))
		require.NoError(t, err)
		assert.Contains(t, noteOf(t, f.Notes, geo.NoteMeasureLeft).Text, "4 vertices have a measure")
		assert.Equal(t, "0,0 0,10 10,10 10,0 0,0", text(f.Features[0].Polygons[0][0]))
		f, err = oneShape(t, polygonM, multi(polygonM, nil, square))
		require.NoError(t, err, "measures are optional")
		assert.Empty(t, f.Notes)
	})
	t.Run("heights kept", func(t *testing.T) {
		for _, m := range [][]byte{nil, z(-1e39, -1e39, -1e39, -1e39, -1e39)} {
			f, err := oneShape(t, polygonZ, multi(polygonZ, append(z(5, 6, 7, 0, 5), m...), square))
			require.NoError(t, err)
			assert.Equal(t, "0,0,5 0,10,6 10,10,7 10,0,0 0,0,5", text(f.Features[0].Polygons[0][0]))
			assert.Empty(t, f.Notes)
		}
	})
	t.Run("heights that are none", func(t *testing.T) {
		f, err := oneShape(t, polygonZ, multi(polygonZ, z(5, -9999, -1e39, math.NaN(), 5), square))
		require.NoError(t, err)
		n := noteOf(t, f.Notes, geo.NoteHeightMissing)
		assert.Equal(t, 3.0, n.Value)
		assert.Equal(t, "a.shp: feature 1", n.Place)
		assert.Equal(t, "0,0,5 0,10 10,10 10,0 0,0,5", text(f.Features[0].Polygons[0][0]))
	})
	t.Run("all heights 0", func(t *testing.T) {
		f, err := oneShape(t, polygonZ, multi(polygonZ, z(0, 0, 0, 0, 0), square))
		require.NoError(t, err)
		assert.Equal(t, geo.Info, noteOf(t, f.Notes, geo.NoteHeightMissing).Severity)
		assert.False(t, f.Features[0].Polygons[0][0][0].HasZ())
	})
}

func TestTrapNullShapes(t *testing.T) {
	shp, shx := mainFile(polygon, nullShape(), multi(polygon, nil, box(0, 0, 1, 1)), multi(polygon, nil))
	f := mustRead(t, files{"a.shp": shp, "a.shx": shx, "a.dbf": names("A", "B", "C")}, "a.shp")
	require.Len(t, f.Features, 1)
	assert.Equal(t, 2, f.Features[0].Number)
	assert.Equal(t, "B", f.Features[0].Name)
	n := noteOf(t, f.Notes, geo.NoteFeatureLeft)
	assert.Equal(t, "a.shp: features 1, 3", n.Place)

	shp, shx = mainFile(polygon, nullShape())
	_, err := read(files{"a.shp": shp, "a.shx": shx}, "a.shp")
	assert.Contains(t, refused(t, err).Problem, "1 feature, and it has no shape")
	shp, shx = mainFile(polygon)
	_, err = read(files{"a.shp": shp, "a.shx": shx}, "a.shp")
	assert.Contains(t, refused(t, err).Problem, "holds no feature")
}

func TestTrapNotFinite(t *testing.T) {
	bad := box(0, 0, 10, 10)
	bad[2][1] = math.NaN()
	_, err := oneShape(t, polygon, multi(polygon, nil, box(0, 0, 1, 1), bad))
	require.EqualError(t, err, `a.shp: feature 1 "one", part 2, vertex 3: Y is NaN, which is no place`)
	assert.NotEmpty(t, refused(t, err).Hint)
	_, err = oneShape(t, polyLine, multi(polyLine, nil, []xy{{math.Inf(1), 0}, {1, 1}}))
	require.EqualError(t, err, `a.shp: feature 1 "one", vertex 1: X is +Inf, which is no place`)
	_, err = oneShape(t, point, append(le32(point), doubles(1, math.Inf(-1))...))
	require.EqualError(t, err, `a.shp: feature 1 "one", vertex 1: Y is -Inf, which is no place`)
	_, err = oneShape(t, multiPoint, append(append(append(le32(multiPoint), doubles(0, 0, 0, 0)...), le32(2)...), doubles(1, 1, math.NaN(), 1)...))
	require.EqualError(t, err, `a.shp: feature 1 "one", vertex 2: X is NaN, which is no place`)
}

// What only geo/polygon and geo/field can judge is handed on as it is.
func TestTrapsLeftToOthersPassUnchanged(t *testing.T) {
	for name, ring := range map[string][]xy{
		"open":      {{1, 2}, {3, 2}, {3, 4}},
		"short":     {{1, 2}, {3, 4}},
		"one":       {{1, 2}},
		"duplicate": {{1, 2}, {1, 2}, {3, 2}, {3, 4}, {1, 2}},
		"crossing":  {{0, 0}, {1, 1}, {1, 0}, {0, 1}, {0, 0}},
		"island 0":  {{0, 0}, {1, 1}, {1, 0}, {0, 0}},
		"far away":  {{1e300, 0}, {1, 1e300}, {1, 0}, {1e300, 0}},
	} {
		f, err := oneShape(t, polygon, multi(polygon, nil, ring))
		require.NoError(t, err, name)
		assert.Len(t, f.Features[0].Polygons[0][0], len(ring))
		for i, c := range f.Features[0].Polygons[0][0] {
			assert.Equal(t, ring[i], xy{c.X, c.Y}, name)
		}
	}
}

func TestReferenceMissing(t *testing.T) {
	for name, prj := range map[string][]byte{"no file": nil, "empty": []byte(" \r\n")} {
		l := layer()
		if l["north.prj"] = prj; prj == nil {
			delete(l, "north.prj")
		}
		assert.True(t, mustRead(t, l, "north.shp").Reference.Silent(), name)
	}
	l := layer()
	l["north.prj"] = []byte("<html>")
	_, err := read(l, "north.shp")
	assert.Contains(t, refused(t, err).Error(), "north.prj: this is an HTML page")
}
