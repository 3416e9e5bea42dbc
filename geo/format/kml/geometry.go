package kml

import (
	"math"

	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// geometry reads any geometry; other elements are passed over.
func (p *placemark) geometry(e markup.Element) error {
	switch e.Name {
	case "MultiGeometry":
		p.many = true
		return p.Each(p.geometry)
	case "Polygon":
		return p.polygon()
	case "Point", "LineString", "LinearRing":
		return p.simple(e.Name)
	case "Track":
		return p.track()
	case "MultiTrack":
		p.many = true
		return p.Each(func(e markup.Element) error {
			if e.Name == "Track" {
				return p.track()
			}
			return nil
		})
	case "Model":
		p.models++
		p.tally.Add(model, p.f.Number, 1)
	}
	return nil
}

// part counts the parts of a MultiGeometry from 1, each kind by itself; a
// geometry that stands alone has no number.
func (p *placemark) part(before int) {
	p.at.Part, p.at.Hole, p.at.Vertex = 0, 0, 0
	if p.many {
		p.at.Part = before + 1
	}
}

// mode is an altitudeMode: only the absolute one gives heights of their own.
type mode struct{ absolute bool }

// read takes the mode from its element, and reports whether e was one.
func (m *mode) read(p *placemark, e markup.Element) (bool, error) {
	if e.Name != "altitudeMode" {
		return false, nil
	}
	text, err := p.String()
	m.absolute = text == "absolute"
	return true, err
}

// apply takes out numbers that are no heights.
func (m mode) apply(p *placemark, path []format.Coord) {
	if m.absolute {
		return
	}
	n := 0
	for i := range path {
		if z := path[i].Z; z != 0 && !math.IsNaN(z) {
			n++
		}
		path[i].Z = math.NaN()
	}
	p.tally.Add(heightNone, p.f.Number, n)
}

// simple reads a geometry with one list of coordinates.
func (p *placemark) simple(kind string) error {
	if kind == "Point" {
		p.part(len(p.f.Points))
	} else {
		p.part(len(p.f.Lines))
	}
	path, err := p.path()
	switch {
	case err != nil:
		return err
	case len(path) == 0:
		p.tally.Add(markup.ShapeEmpty, p.f.Number, 1)
	case kind != "Point":
		p.f.Lines = append(p.f.Lines, path)
	case len(path) > 1:
		p.at.Vertex = 2
		return p.fail("a Point has more than one position", "draw it as a LineString or a Polygon")
	default:
		p.f.Points = append(p.f.Points, path[0])
	}
	return nil
}

// path reads altitudeMode and coordinates of the element opened last.
func (p *placemark) path() (path []format.Coord, err error) {
	var m mode
	err = p.Each(func(e markup.Element) error {
		if is, err := m.read(p, e); is || err != nil || e.Name != "coordinates" {
			return err
		}
		more, err := p.coordinates()
		path = append(path, more...)
		return err
	})
	m.apply(p, path)
	return path, err
}

// polygon reads outerBoundaryIs and innerBoundaryIs in any order.
func (p *placemark) polygon() error {
	p.part(len(p.f.Polygons))
	var m mode
	var outer format.Ring
	var holes []format.Ring
	seen := false
	err := p.Each(func(e markup.Element) error {
		is, err := m.read(p, e)
		if is || err != nil {
			return err
		}
		switch e.Name {
		case "outerBoundaryIs":
			return p.rings(func(r format.Ring) error {
				if seen {
					return p.fail("a Polygon has a second outer ring", "make it a Polygon of its own in a MultiGeometry")
				}
				seen, outer = true, r
				return nil
			})
		case "innerBoundaryIs":
			p.at.Hole = len(holes) + 1
			err := p.rings(func(r format.Ring) error {
				if holes = append(holes, r); len(r) == 0 {
					p.tally.Add(markup.ShapeEmpty, p.f.Number, 1)
				}
				p.at.Hole = len(holes) + 1
				return nil
			})
			p.at.Hole = 0
			return err
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.close(m, outer, holes)
}

// close makes the polygon of its rings.
func (p *placemark) close(m mode, outer format.Ring, holes []format.Ring) error {
	poly := format.Polygon{outer}
	for _, h := range holes {
		if len(h) > 0 {
			poly = append(poly, h)
		}
	}
	if len(outer) == 0 {
		if len(poly) > 1 {
			return p.fail("a Polygon has holes but no outer ring", "draw the outer ring, or take the polygon out")
		}
		p.tally.Add(markup.ShapeEmpty, p.f.Number, 1)
		return nil
	}
	for _, r := range poly {
		m.apply(p, r)
	}
	p.f.Polygons = append(p.f.Polygons, poly)
	return nil
}

// rings reads the LinearRings of a boundary.
func (p *placemark) rings(take func(format.Ring) error) error {
	return p.Each(func(e markup.Element) error {
		if e.Name != "LinearRing" {
			return nil
		}
		var ring format.Ring
		err := p.Each(func(e markup.Element) error {
			if e.Name != "coordinates" {
				return nil
			}
			more, err := p.coordinates()
			ring = append(ring, more...)
			return err
		})
		if err != nil {
			return err
		}
		return take(ring)
	})
}

// track reads the positions of a logged track as a line.
func (p *placemark) track() error {
	p.part(len(p.f.Lines))
	var m mode
	var path []format.Coord
	seen := 0
	err := p.Each(func(e markup.Element) error {
		if is, err := m.read(p, e); is || err != nil || e.Name != "coord" {
			return err
		}
		seen++
		p.at.Vertex = seen
		c, empty, err := p.coord()
		if empty {
			p.tally.Add(noCoord, p.f.Number, 1)
		} else if err == nil {
			path = append(path, c)
		}
		return err
	})
	if err != nil {
		return err
	}
	p.at.Vertex = 0
	if len(path) == 0 {
		p.tally.Add(markup.ShapeEmpty, p.f.Number, 1)
		return nil
	}
	m.apply(p, path)
	p.f.Lines = append(p.f.Lines, path)
	return nil
}
