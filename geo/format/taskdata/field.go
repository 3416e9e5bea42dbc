package taskdata

import (
	"fmt"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// partfield is a PFD while it is read.
type partfield struct {
	*task
	f     format.Feature
	rings []ring
	rest  []format.Feature // what is not its boundary
}

// field reads a PFD.
func (t *task) field(e markup.Element) error {
	t.number++
	t.fields++
	p := partfield{task: t, f: format.Feature{
		Number: t.number, Line: e.Line, ID: e.Attr("A"), Name: e.Attr("C"),
		Properties: map[string]any{"kind": "field"},
	}}
	for _, key := range [...]string{"B", "A"} {
		if p.f.Name == "" {
			p.f.Name = e.Attr(key)
		}
	}
	if err := p.describe(e); err != nil {
		return err
	}
	if err := t.Each(p.member); err != nil {
		return err
	}
	if err := p.finish(e); err != nil {
		return err
	}
	for _, f := range p.rest {
		t.keep(f)
	}
	return nil
}

// describe reads the attributes of a PFD that become properties.
func (p *partfield) describe(e markup.Element) error {
	for key, attr := range map[string]string{"code": "B", "part_of": "I"} {
		if v := e.Attr(attr); v != "" {
			p.f.Properties[key] = v
		}
	}
	text := e.Attr("D")
	if text == "" {
		return nil
	}
	areaM2, problem := markup.Number(text, "stated area (D)")
	if problem != "" {
		return p.Fault(p.place(e), problem, "it is written in whole square metres")
	}
	if areaM2 > 0 { // 0 is what terminals write for not known
		p.f.Properties["area_m2"] = areaM2
		p.f.Properties["area_ha"] = areaM2 / geo.HectareM2
	}
	return nil
}

func (p *partfield) place(e markup.Element) geo.InputError {
	return geo.InputError{Feature: p.f.Number, Name: p.f.Name, Line: e.Line}
}

func (p *partfield) member(e markup.Element) error {
	switch e.Name {
	case "PLN":
		if n := typeOf(e.Attr("A")); n != boundaryArea {
			return p.area(e, word(areaKinds[:], n))
		}
		return p.Each(func(e markup.Element) error { return p.bound(e, &p.rings, p.place(e)) })
	case "LSG":
		return p.bound(e, &p.rings, p.place(e))
	case "PNT":
		return p.point(e)
	case "GGP":
		return p.group(e)
	}
	return nil
}

// bound reads an LSG: rings go into rings, other lines become features.
func (p *partfield) bound(e markup.Element, rings *[]ring, at geo.InputError) error {
	if e.Name != "LSG" {
		return nil
	}
	kind := typeOf(e.Attr("A"))
	switch kind {
	case 0:
		return p.Fault(at, "a line (LSG) has no type (A): whether it is an outer ring or a hole is not known", "")
	case outerLine, holeLine:
		outer, holes := 0, 0
		for _, r := range *rings {
			if r.hole {
				holes++
			} else {
				outer++
			}
		}
		at.Part = outer + 1
		if kind == holeLine {
			at.Part, at.Hole = 0, holes+1
		}
	default:
		return p.line(e, word(lineKinds[:], kind), nil)
	}
	pts, file, err := p.points(at)
	switch {
	case err != nil:
		return err
	case file != "":
		return p.Fault(at, fmt.Sprintf("the points are kept in the binary file %s.BIN, which is not read", markup.Clip(file)),
			"export the boundary with its points in the XML")
	case len(pts) == 0:
		p.tally.Add(markup.ShapeEmpty, p.f.Number, 1)
		return nil
	}
	*rings = append(*rings, ring{pts: pts, hole: kind == holeLine, at: at})
	return nil
}

// finish makes the field's feature of its rings.
func (p *partfield) finish(e markup.Element) error {
	polygons, err := p.assemble(p.rings)
	if err != nil {
		return err
	}
	if len(polygons) == 0 {
		p.tally.Add(noBoundary, p.f.Number, 1)
		return nil
	}
	p.f.Polygons = polygons
	for key, attr := range map[string]string{"customer": "E", "farm": "F"} {
		if id := e.Attr(attr); id != "" {
			p.f.Properties[key] = id
			p.refs = append(p.refs, ref{len(p.out.Features), key, id})
		}
	}
	p.keep(p.f)
	return nil
}

// keep takes a finished feature.
func (t *task) keep(f format.Feature) {
	t.tally.Heights(markup.Settle(&f), f.Number, ellipsoid)
	t.out.Features = append(t.out.Features, f)
}

// assemble makes polygons of rings, each hole in its outer ring.
func (p *partfield) assemble(rings []ring) ([]format.Polygon, error) {
	polygons, stray := nest(rings)
	if stray == nil {
		return polygons, nil
	}
	if len(polygons) > 0 {
		return nil, p.Fault(stray[0].at, "the hole lies in none of the outer rings", "correct the ring, or take it out")
	}
	p.tally.Add(noOuter, p.f.Number, len(stray))
	return nil, nil
}
