package pipeline

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hemrow/geo/field"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
)

// manyParcels is a loose shapefile of n parcels in a national grid: those of
// one real file (Danish Agricultural Agency, CC0) over and over.
func manyParcels(tb testing.TB, n int) fstest.MapFS {
	tb.Helper()
	z, err := zip.OpenReader(filepath.Join("..", "..", "..", "..", "geo", "format", "shapefile", "testdata", "dk-marker-utm32.zip"))
	require.NoError(tb, err)
	defer z.Close()
	part := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(tb, err)
		part[filepath.Ext(f.Name)], err = io.ReadAll(r)
		require.NoError(tb, err)
	}
	shp, dbf := part[".shp"], part[".dbf"]
	var shapes [][]byte
	for at := 100; at < len(shp); {
		size := 8 + 2*int(binary.BigEndian.Uint32(shp[at+4:]))
		shapes = append(shapes, shp[at:at+size])
		at += size
	}
	head, row := int(binary.LittleEndian.Uint16(dbf[8:])), int(binary.LittleEndian.Uint16(dbf[10:]))
	outShp, outDbf := bytes.NewBuffer(bytes.Clone(shp[:100])), bytes.NewBuffer(bytes.Clone(dbf[:head]))
	for i := range n {
		k := i % len(shapes)
		outShp.Write(shapes[k])
		outDbf.Write(dbf[head+k*row : head+(k+1)*row])
	}
	binary.BigEndian.PutUint32(outShp.Bytes()[24:], uint32(outShp.Len()/2))
	binary.LittleEndian.PutUint32(outDbf.Bytes()[4:], uint32(n))
	return fstest.MapFS{
		"parcels.shp": {Data: outShp.Bytes()}, "parcels.dbf": {Data: outDbf.Bytes()},
		"parcels.prj": {Data: part[".prj"]}, "parcels.cpg": {Data: part[".cpg"]},
	}
}

func restate(tb testing.TB, fsys fstest.MapFS, workers int, out io.Writer) Totals {
	tb.Helper()
	s, err := delivery.OpenStream(delivery.Source{FS: fsys, Path: "parcels.shp"}, delivery.Options{})
	require.NoError(tb, err)
	defer s.Close()
	r := Restate{Workers: workers, Fail: func(err error) { require.NoError(tb, err) }}
	sum, err := r.Run(context.Background(), s, out)
	require.NoError(tb, err)
	return sum
}

// What is written is what field.Locate says, in the order of the file, for any
// number of workers.
func TestRestate(t *testing.T) {
	fsys := manyParcels(t, 300)
	var one, four bytes.Buffer
	sum := restate(t, fsys, 1, &one)
	assert.Equal(t, 300, sum.Fields)
	restate(t, fsys, 4, &four)
	assert.Equal(t, one.String(), four.String())
	file, err := delivery.Read(delivery.Source{FS: fsys, Path: "parcels.shp"}, delivery.Options{})
	require.NoError(t, err)
	want, _, err := field.Locate(file, field.Spec{})
	require.NoError(t, err)
	got, err := geojson.Read("out", bytes.NewReader(one.Bytes()))
	require.NoError(t, err)
	require.Len(t, got.Features, 300)
	const written = 0.6e-9 // half of the ninth decimal
	for i, f := range got.Features {
		assert.Equal(t, want.Features[i].Properties["id"], f.Properties["id"])
		a, b := want.Features[i].Polygons[0][0], f.Polygons[0][0]
		require.Len(t, b, len(a))
		var sumA, sumB [2]float64 // direction and beginning of a ring may change
		for k := range a[1:] {
			sumA[0], sumA[1] = sumA[0]+a[k].X, sumA[1]+a[k].Y
			sumB[0], sumB[1] = sumB[0]+b[k].X, sumB[1]+b[k].Y
		}
		assert.InDelta(t, sumA[0], sumB[0], written*float64(len(a)))
		assert.InDelta(t, sumA[1], sumB[1], written*float64(len(a)))
	}
}

// A shapefile of 10,000 parcels (mean 52 vertices) in a projected system,
// written as GeoJSON in WGS84 on one core.
func BenchmarkOutlines(b *testing.B) {
	fsys := manyParcels(b, 10000)
	b.SetBytes(int64(len(fsys["parcels.shp"].Data)))
	b.ReportAllocs()
	for b.Loop() {
		restate(b, fsys, 1, io.Discard)
	}
}
