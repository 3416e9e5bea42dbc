package geojson_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"testing"

	"hemrow/geo"
	"hemrow/geo/format/geojson"
)

// feature26 is a field of 26 corners with the properties of a real one.
func feature26(number int) geojson.OutFeature {
	const corners = 26
	var ring geojson.Path
	for i := range corners {
		s, c := math.Sincos(2 * math.Pi * float64(i) / corners)
		ring.At = append(ring.At, geo.LonLat{LonDeg: -18.4 + 0.002*c + 1e-5*float64(number%100), LatDeg: 47.2 + 0.0014*s})
	}
	return geojson.OutFeature{
		Geometry: geojson.OutGeometry{Polygons: []geojson.OutPolygon{{ring}}},
		Properties: []geojson.Property{
			{Key: "id", Value: fmt.Sprintf("kr-%04d", number)},
			{Key: "name", Value: "Kestrel Rise"},
			{Key: "crop", Value: "hazel"},
			{Key: "area_ha", Value: 4.8},
			{Key: "holes", Value: 0},
			{Key: "kind", Value: "orchard"},
		},
	}
}

func BenchmarkDecode(b *testing.B) {
	line := geojson.AppendFeature(nil, feature26(1))
	s := geojson.NewStream("bench", nil)
	b.SetBytes(int64(len(line)))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := s.Decode(geojson.Raw{Number: 1, Line: 1, Bytes: line}); err != nil {
			b.Fatal(err)
		}
	}
}

func benchmarkCut(b *testing.B, in []byte) {
	b.Helper()
	b.SetBytes(int64(len(in)))
	b.ReportAllocs()
	for b.Loop() {
		s := geojson.NewStream("bench", bytes.NewReader(in))
		for {
			if _, err := s.Next(); err == io.EOF {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkCut(b *testing.B) {
	for _, n := range []int{10, 1000, 10000} {
		var features []geojson.OutFeature
		var lines []byte
		for i := range n {
			features = append(features, feature26(i))
			lines = append(geojson.AppendFeature(lines, features[i]), '\n')
		}
		var collection bytes.Buffer
		if err := geojson.Write(&collection, features); err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("lines/n=%d", n), func(b *testing.B) { benchmarkCut(b, lines) })
		b.Run(fmt.Sprintf("collection/n=%d", n), func(b *testing.B) { benchmarkCut(b, collection.Bytes()) })
	}
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{10, 1000} {
		var features []geojson.OutFeature
		for i := range n {
			features = append(features, feature26(i))
		}
		var in bytes.Buffer
		if err := geojson.Write(&in, features); err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			b.SetBytes(int64(in.Len()))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := geojson.Read("bench", bytes.NewReader(in.Bytes())); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkAppendFeature(b *testing.B) {
	f := feature26(1)
	out := geojson.AppendFeature(nil, f)
	b.SetBytes(int64(len(out)))
	b.ReportAllocs()
	for b.Loop() {
		out = geojson.AppendFeature(out[:0], f)
	}
}
