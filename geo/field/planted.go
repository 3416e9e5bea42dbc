package field

import (
	"fmt"
	"slices"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// without is the features of a list that are not in the other.
func without(list, other []*format.Feature) (rest []*format.Feature) {
	for _, f := range list {
		if !slices.Contains(other, f) {
			rest = append(rest, f)
		}
	}
	return rest
}

// planted cautions about features of the outline file that are neither the
// field nor marked as obstacles and reach into it: rows will run over them.
// Neighbours that share a boundary do not: a vertex counts from JoinGapM inside.
func (b *builder) planted(file *format.File, blocks []geo.Block) {
	var names []string
	for _, f := range b.rest {
		if b.reachesIn(f, blocks) {
			names = append(names, b.nameAndNumber(f))
		}
	}
	if len(names) == 0 {
		return
	}
	count := len(names)
	if count > maxListed {
		names = append(names[:maxListed], "…")
	}
	b.note(geo.Note{
		Code: geo.NotePlantedOver, Severity: geo.Caution, Place: file.Name,
		Text:  fmt.Sprintf("%s inside the field, not marked as obstacles: rows run over %s", geo.Counted(count, "feature"), strings.Join(names, ", ")),
		Hint:  "name what marks them with obstacle_mark, for example obstacle_mark: name=Pond, or give them as a file of obstacles",
		Value: float64(count), Unit: "features",
	})
}

// reachesIn reports whether some position of the feature lies well inside a
// block.
func (b *builder) reachesIn(f *format.Feature, blocks []geo.Block) bool {
	inside := func(c format.Coord) bool {
		ll := b.lonLat(c)
		if !ll.Valid() {
			return false
		}
		p := b.frame.ToLocal(ll)
		for _, bl := range blocks {
			if !bl.Outline.Bound().Contains(p) || !polygon.Contains(bl.Outline, p) {
				continue
			}
			if _, distM := polygon.NewIndex(bl.Outline...).NearestM(p); distM > geo.JoinGapM {
				return true
			}
		}
		return false
	}
	for _, p := range f.Polygons {
		for _, r := range p {
			if slices.ContainsFunc(r, inside) {
				return true
			}
		}
	}
	return slices.ContainsFunc(f.Lines, func(l []format.Coord) bool { return slices.ContainsFunc(l, inside) }) ||
		slices.ContainsFunc(f.Points, inside)
}

func (b *builder) nameAndNumber(f *format.Feature) string {
	if n := featureName(f); n != "field" {
		return fmt.Sprintf("%d %q", f.Number, n)
	}
	return fmt.Sprint(f.Number)
}

// firstPosition is some position of a feature.
func firstPosition(f *format.Feature) (format.Coord, bool) {
	switch {
	case len(f.Polygons) > 0 && len(f.Polygons[0]) > 0 && len(f.Polygons[0][0]) > 0:
		return f.Polygons[0][0][0], true
	case len(f.Lines) > 0 && len(f.Lines[0]) > 0:
		return f.Lines[0][0], true
	case len(f.Points) > 0:
		return f.Points[0], true
	}
	return format.Coord{}, false
}
