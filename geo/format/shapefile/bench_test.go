package shapefile_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"hemrow/geo/format/shapefile"
)

var optNone shapefile.Options

// rawsOf are all raw records of a file; the stream is closed with the test.
func rawsOf(t testing.TB, name string) (*shapefile.Stream, []shapefile.Raw) {
	t.Helper()
	s, err := shapefile.Open(os.DirFS(filepath.Dir(name)), filepath.Base(name), name, optNone)
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	var out []shapefile.Raw
	for {
		raw, err := s.Next()
		if err == io.EOF {
			return s, out
		}
		require.NoError(t, err)
		out = append(out, raw)
	}
}

const meanVertices = 38 // of the outlines of a national register (measured in the real files at hand)

// manyFields is a layer of n polygons of 38 vertices on average, in a national
// grid.
func manyFields(n int) files {
	records := make([][]byte, n)
	rows := make([]string, n)
	for i := range records {
		k := meanVertices - 20 + i%41
		ring := make([]xy, k)
		for v := range ring {
			s, c := math.Sincos(-2 * math.Pi * float64(v) / float64(k-1))
			ring[v] = xy{5e5 + float64(i%300)*400 + 150*c, 5e6 + float64(i/300)*400 + 150*s}
		}
		ring[k-1] = ring[0]
		records[i] = multi(polygon, nil, ring)
		rows[i] = fmt.Sprintf("kr-%06d", i)
	}
	shp, shx := mainFile(polygon, records...)
	return files{"f.shp": shp, "f.shx": shx, "f.dbf": names(rows...), "f.prj": []byte(wgs84), "f.cpg": []byte("UTF-8")}
}

// BenchmarkStream reads 100 000 polygons one after another, from a folder and
// from a deflated archive.
func BenchmarkStream(b *testing.B) {
	const n = 100_000
	f := manyFields(n)
	for _, c := range []struct {
		name, path string
		f          files
	}{{"folder", "f.shp", f}, {"zip", "all.zip", f.zip(b)}} {
		b.Run(c.name, func(b *testing.B) {
			fsys := c.f.fs()
			b.SetBytes(int64(len(f["f.shp"]) + len(f["f.dbf"])))
			b.ReportAllocs()
			for b.Loop() {
				s, err := shapefile.Open(fsys, c.path, c.path, optNone)
				if err != nil {
					b.Fatal(err)
				}
				got := 0
				for {
					raw, err := s.Next()
					if err == io.EOF {
						break
					}
					if err != nil {
						b.Fatal(err)
					}
					one, _, err := s.Decode(raw)
					if err != nil || len(one.Polygons) != 1 {
						b.Fatal(err)
					}
					got++
				}
				if err := s.Close(); err != nil || got != n {
					b.Fatal(got, err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(n*meanVertices), "ns/vertex")
		})
	}
}

func BenchmarkDecode(b *testing.B) {
	s, raws := rawsOf(b, "testdata/nl-brp-rdnew.zip")
	vertices := 0
	for _, r := range raws {
		f, _, err := s.Decode(r)
		if err != nil {
			b.Fatal(err)
		}
		for _, p := range f.Polygons {
			for _, ring := range p {
				vertices += len(ring)
			}
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, r := range raws {
			if _, _, err := s.Decode(r); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(vertices), "ns/vertex")
}

func BenchmarkAssemble(b *testing.B) {
	for _, n := range []int{10, 100, 1000} {
		rings := [][]xy{box(-1, -1, 1e6, 1e6)}
		for i := range n {
			x, y := float64(i%40)*30, float64(i/40)*30
			rings = append(rings, hole(x, y, x+20, y+20))
		}
		shp, shx := mainFile(polygon, multi(polygon, nil, rings...))
		f := files{"a.shp": shp, "a.shx": shx}.fs()
		s, err := shapefile.Open(f, "a.shp", "a.shp", optNone)
		require.NoError(b, err)
		raw, err := s.Next()
		require.NoError(b, err)
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if f, _, err := s.Decode(raw); err != nil || len(f.Polygons[0]) != n+1 {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkWriteSet writes what it has read.
func BenchmarkWriteSet(b *testing.B) {
	l := sampleLayer()
	for range 1000 {
		l.Records = append(l.Records, l.Records[0])
	}
	b.ReportAllocs()
	for b.Loop() {
		set, err := shapefile.WriteSet(l)
		if err != nil {
			b.Fatal(err)
		}
		if err := shapefile.Pack(&bytes.Buffer{}, set, l.Date); err != nil {
			b.Fatal(err)
		}
	}
}
