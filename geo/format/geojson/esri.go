package geojson

import (
	"fmt"

	"hemrow/geo/format"
)

// esriFlags is what a feature set of Esri JSON says about all its features.
type esriFlags struct {
	system string // "" unknown
	wgs84  bool
	hasZ   bool
	hasM   bool
}

// read takes in one member, if it is one of the flags.
func (e *esriFlags) read(key string, value []byte) *fault {
	switch key {
	case "hasZ":
		e.hasZ = string(value) == "true"
	case "hasM":
		e.hasM = string(value) == "true"
	case "spatialReference":
		if value[0] != '{' {
			return nil
		}
		return eachMember(value, 0, func(key string, i, end int) *fault {
			switch v := plainValue(value[i:end]); {
			case key == "latestWkid", key == "wkid" && e.system == "":
				e.system = "EPSG:" + v
				e.wgs84 = v == "4326" || v == "4979"
			case key == "wkt" && e.system == "":
				e.system = v
			}
			return nil
		})
	}
	return nil
}

// fault refuses a system that is not the input's, or none at all: unlike GeoJSON,
// Esri JSON has no system of its own.
func (e esriFlags) fault(takes func(code int) bool) *fault {
	if e.wgs84 {
		return nil
	}
	if e.system == "" {
		return &fault{
			problem: "Esri JSON without its coordinate system (spatialReference)",
			hint:    "export the outline as GeoJSON in WGS84",
		}
	}
	return refuseCRS(e.system, takes)
}

// esriGeometry reads an Esri JSON geometry: rings or paths. Rings come in any
// order; a clockwise ring is an outer one and a ring the other way round is a
// hole of the smallest outer ring that holds it.
func (d *decoder) esriGeometry(at int, flags esriFlags) *fault {
	rings, paths, pathsEnd := -1, -1, 0
	other := ""
	err := eachMember(d.b, at, func(key string, i, end int) *fault {
		switch key {
		case "rings":
			rings = i
		case "paths":
			paths, pathsEnd = i, end
		case "x", "points", "curveRings", "curvePaths", "xmin":
			other = key
		default:
			return flags.read(key, d.b[i:end])
		}
		return nil
	})
	if err != nil {
		return err
	}
	if rings < 0 && paths < 0 {
		return &fault{at: at, problem: fmt.Sprintf("Esri JSON geometry without rings or paths (%s)", other)}
	}
	if f := flags.fault(d.takes); f != nil {
		f.at = at
		return f
	}
	d.tally[noteEsri] = 1
	if rings < 0 {
		return d.shape(esriPaths, paths, pathsEnd, flags.hasM && !flags.hasZ)
	}
	list, f := d.coords(esriRings, rings, flags.hasM && !flags.hasZ).polygon()
	if f != nil {
		return f
	}
	d.f.Polygons, f = groupRings(list, at)
	return f
}

// groupRings makes polygons of loose rings.
func groupRings(rings []format.Ring, at int) ([]format.Polygon, *fault) {
	var outer []format.Polygon
	var holes []int
	for i, r := range rings {
		switch {
		case len(r) == 0:
		case twiceArea(r) > 0:
			holes = append(holes, i)
		default:
			outer = append(outer, format.Polygon{r})
		}
	}
	if len(outer) == 0 { // all the wrong way round
		for _, i := range holes {
			outer = append(outer, format.Polygon{rings[i]})
		}
		return outer, nil
	}
	for _, i := range holes {
		best := -1
		for k, o := range outer {
			if holds(o[0], rings[i]) && (best < 0 || -twiceArea(o[0]) < -twiceArea(outer[best][0])) {
				best = k
			}
		}
		if best < 0 {
			return nil, &fault{
				at:      at,
				problem: fmt.Sprintf("ring %d runs the way of a hole but lies in no outer ring", i+1),
				hint:    "outer rings of Esri JSON run clockwise",
			}
		}
		outer[best] = append(outer[best], rings[i])
	}
	return outer, nil
}

// twiceArea is twice the area in the plane of the file's numbers, positive for
// counter-clockwise: only its sign and the order of two of them matter.
func twiceArea(r []format.Coord) float64 {
	var sum float64
	for i := range r {
		a, b := r[i], r[(i+1)%len(r)]
		sum += (a.X-r[0].X)*(b.Y-r[0].Y) - (b.X-r[0].X)*(a.Y-r[0].Y)
	}
	return sum
}

// holds reports whether most vertices of hole lie inside outer: single ones
// may touch it.
func holds(outer, hole []format.Coord) bool {
	in := 0
	for _, p := range hole {
		odd := false
		for i := range outer {
			a, b := outer[i], outer[(i+1)%len(outer)]
			if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(p.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				odd = !odd
			}
		}
		if odd {
			in++
		}
	}
	return 2*in > len(hole)
}
