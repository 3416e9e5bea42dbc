package points

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"hemrow/geo"
	"hemrow/geo/format"
)

// group is the points of one feature.
type group struct {
	name   string
	line   int
	points []format.Coord
	names  texts
	codes  []string
	orders []float64 //unit:a number of the file
	lines  []int     // of the points, when there are orders
}

// texts holds many short texts in one piece of memory.
type texts struct {
	all  []byte
	ends []int
}

func (t *texts) add(b []byte) {
	t.all = append(t.all, b...)
	t.ends = append(t.ends, len(t.all))
}

func (t *texts) strings() []string {
	all, out, from := string(t.all), make([]string, len(t.ends)), 0
	for i, end := range t.ends {
		out[i] = all[from:end]
		from = end
	}
	return out
}

// sort puts the points in the order of their column and says how many moved.
func (g *group) sort(l layout) (moved int, err error) {
	if g.orders == nil {
		return 0, nil
	}
	at := make([]int, len(g.points))
	for i := range at {
		at[i] = i
	}
	sort.SliceStable(at, func(a, b int) bool { return g.orders[at[a]] < g.orders[at[b]] })
	for i, k := range at {
		if i != k {
			moved++
		}
		if i > 0 && g.orders[k] == g.orders[at[i-1]] {
			return 0, &geo.InputError{
				Line:    g.lines[k],
				Problem: fmt.Sprintf("%s: the order %g stands in line %d as well", l.column(l.at(roleOrder)), g.orders[k], g.lines[at[i-1]]),
				Hint:    "number the points of each line once, or name the line in a column of its own",
			}
		}
	}
	if moved == 0 {
		return 0, nil
	}
	g.points = picked(g.points, at)
	if g.codes != nil {
		g.codes = picked(g.codes, at)
	}
	if g.names.ends != nil {
		var names texts
		for _, s := range picked(g.names.strings(), at) {
			names.add([]byte(s))
		}
		g.names = names
	}
	return moved, nil
}

func picked[T any](items []T, at []int) []T {
	out := make([]T, len(at))
	for i, k := range at {
		out[i] = items[k]
	}
	return out
}

// feature is the group as a feature.
func (g *group) feature(n int, l layout) format.Feature {
	f := format.Feature{Number: n, Line: g.line, Name: strings.TrimSpace(g.name), Properties: map[string]any{}, Points: slices.Clip(g.points)}
	if g.names.ends != nil {
		f.Properties[PropNames] = g.names.strings()
	}
	if g.codes != nil {
		f.Properties[PropCodes] = g.codes
	}
	if l.heights != "" {
		f.Properties[PropHeightUnit] = l.heights
	}
	if l.unit != "" {
		f.Properties[PropUnit] = l.unit
	}
	return f
}
