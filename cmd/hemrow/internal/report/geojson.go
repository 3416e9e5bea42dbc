package report

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"

	"hemrow/cmd/hemrow/internal/result"
)

// RowsGeoJSON is the layout for other programs: GeoJSON by RFC 7946 (2016),
// WGS84, nine decimals, outer rings counter-clockwise, no crs member. Each
// feature has a property kind: boundary, working-area, obstacle or row. What
// lies over the antimeridian is cut there, as section 3.1.9 asks.
func RowsGeoJSON(d result.Document) []byte {
	var g features
	for _, b := range d.Blocks {
		g.add(polygons([][][]result.Position{b.Outline.LonLat}, false), "boundary",
			props{{"name", b.Name}, {"field", d.Field.Name}, {"area_m2", b.AreaM2}, {"perimeter_m", b.PerimeterM}})
	}
	for _, b := range d.Blocks {
		if len(b.WorkingArea) == 0 {
			continue
		}
		var parts [][][]result.Position
		for _, s := range b.WorkingArea {
			parts = append(parts, s.LonLat)
		}
		p := props{{"name", b.Name}}
		if b.WorkingAreaM2 != nil {
			p = append(p, prop{"area_m2", *b.WorkingAreaM2})
		}
		g.add(polygons(parts, true), "working-area", p)
	}
	for _, o := range d.Field.Obstacles {
		if o.Area != nil {
			g.add(polygons([][][]result.Position{o.Area.LonLat}, false), "obstacle", props{{"name", o.Name}})
		} else if o.Path != nil {
			g.add(lines(o.Path.LonLat), "obstacle", props{{"name", o.Name}})
		}
	}
	spacing := func(no int) float64 { return d.Blocks[no-1].SpacingM }
	for _, r := range d.Rows {
		for _, p := range r.Pieces {
			g.add(lines(p.LineLonLat), "row", props{
				{"name", p.Name},
				{"row", r.Number},
				{"part", p.Part},
				{"block", r.Block},
				{"end_a", r.EndA},
				{"end_b", r.EndB},
				{"plan_m", p.PlanM},
				{"ground_m", p.GroundM},
				{"spacing_m", spacing(r.BlockNo)},
			})
		}
	}
	return g.bytes()
}

type prop struct {
	key   string
	value any
}

type props []prop

// features gathers features, one on a line.
type features struct{ list []string }

func (g *features) add(geometry, kind string, p props) {
	var b strings.Builder
	b.WriteString(`{"type":"Feature","properties":{"kind":` + quoted(kind))
	for _, kv := range p {
		b.WriteString("," + quoted(kv.key) + ":" + quoted(kv.value))
	}
	b.WriteString(`},"geometry":` + geometry + `}`)
	g.list = append(g.list, b.String())
}

func (g *features) bytes() []byte {
	return []byte("{\"type\":\"FeatureCollection\",\"features\":[\n" + strings.Join(g.list, ",\n") + "\n]}\n")
}

// quoted is a value as JSON; numbers and text of a document always encode.
func quoted(v any) string {
	if s, ok := v.(string); ok {
		v = clean(s)
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(v)
	return strings.TrimSpace(b.String())
}

// lines is a line as a geometry, in two where it crosses the antimeridian; a
// line of one place is a point.
func lines(l []result.Position) string {
	if len(l) == 1 {
		one := coordinates(wrapped(l))
		return `{"type":"Point","coordinates":` + one[1:len(one)-1] + "}"
	}
	parts := cutLine(l)
	if len(parts) == 1 {
		return `{"type":"LineString","coordinates":` + coordinates(parts[0]) + "}"
	}
	texts := make([]string, len(parts))
	for i, p := range parts {
		texts[i] = coordinates(p)
	}
	return `{"type":"MultiLineString","coordinates":[` + strings.Join(texts, ",") + "]}"
}

// polygons is an area as a geometry, a MultiPolygon if asked or cut.
func polygons(parts [][][]result.Position, multi bool) string {
	var texts []string
	for _, p := range parts {
		for _, q := range cutPolygon(p) {
			rings := make([]string, len(q))
			for i, r := range q {
				rings[i] = coordinates(wound(r, i == 0))
			}
			texts = append(texts, "["+strings.Join(rings, ",")+"]")
		}
	}
	if !multi && len(texts) == 1 {
		return `{"type":"Polygon","coordinates":` + texts[0] + "}"
	}
	return `{"type":"MultiPolygon","coordinates":[` + strings.Join(texts, ",") + "]}"
}

// coordinates is a list of positions.
func coordinates(l []result.Position) string {
	b := []byte{'['}
	for i, p := range l {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, '[')
		for k, v := range p {
			if k > 0 {
				b = append(b, ',')
			}
			b = append(b, decimals(v, 9)...)
		}
		b = append(b, ']')
	}
	return string(append(b, ']'))
}

// decimals is a number with at most so many decimals and no idle zeros.
func decimals(v float64, most int) string {
	s := strconv.FormatFloat(v, 'f', most, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
