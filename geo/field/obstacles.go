package field

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// awayM is how far outside the field an obstacle must lie to be left out:
// farther than any clearance or headland reaches (common practice).
const awayM = 100

// obstacles gathers the marked features and the obstacle files.
func (b *builder) obstacles(marked []where, files []format.File, blocks []geo.Block) ([]geo.Obstacle, error) {
	ws := marked
	for i := range files {
		f := &files[i]
		for k := range f.Features {
			ws = append(ws, where{file: f.Name, feature: &f.Features[k], turned: f.Turned})
		}
	}
	if len(ws) == 0 {
		return nil, nil
	}
	var rings []orb.Ring
	for _, bl := range blocks {
		rings = append(rings, bl.Outline...)
	}
	near := nearby{blocks, polygon.NewIndex(rings...)}
	var out []geo.Obstacle
	outlineSwap := b.swap
	defer func() { b.swap = outlineSwap }()
	for _, w := range ws {
		b.swap = b.spec.SwapAxes && !w.turned
		if err := b.ctx.Err(); err != nil {
			return nil, err
		}
		found, err := b.obstacle(w)
		if err != nil {
			b.errs = append(b.errs, err)
			continue
		}
		for _, o := range found {
			d := near.distanceM(o)
			if d <= awayM {
				out = append(out, o)
				continue
			}
			if err := b.away(w, near, o, d); err != nil {
				b.errs = append(b.errs, err)
			}
		}
	}
	return out, b.joined()
}

// obstacle reads the geometry of one feature.
func (b *builder) obstacle(w where) (out []geo.Obstacle, err error) {
	name := w.feature.Name
	if name == "" {
		name = w.feature.ID
	}
	if name == "" {
		name = fmt.Sprintf("obstacle %d", w.feature.Number)
	}
	for k, rings := range w.feature.Polygons {
		p := part{w, rings}
		if len(w.feature.Polygons) > 1 {
			p.part = k + 1
		}
		for h, r := range rings {
			for v, c := range r {
				if err := b.judge(p.where, h, v+1, c); err != nil {
					return nil, err
				}
			}
		}
		for _, q := range b.sound(p) {
			out = append(out, geo.Obstacle{Name: name, Area: q})
		}
	}
	for _, l := range w.feature.Lines {
		path, err := b.path(w, l)
		if err != nil {
			return nil, err
		}
		if len(path) > 0 {
			out = append(out, geo.Obstacle{Name: name, Path: path})
		}
	}
	for _, c := range w.feature.Points {
		path, err := b.path(w, []format.Coord{c})
		if err != nil {
			return nil, err
		}
		out = append(out, geo.Obstacle{Name: name, Path: path})
	}
	return out, nil
}

// path projects a line and drops vertices that repeat the one before.
func (b *builder) path(w where, l []format.Coord) (orb.LineString, error) {
	var path orb.LineString
	repeated := 0
	for v, c := range l {
		if err := b.judge(w, 0, v+1, c); err != nil {
			return nil, err
		}
		p := b.frame.ToLocal(b.lonLat(c))
		if n := len(path); n > 0 && math.Hypot(p[0]-path[n-1][0], p[1]-path[n-1][1]) <= geo.CoincidentM {
			repeated++
			continue
		}
		path = append(path, p)
	}
	if repeated > 0 {
		b.fixed(w, polygon.Fix{Kind: polygon.FixDuplicate, At: path[0], Value: float64(repeated), Unit: "vertices"})
	}
	return path, nil
}

// nearby measures obstacles against the blocks.
type nearby struct {
	blocks []geo.Block
	edge   *polygon.Index
}

// distanceM is how far the obstacle is from the ground of the blocks, 0 if it
// reaches into one.
func (n nearby) distanceM(o geo.Obstacle) float64 {
	pts := []orb.Point(o.Path)
	if len(o.Area) > 0 {
		pts = o.Area[0]
	}
	for _, bl := range n.blocks {
		if polygon.Contains(bl.Outline[:1], pts[0]) || len(o.Area) > 0 && polygon.Contains(o.Area, bl.Outline[0][0]) {
			return 0
		}
	}
	_, least := n.edge.NearestM(pts[0])
	for i := 1; i < len(pts); i++ {
		_, d := n.edge.SegmentNearestM(pts[i-1], pts[i])
		least = min(least, d)
	}
	return least
}

// away notes an obstacle that is left out, or refuses it where its numbers
// swapped would lie in the field.
func (b *builder) away(w where, near nearby, o geo.Obstacle, distM float64) error {
	first := o.Path
	if len(o.Area) > 0 {
		first = orb.LineString(o.Area[0])
	}
	at := b.frame.ToLonLat(first[0])
	turned := geo.LonLat{LonDeg: at.LatDeg, LatDeg: at.LonDeg}
	if turned.Valid() {
		p := b.frame.ToLocal(turned)
		if d := near.distanceM(geo.Obstacle{Path: orb.LineString{p}}); d <= awayM {
			e := w.input(0, 0, nil)
			e.Problem = fmt.Sprintf("longitude and latitude may be swapped: as written it lies at %s, %.0f km from the field; swapped at %s, within %d m of it",
				at, distM/1000, turned, awayM)
			e.Hint = "correct the file whose positions are the wrong way round"
			return e
		}
	}
	b.note(geo.Note{
		Code: geo.NoteObstacleAway, Severity: geo.Info, Place: w.place(0, 0, &at),
		Text: fmt.Sprintf("%q lies %.0f m outside the field and is left out", o.Name, distM), Value: distM, Limit: awayM, Unit: "m",
	})
	return nil
}
