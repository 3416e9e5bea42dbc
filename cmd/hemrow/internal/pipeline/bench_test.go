package pipeline

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/require"

	"hemrow/geo"
	"hemrow/geo/field"
	"hemrow/geo/format"
	"hemrow/geo/format/delivery"
	"hemrow/geo/format/geojson"
	"hemrow/rows"
)

// nineHectares is the yardstick: a ring of 26 vertices, about 9 ha, near 48 N.
func nineHectares(seed uint64) []geo.LonLat {
	rng := rand.New(rand.NewPCG(seed, 26))
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
	ring := make([]geo.LonLat, 0, 27)
	for i := range 26 {
		phi := 2 * math.Pi * (float64(i) + 0.8*rng.Float64()) / 26
		d := 192 * (1 - 0.22*rng.Float64())
		ring = append(ring, f.ToLonLat(orb.Point{d * math.Cos(phi), d * math.Sin(phi)}))
	}
	return append(ring, ring[0])
}

func yardstickSpec() rows.Spec {
	s := rows.DefaultSpec()
	s.SpacingM, s.HeadlandM, s.SideM, s.TurnRadiusM = 5, 6, 6, 2.5 // a turn that the headland holds
	s.Heading = rows.Heading{Mode: rows.HeadingFixed, Bearing: 37}
	s.FirstRow = rows.FirstRow{OffsetM: 2.5}
	return s
}

func yardstickFile(ring []geo.LonLat) format.File {
	r := make(format.Ring, len(ring))
	for i, p := range ring {
		r[i] = format.Coord{X: p.LonDeg, Y: p.LatDeg, Z: math.NaN()}
	}
	return format.File{
		Name: "yardstick", Format: "GeoJSON", Reference: format.Reference{WGS84: true},
		Features: []format.Feature{{Number: 1, Polygons: []format.Polygon{{r}}}},
	}
}

// BenchmarkWholeJob is the whole job from longitude and latitude to row
// lengths, heading fixed: checked is geo/field.Build (faults looked for, notes
// written) and rows.Plan (numbers, parts, order of laying, lines); bare
// projects the vertices and plans, without checks.
func BenchmarkWholeJob(b *testing.B) {
	ring := nineHectares(9)
	spec := yardstickSpec()
	b.Run("checked", func(b *testing.B) {
		file := yardstickFile(ring)
		var p rows.Planner
		b.ReportAllocs()
		for b.Loop() {
			f, _, err := field.Build(context.Background(), file, nil, field.Spec{})
			require.NoError(b, err)
			_, _, err = p.Plan(context.Background(), f, spec)
			require.NoError(b, err)
		}
	})
	b.Run("bare", func(b *testing.B) {
		var p rows.Planner
		b.ReportAllocs()
		for b.Loop() {
			frame, _ := geo.NewFrame(geo.LonLat{LonDeg: 17.5, LatDeg: 48.2})
			local := make(orb.Ring, len(ring))
			for i, v := range ring {
				local[i] = frame.ToLocal(v)
			}
			f := geo.Field{Frame: frame, Blocks: []geo.Block{{Outline: orb.Polygon{local}}}}
			_, _, err := p.Plan(context.Background(), f, spec)
			require.NoError(b, err)
		}
	})
}

// BenchmarkBatch is a stream of fields from text to totals, without output;
// BenchmarkBatchReading the same stream decoded only.
func BenchmarkBatch(b *testing.B) {
	text := yardstickText(2000)
	spec := yardstickSpec()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		t, err := Batch{Spec: spec, Workers: 1}.Run(context.Background(), delivery.Features("bench", bytes.NewReader(text)), io.Discard)
		require.NoError(b, err)
		require.Equal(b, 2000, t.Fields)
	}
}

func BenchmarkBatchReading(b *testing.B) {
	text := yardstickText(2000)
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		s := geojson.NewStream("bench", bytes.NewReader(text))
		for {
			raw, err := s.Next()
			if err == io.EOF {
				break
			}
			require.NoError(b, err)
			_, _, err = s.Decode(raw)
			require.NoError(b, err)
		}
	}
}

func yardstickText(n int) []byte {
	var buf bytes.Buffer
	for i := range n {
		fmt.Fprintf(&buf, `{"type":"Feature","properties":{"id":"f%d"},"geometry":{"type":"Polygon","coordinates":[[`, i)
		for k, p := range nineHectares(uint64(i % 50)) {
			if k > 0 {
				buf.WriteByte(',')
			}
			fmt.Fprintf(&buf, "[%.9f,%.9f]", p.LonDeg, p.LatDeg)
		}
		buf.WriteString("]]}}\n")
	}
	return buf.Bytes()
}
