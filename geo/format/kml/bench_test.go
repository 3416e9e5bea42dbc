package kml_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"hemrow/geo/format/kml"
)

func BenchmarkRead(b *testing.B) {
	for _, c := range []struct{ fields, corners int }{{10, 26}, {1000, 26}, {1, 100000}} {
		var list strings.Builder
		for i := range c.corners {
			s, cos := math.Sincos(2 * math.Pi * float64(i) / float64(c.corners))
			fmt.Fprintf(&list, "%.9f,%.9f,0 ", 15.45+0.002*cos, 46.95+0.0014*s)
		}
		in := document(strings.Repeat(mark(polygonXML(list.String())), c.fields))
		b.Run(fmt.Sprintf("fields=%d/corners=%d", c.fields, c.corners), func(b *testing.B) {
			b.SetBytes(int64(len(in)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := kml.Read("bench.kml", strings.NewReader(in)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
