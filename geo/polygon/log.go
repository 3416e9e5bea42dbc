package polygon

import (
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// An outline logged on the move shows two things that one drawn corner by
// corner does not: where the vehicle stood still the receiver kept writing,
// and the log was stopped a little after the start was passed.
//
//	  ____________          the log starts at S and runs on past it to E;
//	 |            |         what lies past the start is dropped, and if the
//	 |            |         log crosses its own beginning at X, what lies
//	 S--->--------|         before X too
//	 '-->E

// unlogged takes both out of a ring. Neither happens where it would change the
// area by MendShareRatio or more, or leave no ring. trimmed reports whether
// the end of the ring was cut.
func (m *mender) unlogged(k int, v *ring) (trimmed bool) {
	was := SignedAreaM2(v.pt)
	change := func(w ring) (m2 float64, ok bool) {
		m2 = math.Abs(SignedAreaM2(w.pt) - was)
		return m2, w.usable() && m2 < geo.MendShareRatio*math.Abs(was)
	}
	if v.len() < 3 {
		return false
	}
	if w, places := v.settled(); len(places) > 0 {
		if m2, ok := change(w); ok {
			for _, c := range places {
				m.fixes = append(m.fixes, Fix{FixStandstill, k, c.src, c.at, float64(c.count), "vertices", m2})
			}
			*v = w
			v.dropRepeated(geo.CoincidentM)
			was = SignedAreaM2(v.pt)
		}
	}
	w, lengthM, ok := v.trimmedEnd()
	if !ok {
		return false
	}
	m2, ok := change(w)
	if !ok {
		return false
	}
	last := v.len() - 1
	m.fixes = append(m.fixes, Fix{FixRunOn, k, v.src[last], v.pt[last], lengthM, "m", m2})
	*v = w
	v.dropRepeated(geo.CoincidentM)
	return true
}

// cloud is a standstill: where its vertices were and how many.
type cloud struct {
	src, count int
	at         orb.Point
}

// settled is v with each standstill reduced to the mean of its vertices. It
// shares v's vertices if there is none.
func (v ring) settled() (out ring, clouds []cloud) {
	if !v.lingers() {
		return v, nil
	}
	v = v.startedOutside()
	for i := 0; i < v.len(); {
		j := i + 1
		for j < v.len() && distance(v.pt[i], v.pt[j]) <= geo.StandstillM {
			j++
		}
		if j-i < geo.StandstillCount || !v.wanders(i, j) {
			out.pt, out.src = append(out.pt, v.pt[i]), append(out.src, v.src[i])
			i++
			continue
		}
		c := cloud{src: v.src[i], count: j - i, at: mean(v.pt[i:j])}
		out.pt, out.src = append(out.pt, c.at), append(out.src, c.src)
		clouds = append(clouds, c)
		i = j
	}
	return out, clouds
}

// lingers is the quick look that spares most rings the slow one: are there
// enough short edges in a row for a standstill?
func (v ring) lingers() bool {
	short, n := 0, v.len()
	for i := range n + geo.StandstillCount {
		a, b := v.edge(i % n)
		dx, dy := b[0]-a[0], b[1]-a[1]
		if dx*dx+dy*dy > geo.StandstillM*geo.StandstillM {
			short = 0
			continue
		}
		if short++; short >= geo.StandstillCount-1 {
			return true
		}
	}
	return false
}

// startedOutside is v begun behind its first long edge, so that no standstill
// goes over its end; v itself if there is none.
func (v ring) startedOutside() ring {
	n := v.len()
	if distance(v.pt[n-1], v.pt[0]) > geo.StandstillM {
		return v
	}
	for i := 1; i < n; i++ {
		if distance(v.pt[i-1], v.pt[i]) > geo.StandstillM {
			return ring{
				pt:  append(append([]orb.Point{}, v.pt[i:]...), v.pt[:i]...),
				src: append(append([]int{}, v.src[i:]...), v.src[:i]...),
			}
		}
	}
	return v
}

// wanders tells jitter from a corner drawn with many vertices: between
// vertices i and j the ring goes more than twice as far as the place is wide
// and turns by more than a full circle. A round corner, even of half a turn,
// goes 1.6 times as far.
func (v ring) wanders(i, j int) bool {
	var way, turnRad float64
	for k := i; k < j; k++ {
		if k+1 < j {
			way += distance(v.pt[k], v.pt[k+1])
		}
		turnRad += v.turnRad(k)
	}
	box := orb.MultiPoint(v.pt[i:j]).Bound()
	return way > 2*distance(box.Min, box.Max) && turnRad > 2*math.Pi
}

// turnRad is by how much the course changes at vertex i, [0, pi].
func (v ring) turnRad(i int) float64 {
	a, p, b := v.at(i-1), v.pt[i], v.at(i+1)
	ax, ay, bx, by := p[0]-a[0], p[1]-a[1], b[0]-p[0], b[1]-p[1]
	return math.Abs(math.Atan2(ax*by-ay*bx, ax*bx+ay*by))
}

func mean(pts []orb.Point) orb.Point {
	var x, y geo.Sum
	for _, p := range pts {
		x.Add(p[0])
		y.Add(p[1])
	}
	n := float64(len(pts))
	return orb.Point{x.Value() / n, y.Value() / n}
}

// RunsOn reports whether a closed line, first vertex not repeated, goes on
// past its own start, so that [Repair] would trim it.
func RunsOn(line orb.LineString) bool {
	v := open(orb.Ring(line))
	v.dropRepeated(geo.CoincidentM)
	w, _, ok := v.trimmedEnd()
	return ok && w.usable()
}

// trimmedEnd is v without what it has past its start, and how far it ran on.
func (v ring) trimmedEnd() (w ring, lengthM float64, ok bool) {
	head, tail := v.reach(geo.RunOnM)
	if head >= tail || v.len() < 5 {
		return v, 0, false
	}
	if w, lengthM, ok = v.cutCrossing(head, tail); ok {
		return w, lengthM, true
	}
	return v.cutBeside(head, tail)
}

// reach is the last edge that begins within the given way of the first vertex
// and the first edge that ends within it of the last.
func (v ring) reach(wayM float64) (head, tail int) {
	n := v.len()
	for s := 0.0; head < n-1; head++ {
		if s += distance(v.pt[head], v.pt[head+1]); s >= wayM {
			break
		}
	}
	tail = n - 2
	for s := 0.0; tail > 0; tail-- {
		if s += distance(v.pt[tail], v.pt[tail+1]); s >= wayM {
			break
		}
	}
	return head, tail
}

// cutCrossing cuts v where its end first crosses or touches its beginning.
func (v ring) cutCrossing(head, tail int) (w ring, lengthM float64, ok bool) {
	n := v.len()
	for j := tail; j < n-1; j++ {
		c, d := v.edge(j)
		at, edge, near := orb.Point{}, -1, math.Inf(1)
		for i := 0; i <= head; i++ {
			a, b := v.edge(i)
			m, x := meet(a, b, c, d)
			if m != crossing && m != touching || x == d && j == n-2 || distance(c, x) >= near {
				continue
			}
			if v.wayM(0, i)+distance(a, x) <= geo.RunOnM && v.wayM(j+1, n-1)+distance(x, d) <= geo.RunOnM {
				at, edge, near = x, i, distance(c, x)
			}
		}
		if edge < 0 {
			continue
		}
		w.pt, w.src = append(w.pt, at), append(w.src, v.src[edge])
		w.pt, w.src = append(w.pt, v.pt[edge+1:j+1]...), append(w.src, v.src[edge+1:j+1]...)
		return w, v.wayM(j+1, n-1) + distance(at, d), true
	}
	return v, 0, false
}

// wayM is the length of v from vertex i to vertex j.
func (v ring) wayM(i, j int) (sumM float64) {
	for ; i < j; i++ {
		sumM += distance(v.pt[i], v.pt[i+1])
	}
	return sumM
}

// cutBeside drops the last vertices that run beside the beginning, the same
// way within half a right angle, and no farther aside than ends that belong
// together. A jog of an outline drawn corner by corner is not taken for it:
// the sides must be as short as those of a log, and the end must run on by
// more than what is survey noise.
func (v ring) cutBeside(head, tail int) (w ring, lengthM float64, ok bool) {
	if medianSideM(v) > geo.RunOnM {
		return v, 0, false
	}
	end := v.len() - 1
	keep, past := end, math.Inf(1)
	for k := end; k > tail && k > head+1; k-- {
		s, aside, along := v.foot(k, head)
		if !along || s >= past || s > geo.RunOnM || aside > geo.JoinGapM || s <= geo.SurveySnapM {
			break
		}
		if k == end {
			lengthM = s
		}
		keep, past = k-1, s
	}
	if keep == end || lengthM <= geo.MendWidthM {
		return v, 0, false
	}
	return ring{v.pt[: keep+1 : keep+1], v.src[: keep+1 : keep+1]}, lengthM, true
}

// foot is the place of the beginning of v, edges 0 to head, nearest to vertex
// k: its way from the start, the distance aside, and whether v arrives at k
// within half a right angle of the direction of the beginning there.
func (v ring) foot(k, head int) (wayM, asideM float64, along bool) {
	asideM = math.Inf(1)
	p, q := v.pt[k-1], v.pt[k]
	way := 0.0
	for i := 0; i <= head; i++ {
		a, b := v.edge(i)
		d := distance(a, b)
		if aside := PointSegmentM(q, a, b); aside < asideM {
			t := ((q[0]-a[0])*(b[0]-a[0]) + (q[1]-a[1])*(b[1]-a[1])) / d
			asideM, wayM = aside, way+max(0, min(d, t))
			ahead := (q[0]-p[0])*(b[0]-a[0]) + (q[1]-p[1])*(b[1]-a[1])
			left := (q[0]-p[0])*(b[1]-a[1]) - (q[1]-p[1])*(b[0]-a[0])
			along = ahead > math.Abs(left)
		}
		way += d
	}
	return wayM, asideM, along
}
