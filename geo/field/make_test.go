package field_test

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
)

// site is a place to draw invented fields at, in metres east and north of it.
type site struct{ lon, lat float64 }

// Kestrel Rise, invented, and places that test the frame.
var (
	kestrel = site{-2.7184213, 52.0361847}
	south   = site{171.2503117, -43.9021345}
	north60 = site{24.9351122, 60.1702233}
	equator = site{36.8201234, 0.0010101}
	islands = site{179.9999321, -16.8123457}
)

// ring draws a closed ring.
func (s site) ring(pts ...[2]float64) format.Ring {
	r := s.line(pts...)
	return format.Ring(append(r, r[0]))
}

func (s site) line(pts ...[2]float64) []format.Coord {
	f, _ := geo.NewFrame(geo.LonLat{LonDeg: s.lon, LatDeg: s.lat})
	var out []format.Coord
	for _, p := range pts {
		q := f.ToLonLat(orb.Point{p[0], p[1]})
		out = append(out, format.Coord{X: q.LonDeg, Y: q.LatDeg, Z: math.NaN()})
	}
	return out
}

// rect is a rectangle with its lower left corner at x, y.
func (s site) rect(x, y, w, h float64) format.Ring {
	return s.ring([2]float64{x, y}, [2]float64{x + w, y}, [2]float64{x + w, y + h}, [2]float64{x, y + h})
}

func polygons(name string, ps ...format.Polygon) format.Feature {
	return format.Feature{Name: name, Polygons: ps}
}

func area(name string, rings ...format.Ring) format.Feature {
	return polygons(name, format.Polygon(rings))
}

// fileOf numbers the features.
func fileOf(fs ...format.Feature) format.File {
	for i := range fs {
		fs[i].Number = i + 1
	}
	return format.File{Name: "rise.geojson", Format: "GeoJSON", Reference: format.Reference{WGS84: true}, Features: fs}
}
