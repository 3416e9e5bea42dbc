package kml

import (
	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/format/markup"
)

// placemark reads a Placemark as a feature.
func (d *document) placemark(e markup.Element, folder string) error {
	d.number++
	p := placemark{document: d, f: format.Feature{Number: d.number, Line: e.Line, ID: e.Attr("id")}}
	p.at = geo.InputError{Feature: d.number}
	if folder != "" {
		p.set("folder", folder)
	}
	if err := d.Each(p.member); err != nil {
		return err
	}
	if len(p.f.Polygons)+len(p.f.Lines)+len(p.f.Points) == 0 {
		if p.models == 0 {
			d.tally.Add(bare, p.f.Number, 1)
		}
		return nil
	}
	d.tally.Heights(markup.Settle(&p.f), p.f.Number, egm96)
	d.out.Features = append(d.out.Features, p.f)
	return nil
}

// placemark is a feature while it is read.
type placemark struct {
	*document
	f      format.Feature
	at     geo.InputError // the place in the feature
	many   bool           // inside a MultiGeometry: parts are counted
	models int
}

func (p *placemark) set(key string, value any) {
	if p.f.Properties == nil {
		p.f.Properties = map[string]any{}
	}
	p.f.Properties[key] = value
}

func (p *placemark) fail(problem, hint string) error { return p.Fault(p.at, problem, hint) }

func (p *placemark) member(e markup.Element) (err error) {
	switch e.Name {
	case "name":
		p.f.Name, err = p.String()
		p.at.Name = p.f.Name
		return err
	case "ExtendedData":
		return p.Each(p.data)
	}
	return p.geometry(e)
}

// data reads what stands in ExtendedData: <Data name="k"><value>v</value></Data>
// and <SchemaData><SimpleData name="k">v</SimpleData></SchemaData>.
func (p *placemark) data(e markup.Element) error {
	switch e.Name {
	case "Data":
		return p.Each(func(inner markup.Element) error {
			if inner.Name != "value" {
				return nil
			}
			return p.property(e.Attr("name"))
		})
	case "SchemaData":
		return p.Each(func(inner markup.Element) error {
			if inner.Name != "SimpleData" {
				return nil
			}
			return p.property(inner.Attr("name"))
		})
	}
	return nil
}

func (p *placemark) property(key string) error {
	text, err := p.String()
	if err == nil && key != "" {
		p.set(key, text)
	}
	return err
}
