package field

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"slices"

	"hemrow/geo"
	"hemrow/geo/format"
)

// untwinned leaves out features whose polygons are those of a feature before,
// vertex for vertex as written, and notes them. Strict leaves them in.
func (b *builder) untwinned(file *format.File, fs []*format.Feature) []*format.Feature {
	if len(fs) < 2 || b.spec.Strict {
		return fs
	}
	seen := make(map[string]*format.Feature, len(fs))
	out := make([]*format.Feature, 0, len(fs))
	for _, f := range fs {
		key := shapeKey(f.Polygons)
		twin, ok := seen[key]
		if !ok {
			seen[key] = f
			out = append(out, f)
			continue
		}
		b.note(geo.Note{
			Code: geo.NoteTwin, Severity: geo.Info, Place: where{file: file.Name, feature: f}.place(0, 0, nil),
			Text:  fmt.Sprintf("same outline as %s; planted once", where{feature: twin}.place(0, 0, nil)),
			Value: 1, Unit: "features",
		})
	}
	return out
}

// shapeKey is the same for polygons of the same vertices, wherever rings
// begin, whichever way they run, and in whatever order polygons and holes come.
func shapeKey(ps []format.Polygon) string {
	keys := make([][]byte, len(ps))
	for i, p := range ps {
		rings := make([][]byte, len(p))
		for k, r := range p {
			rings[k] = ringKey(r)
		}
		if len(rings) > 1 {
			slices.SortFunc(rings[1:], bytes.Compare)
		}
		keys[i] = joinKeys(rings)
	}
	slices.SortFunc(keys, bytes.Compare)
	return string(joinKeys(keys))
}

// joinKeys puts each length before its key, so that no two lists join alike.
func joinKeys(keys [][]byte) (out []byte) {
	for _, k := range keys {
		out = binary.BigEndian.AppendUint64(out, uint64(len(k)))
		out = append(out, k...)
	}
	return out
}

// ringKey is the vertices from the lowest on, in the direction of the lower of
// its neighbours. Where the lowest comes twice, twins may be missed.
func ringKey(r format.Ring) (out []byte) {
	n := openLen(r)
	if n == 0 {
		return nil
	}
	before := func(c, d format.Coord) bool { return c.Y < d.Y || c.Y == d.Y && c.X < d.X }
	low := 0
	for i := range n {
		if before(r[i], r[low]) {
			low = i
		}
	}
	step := 1
	if before(r[(low+n-1)%n], r[(low+1)%n]) {
		step = n - 1
	}
	for i := range n {
		c := r[(low+i*step)%n]
		for _, x := range [2]float64{c.X, c.Y} {
			out = binary.BigEndian.AppendUint64(out, math.Float64bits(x+0)) // -0 as 0
		}
	}
	return out
}
