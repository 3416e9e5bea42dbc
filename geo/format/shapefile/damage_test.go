package shapefile_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/format"
	"hemrow/geo/format/shapefile"
)

// Damage inside a frame costs the record, a damaged frame only where the index
// does not help, and the end of the file ends the stream.
func TestDamage(t *testing.T) {
	good := multi(polygon, nil, box(0, 0, 1, 1))
	spoilt := bytes.Clone(good)
	copy(spoilt[40:], le32(999999))
	shp, shx := mainFile(polygon, good, spoilt, good)
	frame := bytes.Clone(shp)
	second := 100 + 8 + len(good)
	copy(frame[second:], be32(77))
	copy(frame[second+4:], be32(1<<28))
	for name, c := range map[string]struct {
		f    files
		want []string // of each record: "" is good, else part of the error; the last may end the stream
	}{
		"content":              {files{"a.shp": shp, "a.shx": shx}, []string{"", "where its Polygon needs 16000032", ""}},
		"content, no index":    {files{"a.shp": shp}, []string{"", "where its Polygon needs", ""}},
		"frame":                {files{"a.shp": frame, "a.shx": shx}, []string{"", "calls itself number 77", ""}},
		"frame, no index":      {files{"a.shp": frame}, []string{"", "end: a.shp: feature 2: the record at byte 236 is damaged"}},
		"content, with table":  {files{"a.shp": shp, "a.dbf": names("A", "B", "C")}, []string{"", `feature 2 "B"`, ""}},
		"frame, table, no shx": {files{"a.shp": frame, "a.dbf": names("A", "B", "C")}, []string{"", "end: a.shp: feature 2"}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, f := range []struct {
				f    files
				path string
			}{{c.f, "a.shp"}, {c.f.zip(t), "all.zip"}} {
				s, err := shapefile.Open(f.f.fs(), f.path, "a.shp", shapefile.Options{})
				require.NoError(t, err)
				var got []string
				for {
					raw, err := s.Next()
					if err == io.EOF {
						break
					}
					if err != nil {
						got = append(got, "end: "+err.Error())
						break
					}
					if _, _, err = s.Decode(raw); err != nil {
						got = append(got, err.Error())
						continue
					}
					got = append(got, "")
				}
				require.Len(t, got, len(c.want), "%v", got)
				for i, w := range c.want {
					assert.Equal(t, w == "", got[i] == "", "%v", got)
					if f.path == "a.shp" {
						assert.Contains(t, got[i], w)
					}
				}
				require.NoError(t, s.Close())
			}
		})
	}
}

func TestDamagedShapes(t *testing.T) {
	good := multi(polygon, nil, box(0, 0, 1, 1), box(2, 2, 3, 3))
	with := func(at int, v int) []byte {
		b := bytes.Clone(good)
		binary.LittleEndian.PutUint32(b[at:], uint32(v))
		return b
	}
	for name, c := range map[string]struct {
		content []byte
		want    string
	}{
		"no type":          {nil, "0 bytes, too few for a shape type"},
		"no such type":     {with(0, 9), "shape type 9"},
		"MultiPatch":       {with(0, multiPatch), "MultiPatch"},
		"other kind":       {with(0, polyLine), "a PolyLine in a file of Polygon"},
		"no room for head": {good[:40], "where its Polygon needs 44"},
		"negative parts":   {with(36, -1), "-1 parts in a record"},
		"many parts":       {with(36, 1<<30), "1073741824 parts in a record"},
		"negative points":  {with(40, -5), "-5 vertices"},
		"many points":      {with(40, 1<<30), "needs 17179869236"},
		"parts backwards":  {with(48, -3), "part 2: the part begins at vertex -2 of 10"},
		"parts beyond":     {with(48, 11), "part 2: the part begins at vertex 12 of 10"},
		"first part late":  {with(44, 2), "part 1: the part begins at vertex 3"},
		"no part":          {append(append(le32(polygon), doubles(0, 0, 0, 0)...), append(le32(0), append(le32(1), doubles(1, 1)...)...)...), "1 vertices and no part"},
		"short heights":    {multi(polygonZ, doubles(1, 2, 3), box(0, 0, 1, 1)), "where its PolygonZ needs"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := oneShape(t, polygon, c.content)
			e := refused(t, err)
			assert.Contains(t, e.Error(), c.want)
			assert.Equal(t, 1, e.Feature)
			assert.Equal(t, "one", e.Name)
		})
	}
}

// All kinds, as they stand in the technical description.
func TestKinds(t *testing.T) {
	points := func(kind int, tail ...float64) []byte {
		b := append(append(le32(kind), doubles(0, 0, 0, 0)...), le32(2)...)
		return append(append(b, doubles(1, 2, 3, 4)...), doubles(tail...)...)
	}
	line := []xy{{1, 2}, {3, 4}}
	for name, c := range map[string]struct {
		kind    int
		content []byte
		want    format.Feature
	}{
		"Point":          {point, append(le32(point), doubles(1, 2)...), format.Feature{Points: coords(line[:1])}},
		"PointM":         {pointM, append(le32(pointM), doubles(1, 2, 7)...), format.Feature{Points: coords(line[:1])}},
		"PointZ":         {pointZ, append(le32(pointZ), doubles(1, 2, 7, -1e39)...), format.Feature{Points: coords(line[:1], 7)}},
		"PointZ short":   {pointZ, append(le32(pointZ), doubles(1, 2, 7)...), format.Feature{Points: coords(line[:1], 7)}},
		"MultiPoint":     {multiPoint, points(multiPoint), format.Feature{Points: coords(line)}},
		"MultiPointZ":    {multiPointZ, points(multiPointZ, 0, 0, 7, 8), format.Feature{Points: coords(line, 7, 8)}},
		"PolyLine":       {polyLine, multi(polyLine, nil, line), format.Feature{Lines: [][]format.Coord{coords(line)}}},
		"PolyLine parts": {polyLine, multi(polyLine, nil, line, nil, line), format.Feature{Lines: [][]format.Coord{coords(line), coords(line)}}},
		"PolyLineZ":      {polyLineZ, multi(polyLineZ, doubles(0, 0, 7, 8), line), format.Feature{Lines: [][]format.Coord{coords(line, 7, 8)}}},
	} {
		t.Run(name, func(t *testing.T) {
			f, err := oneShape(t, c.kind, c.content)
			require.NoError(t, err)
			got := f.Features[0]
			assert.Equal(t, fmt.Sprint(c.want.Points, c.want.Lines, c.want.Polygons), fmt.Sprint(got.Points, got.Lines, got.Polygons))
		})
	}
}

func coords(ps []xy, z ...float64) (out []format.Coord) {
	for i, p := range ps {
		c := format.Coord{X: p[0], Y: p[1], Z: math.NaN()}
		if z != nil {
			c.Z = z[i]
		}
		out = append(out, c)
	}
	return out
}

// Files that offer nothing but reading are read whole.
func TestPlainFileSystem(t *testing.T) {
	for path, f := range map[string]files{"north.shp": layer(), "all.zip": layer().zip(t), ".": layer()} {
		got, err := shapefile.Read(plainFS{f.fs()}, path, path, shapefile.Options{})
		require.NoError(t, err, path)
		assert.Len(t, got.Features, 2)
	}
}

func TestClosedStream(t *testing.T) {
	s, err := shapefile.Open(layer().fs(), "north.shp", "north.shp", shapefile.Options{})
	require.NoError(t, err)
	assert.Equal(t, "north.shp", s.Name())
	require.NoError(t, s.Close())
	require.NoError(t, s.Close(), "twice does no harm")
	_, err = s.Next()
	require.Error(t, err)
}

// A folder that holds an archive says so.
func TestFolderOfArchives(t *testing.T) {
	_, err := read(files{"parcels.zip": layer().zip(t)["all.zip"]}, ".")
	e := refused(t, err)
	assert.Contains(t, e.Problem, "the folder holds no .shp")
	assert.Contains(t, e.Hint, "parcels.zip")
}

// A layer of any length is streamed in constant memory, out of a deflated
// archive too: halfway through 20 MB no more than a few blocks are held.
func TestConstantMemory(t *testing.T) {
	const n = 30_000
	loose := manyFields(n)
	packed := loose.zip(t)
	for path, f := range map[string]files{"f.shp": loose, "all.zip": packed} {
		fsys := f.fs()
		held := func() uint64 {
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			return m.HeapAlloc
		}
		before := held()
		s, err := shapefile.Open(fsys, path, path, optNone)
		require.NoError(t, err)
		for range n / 2 {
			raw, err := s.Next()
			require.NoError(t, err)
			_, _, err = s.Decode(raw)
			require.NoError(t, err)
		}
		const blocks = 3 << 20
		assert.Less(t, held(), before+blocks, path)
		require.NoError(t, s.Close())
		runtime.KeepAlive(loose)
		runtime.KeepAlive(packed)
	}
}
