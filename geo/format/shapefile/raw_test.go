package shapefile_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/shapefile"
)

// Shapefiles are put together here byte by byte from the tables of the ESRI
// Shapefile Technical Description (1998), apart from the writer of the package.

// shape types (page 4)
const (
	null        = 0
	point       = 1
	polyLine    = 3
	polygon     = 5
	multiPoint  = 8
	pointZ      = 11
	polyLineZ   = 13
	polygonZ    = 15
	multiPointZ = 18
	pointM      = 21
	polygonM    = 25
	multiPatch  = 31
)

type xy [2]float64

func le32(v int) []byte { return binary.LittleEndian.AppendUint32(nil, uint32(v)) }
func be32(v int) []byte { return binary.BigEndian.AppendUint32(nil, uint32(v)) }

func doubles(v ...float64) (b []byte) {
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	return b
}

// multi is the content of a PolyLine or Polygon; tail follows the points.
func multi(kind int, tail []byte, parts ...[]xy) []byte {
	b := append(le32(kind), doubles(0, 0, 0, 0)...)
	n := 0
	for _, p := range parts {
		n += len(p)
	}
	b = append(append(b, le32(len(parts))...), le32(n)...)
	n = 0
	for _, p := range parts {
		b = append(b, le32(n)...)
		n += len(p)
	}
	for _, p := range parts {
		for _, c := range p {
			b = append(b, doubles(c[0], c[1])...)
		}
	}
	return append(b, tail...)
}

func nullShape() []byte { return le32(null) }

// mainFile is a .shp with its .shx.
func mainFile(kind int, records ...[]byte) (shp, shx []byte) {
	head := make([]byte, 100)
	copy(head, be32(9994))
	copy(head[28:], le32(1000))
	copy(head[32:], le32(kind))
	shp, shx = bytes.Clone(head), bytes.Clone(head)
	for i, r := range records {
		shx = append(append(shx, be32(len(shp)/2)...), be32(len(r)/2)...)
		shp = append(append(append(shp, be32(i+1)...), be32(len(r)/2)...), r...)
	}
	stateLength(shp)
	stateLength(shx)
	return shp, shx
}

func stateLength(b []byte) { copy(b[24:], be32(len(b)/2)) }

type tableField struct {
	name string
	kind byte
	size int
}

// tableFile is a .dbf; a row is its marker and its fields, padded with blanks.
func tableFile(language byte, fields []tableField, rows ...[]string) []byte {
	size := 1
	for _, f := range fields {
		size += f.size
	}
	b := make([]byte, 32)
	b[0], b[1], b[2], b[3], b[29] = 3, 126, 11, 25, language
	copy(b[4:], le32(len(rows)))
	binary.LittleEndian.PutUint16(b[8:], uint16(33+32*len(fields)))
	binary.LittleEndian.PutUint16(b[10:], uint16(size))
	for _, f := range fields {
		d := make([]byte, 32)
		copy(d, f.name)
		d[11], d[16] = f.kind, byte(f.size)
		b = append(b, d...)
	}
	b = append(b, 0x0D)
	for _, r := range rows {
		b = append(b, r[0]...)
		for i, f := range fields {
			b = append(b, r[i+1]...)
			b = append(b, strings.Repeat(" ", f.size-len(r[i+1]))...)
		}
	}
	return append(b, 0x1A)
}

var nameField = []tableField{{"NAME", 'C', 20}}

// names is a .dbf of names, none of them deleted.
func names(all ...string) []byte {
	rows := make([][]string, len(all))
	for i, n := range all {
		rows[i] = []string{" ", n}
	}
	return tableFile(0, nameField, rows...)
}

const wgs84 = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// files are a folder.
type files map[string][]byte

func (f files) fs() fstest.MapFS {
	out := fstest.MapFS{}
	for name, data := range f {
		out[name] = &fstest.MapFile{Data: data, Mode: 0o644}
	}
	return out
}

// zip packs the files into one archive under the name all.zip, in the order
// given or by name.
func (f files) zip(t testing.TB, order ...string) files {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	add := func(name string) {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = w.Write(f[name])
		require.NoError(t, err)
	}
	if len(order) == 0 {
		order = slices.Sorted(maps.Keys(f))
	}
	for _, name := range order {
		add(name)
	}
	require.NoError(t, z.Close())
	return files{"all.zip": b.Bytes()}
}

// box is a rectangle as a ring; outer ones run clockwise.
func box(x0, y0, x1, y1 float64) []xy {
	return []xy{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}, {x0, y0}}
}

func hole(x0, y0, x1, y1 float64) []xy {
	return []xy{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}
}

// layer is two named squares.
func layer() files {
	shp, shx := mainFile(polygon, multi(polygon, nil, box(0, 0, 10, 10)), multi(polygon, nil, box(20, 0, 30, 10)))
	return files{"north.shp": shp, "north.shx": shx, "north.dbf": names("Upper", "Lower"), "north.prj": []byte(wgs84), "north.cpg": []byte("UTF-8")}
}

func read(f files, name string) (format.File, error) {
	return shapefile.Read(f.fs(), name, name, shapefile.Options{})
}

func mustRead(t *testing.T, f files, name string) format.File {
	t.Helper()
	out, err := read(f, name)
	require.NoError(t, err)
	return out
}

// oneShape reads a layer of a single record without a table.
func oneShape(t *testing.T, kind int, content []byte) (format.File, error) {
	t.Helper()
	shp, shx := mainFile(kind, content)
	return read(files{"a.shp": shp, "a.shx": shx, "a.dbf": names("one")}, "a.shp")
}

// refused is the input error of a reading that must fail.
func refused(t *testing.T, err error) *geo.InputError {
	t.Helper()
	var e *geo.InputError
	require.ErrorAs(t, err, &e)
	return e
}

// noteOf is the one note with the code.
func noteOf(t *testing.T, notes geo.Notes, code geo.Code) geo.Note {
	t.Helper()
	var found geo.Notes
	for _, n := range notes {
		if n.Code == code {
			found = append(found, n)
		}
	}
	require.Len(t, found, 1, "%s in notes %v", code, notes)
	return found[0]
}

func text(ring []format.Coord) string {
	var b strings.Builder
	for _, c := range ring {
		fmt.Fprintf(&b, "%g,%g", c.X, c.Y)
		if c.HasZ() {
			fmt.Fprintf(&b, ",%g", c.Z)
		}
		b.WriteByte(' ')
	}
	return strings.TrimSpace(b.String())
}

func folder(t testing.TB, f files) string {
	t.Helper()
	dir := t.TempDir()
	for name, data := range f {
		require.NoError(t, os.WriteFile(dir+"/"+name, data, 0o644))
	}
	return dir
}

// plainFS hides what files of a MapFS can do beyond reading.
type plainFS struct{ fs.FS }

type plainFile struct{ fs.File }

func (p plainFS) Open(name string) (fs.File, error) {
	f, err := p.FS.Open(name)
	if err != nil {
		return nil, err
	}
	if d, ok := f.(fs.ReadDirFile); ok {
		return d, nil
	}
	return plainFile{f}, nil
}
