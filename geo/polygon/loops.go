package polygon

import (
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// maxLoopDepth bounds how often loops are taken apart again: the constructed
// crossings are rounded, which can make edges cross anew a few nanometres on.
const maxLoopDepth = 4

// resolve takes a ring apart into simple outlines with holes. Ring k of the
// file is named in fixes and refusals.
//
//	  ___          ___
//	 /   \  /\    /   \      the walk round the ring is cut at every point
//	/     \/  \  /     \     it passes twice; each cut-off loop is simple,
//	\     /\  /  \_____/     and its turn and place tell what it is
//	 \___/  \/
func (m *mender) resolve(k int, v ring, depth int) ([]shape, error) {
	var events []event
	forEvents(v, func(e event) bool {
		events = append(events, e)
		return len(events) < maxFaults
	})
	if len(events) == 0 {
		return []shape{{outer: v}}, nil
	}
	if depth == maxLoopDepth || len(events) == maxFaults {
		return nil, m.crossed(k, v, events[0], "ring crosses itself too often to be taken apart")
	}
	m.rebuilt = true
	loops := v.loops(events)
	if len(loops) == 0 {
		return nil, refuse(place(ZeroArea, k, v.src[0], v.pt[0]), "draw the ring again", "ring has no area once the ways out and back are dropped")
	}
	for _, l := range loops {
		if hasEvents(l) {
			return m.again(k, loops, depth)
		}
	}
	loops, fixes, ok := m.dropSmall(k, v, events, loops)
	if !ok || !alternate(loops) {
		if !m.opts.SplitCrossings {
			return nil, m.crossed(k, v, firstCrossing(v, events), "")
		}
		return m.evenOdd(k, v, events, v.loops(events))
	}
	m.fixes = append(m.fixes, fixes...)
	for _, l := range loops[1:] {
		m.fix(FixTouch, k, l.src[0], l.pt[0], l.areaM2(), "m2")
	}
	return nest(loops), nil
}

// again resolves loops that rounding left crossing. Only the largest may go
// on; others in that state are too small to matter or not to be decided here.
func (m *mender) again(k int, loops []ring, depth int) ([]shape, error) {
	sortByArea(loops)
	for _, l := range loops[1:] {
		if l.areaM2() >= geo.MendShareRatio*loops[0].areaM2() {
			return nil, m.crossed(k, loops[0], event{}, "ring crosses itself too often to be taken apart")
		}
		m.fix(FixCrossing, k, l.src[0], l.pt[0], l.areaM2(), "m2")
	}
	return m.resolve(k, loops[0], depth+1)
}

func hasEvents(v ring) (any bool) {
	forEvents(v, func(event) bool { any = true; return false })
	return any
}

func sortByArea(loops []ring) {
	slices.SortStableFunc(loops, func(a, b ring) int { return sign(b.areaM2() - a.areaM2()) })
}

// loops cuts the walk round v at every point of the events it passes twice.
// Ways straight out and back, without area, are among them.
func (v ring) loops(events []event) (out []ring) {
	walk := v.noded(events)
	seen := make(map[orb.Point]int, walk.len())
	var stack ring
	cut := func(from int) {
		l := ring{slices.Clone(stack.pt[from:]), slices.Clone(stack.src[from:])}
		out = append(out, l)
	}
	for i, p := range walk.pt {
		if at, ok := seen[p]; ok {
			if stack.len() > at+1 {
				cut(at)
			}
			for _, q := range stack.pt[at+1:] {
				delete(seen, q)
			}
			stack.pt, stack.src = stack.pt[:at+1], stack.src[:at+1]
			stack.src[at] = walk.src[i]
			continue
		}
		seen[p] = stack.len()
		stack.pt, stack.src = append(stack.pt, p), append(stack.src, walk.src[i])
	}
	if stack.len() > 1 {
		cut(0)
	}
	return out
}

// noded is the walk round v with the points of the events put in.
func (v ring) noded(events []event) (walk ring) {
	cuts := make([][]orb.Point, v.len())
	put := func(i int, p orb.Point) {
		if a, b := v.edge(i); p != a && p != b {
			cuts[i] = append(cuts[i], p)
		}
	}
	for _, e := range events {
		if e.kind != overlap {
			put(e.i, e.at)
			put(e.j, e.at)
			continue
		}
		a, b := v.edge(e.i)
		c, d := v.edge(e.j)
		for _, p := range [2]orb.Point{c, d} {
			if onSegment(a, b, p) {
				put(e.i, p)
			}
		}
		for _, p := range [2]orb.Point{a, b} {
			if onSegment(c, d, p) {
				put(e.j, p)
			}
		}
	}
	for i, p := range v.pt {
		slices.SortFunc(cuts[i], func(a, b orb.Point) int { return sign(distance(p, a) - distance(p, b)) })
		for _, q := range append([]orb.Point{p}, cuts[i]...) {
			if n := walk.len(); n > 0 && walk.pt[n-1] == q {
				continue
			}
			walk.pt, walk.src = append(walk.pt, q), append(walk.src, v.src[i])
		}
	}
	return walk
}

func onSegment(a, b, p orb.Point) bool {
	m, _ := meet(a, b, p, p)
	return m != apart
}

// dropSmall sorts the loops by size, largest first, and drops those that are
// noise. ok is false if together they are too much.
func (m *mender) dropSmall(k int, v ring, events []event, loops []ring) (kept []ring, fixes []Fix, ok bool) {
	sortByArea(loops)
	main := loops[0]
	mainDir := sign(SignedAreaM2(main.pt))
	var dropped float64
	for i, l := range loops {
		a, w := l.areaM2(), l.widthM()
		hole := i > 0 && sign(SignedAreaM2(l.pt)) != mainDir && within(newSolid(main), newSolid(l)) == Inside
		switch {
		case i == 0:
		case w <= geo.CoincidentM:
			e := eventOn(l, events)
			fixes = append(fixes, Fix{FixSpike, k, v.src[e.i], e.at, l.lengthM(), "m", 0})
			continue
		case hole && w >= geo.SurveySnapM: // an obstacle, however small
		case a < geo.MendShareRatio*main.areaM2() && w < geo.MendWidthM:
			e := eventOn(l, events)
			fixes = append(fixes, Fix{FixCrossing, k, v.src[e.i], e.at, a, "m2", 0})
			dropped += a
			continue
		}
		kept = append(kept, l)
	}
	return kept, fixes, dropped < geo.MendShareRatio*main.areaM2()
}

// lengthM is half the way round: how far a loop without width reaches.
func (v ring) lengthM() (sumM float64) {
	for i := range v.pt {
		a, b := v.edge(i)
		sumM += distance(a, b) / 2
	}
	return sumM
}

// eventOn is the first event at a vertex of the loop.
func eventOn(l ring, events []event) event {
	for _, e := range events {
		if slices.Contains(l.pt, e.at) {
			return e
		}
	}
	return events[0]
}

func firstCrossing(v ring, events []event) event {
	for _, e := range events {
		if e.kind != touching || v.passesCross(e, v) {
			return e
		}
	}
	return events[0]
}

// crossed is the refusal of a ring that crosses itself.
func (m *mender) crossed(k int, v ring, e event, problem string) *Refusal {
	i, j := v.src[e.i], v.src[e.j]
	f := Fault{Kind: SelfCrossing, Ring: k, Vertex: i, OtherRing: k, OtherVertex: j, At: e.at}
	if problem == "" {
		problem = "ring crosses itself"
	}
	if e.i == e.j {
		f.OtherRing, f.OtherVertex, f.At = -1, -1, v.pt[0]
	}
	return refuse(f, "correct the order of the vertices, or have crossing outlines split into parts", "%s", problem)
}

// alternate reports whether loops, largest first, are outlines and holes by
// turns: none crosses another, those at even depth turn like the first and
// those at odd depth against it.
func alternate(loops []ring) bool {
	s := make([]*solid, len(loops))
	for i, l := range loops {
		s[i] = newSolid(l)
	}
	dir := sign(SignedAreaM2(loops[0].pt))
	for i := range s {
		depth := 0
		for j := range i {
			if relate(s[j], s[i]).crosses {
				return false
			}
			if within(s[j], s[i]) == Inside {
				depth++
			}
		}
		want := dir
		if depth%2 == 1 {
			want = -dir
		}
		if sign(SignedAreaM2(loops[i].pt)) != want {
			return false
		}
	}
	return true
}

// nest makes shapes of alternating loops, largest first.
func nest(loops []ring) (out []shape) {
	s := make([]*solid, len(loops))
	owner := make([]int, len(loops)) // shape of an outline, -1 for a hole
	for i, l := range loops {
		s[i] = newSolid(l)
		depth, inner := 0, -1
		for j := range i {
			if within(s[j], s[i]) == Inside {
				depth, inner = depth+1, j
			}
		}
		if depth%2 == 0 {
			owner[i] = len(out)
			out = append(out, shape{outer: l})
			continue
		}
		owner[i] = -1
		o := owner[inner]
		out[o].holes = append(out[o].holes, l)
	}
	return out
}
