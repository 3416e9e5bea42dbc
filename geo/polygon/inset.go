package polygon

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"

	"hemrow/geo"
)

// maxQuarter bounds the chords of a quarter circle. At a distance d the
// chords then run at most d(1 - cos(π/1024)) = 4.7e-6 d inside the arc.
const maxQuarter = 256

// chords is the number of chords a quarter circle of radius d needs so that
// none runs farther than ArcErrorM inside the arc (sagitta of the chord,
// d(1 - cos(π/4n))), and the error that is left.
func chords(distM float64) (quarter int, errM float64) {
	quarter = 8
	if distM > geo.ArcErrorM {
		half := math.Acos(1 - geo.ArcErrorM/distM)
		quarter = min(maxQuarter, max(quarter, int(math.Ceil(math.Pi/4/half))))
	}
	return quarter, distM * (1 - math.Cos(math.Pi/4/float64(quarter)))
}

// BufferSlackM bounds how much nearer than asked a boundary made by [Inset] or
// [Clear] may come, in metres: the arc error of its chords (0.5 mm, above
// 106 m of distance 4.7e-6 of it), as much again for thinning of the input,
// and the rounding of overlays. It is 1 mm up to 106 m.
func BufferSlackM(distM float64) float64 {
	_, e := chords(distM)
	return e + geo.ArcErrorM + geo.OverlayM
}

// bufferStepRatio is the part of the distance within which the library joins
// the ends of neighbouring offset edges without an arc, and again snaps
// corners. Where that brings a boundary too near, the distance is raised by as
// much, and if need be once more.
const bufferStepRatio = 1e-3

// BufferLossM bounds how much farther than asked a boundary made by [Inset] or
// [Clear] may stay, in metres: BufferSlackM and 3 mm per metre of distance,
// for the raised distance and the snapping itself.
func BufferLossM(distM float64) float64 {
	return BufferSlackM(distM) + 3*bufferStepRatio*distM
}

// attempts are the ways to buffer by distM, the most exact first.
func attempts(distM float64) [4]struct{ distM, thinRatio float64 } {
	thin := min(0.01, geo.ArcErrorM/distM)
	return [4]struct{ distM, thinRatio float64 }{
		{distM, thin},
		{distM * (1 + bufferStepRatio), thin},
		{distM * (1 + 2*bufferStepRatio), thin},
		{distM * (1 + 2*bufferStepRatio), 0},
	}
}

// Inset is the ground of p at least dM inside its boundary, with rounded
// corners where the boundary is reflex; it may have several parts or none.
// p must be free of faults; dM >= 0 (0 gives a copy).
//
// Verified on every call, to an error otherwise: every part is free of faults
// and inside p; every edge is at least dM from the boundary, less
// [BufferSlackM], and every vertex at most, plus [BufferLossM]; the area has
// not grown; and ground found inside by probing from three places of each edge
// is in a part.
func Inset(p orb.Polygon, dM float64) (orb.MultiPolygon, error) {
	if !(dM >= 0) || math.IsInf(dM, 1) {
		return nil, fmt.Errorf("inset of %g m: the distance must be 0 or more", dM)
	}
	if f := Faults(p); len(f) > 0 {
		return nil, fmt.Errorf("inset of a faulty polygon: %s", f[0])
	}
	if dM == 0 {
		return orb.MultiPolygon{normal(p)}, nil
	}
	v := insetCheck{p: p, edge: NewIndex(p...), dM: dM, slackM: BufferSlackM(dM), lossM: BufferLossM(dM)}
	var last error
	for _, a := range attempts(dM) {
		mp, err := buffer(toGeom(p).AsGeometry(), -a.distM, a.thinRatio)
		if err == nil {
			err = v.check(mp)
		}
		if err == nil {
			return mp, nil
		}
		last = err
	}
	return nil, fmt.Errorf("inset of %g m: %w", dM, last)
}

func buffer(g geom.Geometry, dM, thinRatio float64) (orb.MultiPolygon, error) {
	quarter, _ := chords(math.Abs(dM))
	b, err := geom.Buffer(g, dM, geom.BufferQuadSegments(quarter), geom.BufferSimplifyFactor(thinRatio))
	if err != nil {
		return nil, err
	}
	mp, err := fromGeom(b)
	return dropDust(mp), err
}

// insetCheck confirms insets of one polygon.
type insetCheck struct {
	p                 orb.Polygon
	edge              *Index
	dM, slackM, lossM float64
}

func (v insetCheck) check(mp orb.MultiPolygon) error {
	if err := soundParts(mp); err != nil {
		return err
	}
	if TotalAreaM2(mp) > AreaM2(v.p) {
		return errors.New("result cannot be confirmed: its area has grown")
	}
	for _, q := range mp {
		for _, r := range q {
			if err := v.ring(r); err != nil {
				return err
			}
		}
	}
	return v.complete(mp)
}

func (v insetCheck) ring(r orb.Ring) error {
	for i := range len(r) - 1 {
		if _, d := v.edge.SegmentNearestM(r[i], r[i+1]); d < v.dM-v.slackM {
			return fmt.Errorf("result cannot be confirmed: it comes within %.4f m of the boundary", d)
		}
		if _, d := v.edge.NearestM(r[i]); d > v.dM+v.lossM {
			return fmt.Errorf("result cannot be confirmed: it stays %.4f m from the boundary", d)
		}
		if Locate(v.p, r[i]) == Outside {
			return errors.New("result cannot be confirmed: it leaves the area")
		}
	}
	return nil
}

// complete probes for ground that was lost: places just over dM inward of
// each edge that are clear of all others must lie in a part.
func (v insetCheck) complete(mp orb.MultiPolygon) error {
	reach := v.dM + 2*v.lossM
	for i := range v.edge.Len() {
		a, b := v.edge.Segment(i)
		l := distance(a, b)
		nx, ny := -(b[1]-a[1])/l, (b[0]-a[0])/l
		for _, t := range [...]float64{0.25, 0.5, 0.75} {
			for _, side := range [...]float64{reach, -reach} {
				q := orb.Point{a[0] + t*(b[0]-a[0]) + side*nx, a[1] + t*(b[1]-a[1]) + side*ny}
				if _, d := v.edge.NearestM(q); d < v.dM+v.lossM || Locate(v.p, q) != Inside {
					continue
				}
				if !inAny(mp, q) {
					return fmt.Errorf("result cannot be confirmed: ground at (%.3f, %.3f) is missing", q[0], q[1])
				}
			}
		}
	}
	return nil
}

func inAny(mp orb.MultiPolygon, q orb.Point) bool {
	for _, p := range mp {
		if p.Bound().Contains(q) && Contains(p, q) {
			return true
		}
	}
	return false
}

// Keep is something to stay clear of: areas without faults, and lines, of
// which one of a single point is a post.
type Keep struct {
	Lines     []orb.LineString
	Areas     []orb.Polygon
	DistanceM float64
}

// Clear is the ground of p at least DistanceM from each keep, corners of the
// clearance rounded. A line with distance 0 takes nothing away. p and the
// areas must be free of faults.
//
// Verified on every call, to an error otherwise: what [Difference] verifies,
// and no part contains a keep or comes nearer to it than DistanceM less
// [BufferSlackM]. Ground farther than DistanceM plus [BufferLossM] is kept.
func Clear(p orb.Polygon, keeps []Keep) (orb.MultiPolygon, error) {
	rest := orb.MultiPolygon{normal(p)}
	if f := Faults(p); len(f) > 0 {
		return nil, fmt.Errorf("clearance in a faulty polygon: %s", f[0])
	}
	for i, k := range keeps {
		next, err := k.clear(rest)
		if err != nil {
			return nil, fmt.Errorf("clearance %d: %w", i+1, err)
		}
		rest = next
	}
	return rest, nil
}

// clear takes the keep out of what is left.
func (k Keep) clear(from orb.MultiPolygon) (orb.MultiPolygon, error) {
	if !(k.DistanceM >= 0) || math.IsInf(k.DistanceM, 1) {
		return nil, fmt.Errorf("distance of %g m: it must be 0 or more", k.DistanceM)
	}
	if k.DistanceM == 0 {
		return cutAll(from, k.Areas)
	}
	var last error
	for _, a := range attempts(k.DistanceM) {
		cut, err := k.around(a.distM, a.thinRatio)
		if err != nil {
			return nil, err
		}
		rest, err := cutAll(from, cut)
		if err == nil {
			err = k.check(rest)
		}
		if err == nil {
			return rest, nil
		}
		last = err
	}
	return nil, last
}

func cutAll(from orb.MultiPolygon, cut []orb.Polygon) (out orb.MultiPolygon, err error) {
	for _, p := range from {
		d, err := Difference(p, cut)
		if err != nil {
			return nil, err
		}
		out = append(out, d...)
	}
	return out, nil
}

// around is the ground within a distance above 0.
func (k Keep) around(distM, thinRatio float64) (out []orb.Polygon, err error) {
	var gs []geom.Geometry
	for _, a := range k.Areas {
		if f := Faults(a); len(f) > 0 {
			return nil, fmt.Errorf("faulty area: %s", f[0])
		}
		gs = append(gs, toGeom(a).AsGeometry())
	}
	for _, l := range k.Lines {
		g, err := lineGeom(l)
		if err != nil {
			return nil, err
		}
		gs = append(gs, g)
	}
	for _, g := range gs {
		mp, err := buffer(g, distM, thinRatio)
		if err != nil {
			return nil, err
		}
		out = append(out, mp...)
	}
	return out, nil
}

// lineGeom is a path, or a post if all its vertices are one.
func lineGeom(l orb.LineString) (geom.Geometry, error) {
	if len(l) == 0 {
		return geom.Geometry{}, errors.New("line without vertices")
	}
	far := false
	for _, v := range l {
		if !finite(v) {
			return geom.Geometry{}, errors.New("coordinate is not a finite number")
		}
		far = far || v != l[0]
	}
	if !far {
		return geom.NewPointXY(l[0][0], l[0][1]).AsGeometry(), nil
	}
	return geom.NewLineStringXY(flat(l)...).AsGeometry(), nil
}

// segments are the edges of the keep, in no direction.
func (k Keep) segments() (out [][2]orb.Point) {
	for _, a := range k.Areas {
		for _, r := range a {
			for i := 1; i < len(r); i++ {
				out = append(out, [2]orb.Point{r[i-1], r[i]})
			}
		}
	}
	for _, l := range k.Lines {
		if len(l) == 1 {
			out = append(out, [2]orb.Point{l[0], l[0]})
		}
		for i := 1; i < len(l); i++ {
			out = append(out, [2]orb.Point{l[i-1], l[i]})
		}
	}
	return out
}

func (k Keep) check(mp orb.MultiPolygon) error {
	segs := k.segments()
	if len(segs) == 0 {
		return nil
	}
	for _, s := range segs {
		if inAny(mp, s[0]) {
			return errors.New("result cannot be confirmed: it contains what was to be kept clear")
		}
	}
	ix, least := NewSegmentIndex(segs), k.DistanceM-BufferSlackM(k.DistanceM)
	for _, p := range mp {
		for _, r := range p {
			for i := 1; i < len(r); i++ {
				if _, d := ix.SegmentNearestM(r[i-1], r[i]); d < least {
					return fmt.Errorf("result cannot be confirmed: it comes within %.4f m", d)
				}
			}
		}
	}
	return nil
}
