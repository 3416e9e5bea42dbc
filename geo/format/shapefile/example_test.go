package shapefile_test

import (
	"bytes"
	"fmt"
	"io"
	"testing/fstest"
	"time"

	"hemrow/geo"
	"hemrow/geo/format/shapefile"
)

// kestrelRise is an archive of two blocks of an invented orchard.
func kestrelRise() []byte {
	block := func(name string, lonDeg float64) shapefile.Record { //unit:degrees
		at := func(east, north float64) geo.LonLat { //unit:degrees
			return geo.LonLat{LonDeg: lonDeg + east, LatDeg: 47.2 + north}
		}
		ring := shapefile.Path{At: []geo.LonLat{at(0, 0), at(0.002, 0), at(0.002, 0.001), at(0, 0.001)}}
		return shapefile.Record{Polygons: [][]shapefile.Path{{ring}}, Values: []any{name}}
	}
	date := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	set, err := shapefile.WriteSet(shapefile.Layer{
		Name: "blocks", Kind: shapefile.Polygons, Date: date,
		Fields:  []shapefile.Field{{Name: "NAME", Type: shapefile.TextField, Width: 32}},
		Records: []shapefile.Record{block("Hazel", -18.4), block("Plum", -18.39)},
	})
	if err != nil {
		panic(err)
	}
	var out bytes.Buffer
	if err := shapefile.Pack(&out, set, date); err != nil {
		panic(err)
	}
	return out.Bytes()
}

func ExampleRead() {
	fsys := fstest.MapFS{"kestrel-rise.zip": {Data: kestrelRise()}}
	file, err := shapefile.Read(fsys, "kestrel-rise.zip", "kestrel-rise.zip", shapefile.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(file.Reference.Declared)
	for _, f := range file.Features {
		fmt.Println(f.Number, f.Name, len(f.Polygons[0][0]), "vertices, first", f.Polygons[0][0][0].X, f.Polygons[0][0][0].Y)
	}
	// Output:
	// GCS_WGS_1984
	// 1 Hazel 5 vertices, first -18.4 47.2
	// 2 Plum 5 vertices, first -18.39 47.2
}

func ExampleStream() {
	fsys := fstest.MapFS{"kestrel-rise.zip": {Data: kestrelRise()}}
	s, err := shapefile.Open(fsys, "kestrel-rise.zip", "kestrel-rise.zip", shapefile.Options{Layer: "blocks"})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer s.Close()
	for {
		raw, err := s.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		f, _, err := s.Decode(raw)
		fmt.Println(f.Name, err)
	}
	// Output:
	// Hazel <nil>
	// Plum <nil>
}

func ExampleWriteSet() {
	set, err := shapefile.WriteSet(shapefile.Layer{
		Name: "rows", Kind: shapefile.Lines, Date: time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC),
		Fields: []shapefile.Field{{Name: "NAME", Type: shapefile.TextField, Width: 32}},
		Records: []shapefile.Record{{
			Lines:  []shapefile.Path{{At: []geo.LonLat{{LonDeg: -18.4, LatDeg: 47.2}, {LonDeg: -18.4, LatDeg: 47.201}}}},
			Values: []any{"Row 1"},
		}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range set {
		fmt.Println(m.Name, len(m.Data), "bytes")
	}
	// Output:
	// rows.shp 188 bytes
	// rows.shx 108 bytes
	// rows.dbf 99 bytes
	// rows.prj 145 bytes
	// rows.cpg 5 bytes
}
