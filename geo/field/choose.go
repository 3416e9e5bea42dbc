package field

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// choose returns the polygons that make the field and the features of the
// outline file marked as obstacles.
func (b *builder) choose(file *format.File) (chosen []part, marked []where, err error) {
	var cand []*format.Feature
	for i := range file.Features {
		f := &file.Features[i]
		if b.spec.ObstacleMark != "" && hasMark(f, b.spec.ObstacleMark) {
			marked = append(marked, where{file: file.Name, feature: f, turned: file.Turned})
			continue
		}
		cand = append(cand, f)
	}
	if cand, err = b.shaped(file, cand); err != nil {
		return nil, nil, err
	}
	if len(marked) == 0 && b.spec.ObstacleMark != "" && b.spec.ObstacleMark != UsualMark {
		b.note(geo.Note{
			Code: geo.NoteMarkUnused, Severity: geo.Caution, Place: file.Name,
			Text: fmt.Sprintf("no feature has the obstacle mark %s", b.spec.ObstacleMark), Hint: "look at the properties with: hemrow outlines FILE",
		})
	}
	if len(cand) == 0 && len(marked) > 0 {
		return nil, nil, &geo.InputError{
			File: file.Name, Problem: fmt.Sprintf("every feature is marked as an obstacle by %s, so that no outline is left", b.spec.ObstacleMark),
			Hint: "give the file of the outline, or another obstacle_mark",
		}
	}
	picked, err := b.pick(file, cand)
	if err != nil {
		return nil, nil, err
	}
	b.rest = without(cand, picked)
	for _, f := range picked {
		b.leftover(file, f)
		for k, rings := range f.Polygons {
			w := where{file: file.Name, feature: f}
			if len(f.Polygons) > 1 {
				w.part = k + 1
			}
			chosen = append(chosen, part{w, asMeant(file, rings)})
		}
	}
	return chosen, marked, nil
}

// asMeant is a polygon with its rings closed where the format lets them end
// without their first point; elsewhere an open ring is a fault.
func asMeant(file *format.File, rings format.Polygon) format.Polygon {
	if file.Format != format.TaskData {
		return rings
	}
	out := make(format.Polygon, len(rings))
	for i, r := range rings {
		if out[i] = r; len(r) > 2 && !r[0].At(r[len(r)-1]) {
			out[i] = append(slices.Clone(r), r[0])
		}
	}
	return out
}

// shaped makes outlines of features that are none as written: of lines if the
// Spec or the format says so, of points.
func (b *builder) shaped(file *format.File, cand []*format.Feature) ([]*format.Feature, error) {
	var err error
	if b.spec.CloseLines || file.Format == format.GPX {
		if cand, err = b.closeLines(file, cand); err != nil {
			return nil, err
		}
	}
	return b.joinPoints(file, cand)
}

// hasMark decides "property=value" or "property"; a property that is null,
// false, zero or empty does not mark. "name" is also the name that the format
// itself gives.
func hasMark(f *format.Feature, mark string) bool {
	key, want, valued := strings.Cut(mark, "=")
	key = strings.TrimSpace(key)
	v, ok := f.Properties[key]
	if !ok && strings.EqualFold(key, "name") {
		v, ok = f.Name, f.Name != ""
	}
	if !ok {
		return false
	}
	got := strings.TrimSpace(fmt.Sprint(v))
	if valued {
		return strings.EqualFold(got, strings.TrimSpace(want))
	}
	switch strings.ToLower(got) {
	case "", "<nil>", "false", "0", "no":
		return false
	}
	return true
}

// pick selects among the features by the Spec.
func (b *builder) pick(file *format.File, cand []*format.Feature) ([]*format.Feature, error) {
	var polys []*format.Feature
	for _, f := range cand {
		if len(f.Polygons) > 0 && (file.Format != format.TaskData || f.Properties["kind"] == "field") {
			polys = append(polys, f)
		}
	}
	if b.spec.Choose != "" && b.spec.Choose != "all" {
		f, err := b.named(file, cand, polys)
		if err != nil {
			return nil, err
		}
		return []*format.Feature{f}, nil
	}
	all := len(polys)
	if b.spec.Choose == "" {
		polys = b.untwinned(file, polys)
	}
	switch {
	case len(polys) == 0:
		return nil, noOutline(file, cand)
	case len(polys) > 1 && b.spec.Choose == "":
		return nil, &geo.InputError{
			File:    file.Name,
			Problem: fmt.Sprintf("%d outlines, and no word which is the field: %s", len(polys), b.list(file, polys)),
			Hint:    `choose one by its name, ID, number or a property (KEY=value), or "all" to plant them all as blocks; what lies inside it is kept clear if obstacle_mark names it, for example name=Pond`,
		}
	}
	if n := len(cand) - all; n > 0 {
		b.note(geo.Note{
			Code: geo.NoteFeatureLeft, Severity: geo.Info, Place: file.Name,
			Text: fmt.Sprintf("%s without an area left out", geo.Counted(n, "feature")), Value: float64(n), Unit: "features",
			Hint: "lines and points can be obstacles: see obstacle_mark",
		})
	}
	return polys, nil
}

// called is the features that the Spec's word means: those of that name, or
// else of that ID, of that name in any case, of that number, or with that
// property (KEY=value); nil for none.
func (b *builder) called(cand []*format.Feature) (hits []*format.Feature) {
	want := b.spec.Choose
	if want == "" || want == "all" {
		return nil
	}
	key, value, byProperty := strings.Cut(want, "=")
	for _, same := range [...]func(*format.Feature) bool{
		func(f *format.Feature) bool { return f.Name == want },
		func(f *format.Feature) bool { return f.ID == want },
		func(f *format.Feature) bool { return strings.EqualFold(f.Name, want) },
		func(f *format.Feature) bool {
			n, err := strconv.Atoi(strings.TrimPrefix(want, "#"))
			return err == nil && n == f.Number
		},
		func(f *format.Feature) bool {
			v, ok := f.Properties[strings.TrimSpace(key)]
			return byProperty && ok && strings.EqualFold(strings.TrimSpace(fmt.Sprint(v)), strings.TrimSpace(value))
		},
	} {
		for _, f := range cand {
			if same(f) {
				hits = append(hits, f)
			}
		}
		if hits != nil {
			return hits
		}
	}
	return nil
}

// named finds the one feature that the Spec names.
func (b *builder) named(file *format.File, cand, polys []*format.Feature) (*format.Feature, error) {
	hits := b.untwinned(file, b.called(cand))
	switch {
	case len(hits) > 1:
		return nil, &geo.InputError{
			File:    file.Name,
			Problem: fmt.Sprintf("%d features are called %q: %s", len(hits), b.spec.Choose, b.list(file, hits)),
			Hint:    "choose by number",
		}
	case len(hits) == 1 && len(hits[0].Polygons) == 0:
		return nil, noOutline(file, hits)
	case len(hits) == 1:
		return hits[0], nil
	}
	e := &geo.InputError{File: file.Name, Problem: fmt.Sprintf("no feature is called %q", b.spec.Choose)}
	if len(polys) > 0 {
		e.Hint = "outlines in the file: " + b.list(file, polys)
	}
	return nil, e
}

// maxListed is how many features a message lists.
const maxListed = 12

// list names features with their areas.
func (b *builder) list(file *format.File, fs []*format.Feature) string {
	var w []string
	for i, f := range fs {
		if i == maxListed {
			w = append(w, fmt.Sprintf("and %d more", len(fs)-i))
			break
		}
		s := fmt.Sprintf("%d", f.Number)
		if n := featureName(f); n != "field" {
			s += fmt.Sprintf(" %q", n)
		}
		if r := b.look(file, f); r.AreaM2 > 0 {
			s += fmt.Sprintf(" (%.2f ha)", r.AreaM2/1e4)
		}
		w = append(w, s)
	}
	return strings.Join(w, ", ")
}

// noOutline is the refusal of features without a polygon.
func noOutline(file *format.File, fs []*format.Feature) error {
	var first *format.Feature
	lines, points := 0, 0
	for _, f := range fs {
		if first == nil && len(f.Lines)+len(f.Points) > 0 {
			first = f
		}
		lines += len(f.Lines)
		points += len(f.Points)
	}
	e := where{file: file.Name, feature: first}.input(0, 0, nil)
	switch {
	case lines > 0:
		e.Problem = fmt.Sprintf("%s and no area: a line is no outline by itself", geo.Counted(lines, "line"))
		e.Hint = "set close_lines to take closed lines as outlines"
	case points > 0:
		e.Problem = fmt.Sprintf("%s and no area", geo.Counted(points, "point"))
		e.Hint = "points alone make an outline when there are three or more in the order they were walked"
	default:
		e.Problem = "no outline in the file"
	}
	return e
}

// leftover notes geometry of a chosen feature that an outline cannot use.
func (b *builder) leftover(file *format.File, f *format.Feature) {
	if n := len(f.Lines) + len(f.Points); n > 0 {
		b.note(geo.Note{
			Code: geo.NoteGeometryLeft, Severity: geo.Info, Place: where{file: file.Name, feature: f}.place(0, 0, nil),
			Text:  fmt.Sprintf("%s and %s beside the area left out", geo.Counted(len(f.Lines), "line"), geo.Counted(len(f.Points), "point")),
			Value: float64(n), Unit: "geometries",
		})
	}
}
