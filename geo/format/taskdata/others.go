package taskdata

import (
	"math"
	"slices"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// other begins a feature that is not the boundary of the field.
func (p *partfield) other(e markup.Element, kind, id string) format.Feature {
	p.number++
	f := format.Feature{
		Number: p.number, Line: e.Line, ID: id, Name: e.Attr("B"),
		Properties: map[string]any{"kind": kind, "field": p.f.Name},
	}
	if slices.Contains(obstacleKinds[:], kind) {
		f.Properties["keep"] = "clear"
	}
	return f
}

func placeOf(f format.Feature, e markup.Element) geo.InputError {
	return geo.InputError{Feature: f.Number, Name: f.Name, Line: e.Line}
}

// area reads a PLN that is no boundary.
func (p *partfield) area(e markup.Element, kind string) error {
	f := p.other(e, kind, e.Attr("E"))
	var rings []ring
	binaries := 0
	err := p.Each(func(e markup.Element) error {
		if e.Name != "LSG" {
			return nil
		}
		at := placeOf(f, e)
		pts, file, err := p.points(at)
		if file != "" {
			binaries++
		} else if err == nil && len(pts) > 0 {
			rings = append(rings, ring{pts: pts, hole: typeOf(e.Attr("A")) == holeLine, at: at})
		}
		return err
	})
	p.tally.Add(binary, f.Number, binaries)
	if err != nil {
		return err
	}
	if f.Polygons, err = p.assemble(rings); err != nil {
		return err
	}
	if len(f.Polygons) > 0 {
		p.rest = append(p.rest, f)
	} else if len(rings) == 0 && binaries == 0 {
		p.tally.Add(markup.ShapeEmpty, f.Number, 1)
	}
	return nil
}

// line reads an LSG as a feature of one line.
func (p *partfield) line(e markup.Element, kind string, more map[string]any) error {
	f := p.other(e, kind, e.Attr("F"))
	return p.course(e, f, false, more)
}

// course reads the points of an LSG into f, as a line or as marks.
func (p *partfield) course(e markup.Element, f format.Feature, marks bool, more map[string]any) error {
	for key, v := range more {
		f.Properties[key] = v
	}
	at := placeOf(f, e)
	if text := e.Attr("C"); text != "" && f.Properties["kind"] == word(lineKinds[:], guidanceLine) {
		widthMM, problem := markup.Number(text, "line spacing")
		if problem != "" {
			return p.Fault(at, problem, "it is written in whole millimetres")
		}
		f.Properties["spacing_m"] = widthMM / 1000
	}
	pts, file, err := p.points(at)
	switch {
	case err != nil:
		return err
	case file != "":
		p.tally.Add(binary, f.Number, 1)
		return nil
	case len(pts) == 0:
		p.tally.Add(markup.ShapeEmpty, f.Number, 1)
		return nil
	case marks:
		f.Points = pts
	default:
		f.Lines = [][]format.Coord{pts}
	}
	p.rest = append(p.rest, f)
	return nil
}

// point reads a PNT that stands alone.
func (p *partfield) point(e markup.Element) error {
	f := p.other(e, word(pointKinds[:], typeOf(e.Attr("A"))), e.Attr("G"))
	c, file, err := p.position(e, placeOf(f, e))
	if err != nil {
		return err
	}
	if file != "" {
		p.tally.Add(binary, f.Number, 1)
		return nil
	}
	f.Points = []format.Coord{c}
	p.rest = append(p.rest, f)
	return nil
}

// group reads a GGP, a group of guidance lines.
func (p *partfield) group(group markup.Element) error {
	name := group.Attr("B")
	return p.Each(func(e markup.Element) error {
		switch e.Name {
		case "PLN":
			p.tally.Add(limit, p.f.Number, 1)
		case "GPN":
			return p.pattern(e, name)
		}
		return nil
	})
}

// pattern reads a GPN, one guidance line.
func (p *partfield) pattern(gpn markup.Element, group string) error {
	f := p.other(gpn, word(lineKinds[:], guidanceLine), gpn.Attr("A"))
	kind := typeOf(gpn.Attr("C"))
	more := map[string]any{"pattern": word(patterns[:], kind)}
	if group != "" {
		more["group"] = group
	}
	if text := gpn.Attr("G"); text != "" {
		headingDeg, problem := markup.Number(text, "heading")
		if problem != "" {
			return p.Fault(placeOf(f, gpn), problem, "")
		}
		more["heading_deg"] = headingDeg
	}
	read := false
	return p.Each(func(e markup.Element) error {
		switch {
		case e.Name == "PLN":
			p.tally.Add(limit, p.f.Number, 1)
		case e.Name == "LSG" && read:
			return p.Fault(placeOf(f, e), "a guidance line (GPN) has a second course (LSG)", "")
		case e.Name == "LSG":
			read = true
			return p.course(e, f, kind == aPlus || kind == pivot, more)
		}
		return nil
	})
}

// points reads the PNT of an LSG. file is the binary file that holds them, ""
// if they stand here.
func (p *partfield) points(at geo.InputError) (pts []format.Coord, file string, err error) {
	err = p.Each(func(e markup.Element) error {
		if e.Name != "PNT" {
			return nil
		}
		at.Vertex++
		at.Line = e.Line
		c, bin, err := p.position(e, at)
		if bin != "" {
			file = bin
		}
		pts = append(pts, c)
		return err
	})
	return pts, file, err
}

// position reads the attributes of a PNT.
func (p *partfield) position(e markup.Element, at geo.InputError) (c format.Coord, file string, err error) {
	if file = e.Attr("J"); file != "" {
		return c, file, nil
	}
	var problem string
	if c.Y, problem = markup.Number(e.Attr("C"), "latitude (C)"); problem == "" {
		c.X, problem = markup.Number(e.Attr("D"), "longitude (D)")
	}
	c.Z = math.NaN()
	if up := e.Attr("E"); up != "" && problem == "" {
		var upMM float64
		upMM, problem = markup.Number(up, "height (E)")
		c.Z = upMM / 1000
	}
	if problem != "" {
		return c, "", p.Fault(at, problem, "")
	}
	return c, "", nil
}
