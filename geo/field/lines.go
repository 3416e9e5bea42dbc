package field

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// closeLines turns closed and nearly closed lines into polygons. Where none is
// closed, it joins open ones end to end. If the Spec names a feature, only the
// lines of features so called are touched. Features are copied before they are
// changed.
func (b *builder) closeLines(file *format.File, cand []*format.Feature) ([]*format.Feature, error) {
	var out []*format.Feature
	var open []walk
	wanted := b.called(cand)
	for _, f := range cand {
		if wanted != nil && !slices.Contains(wanted, f) {
			out = append(out, f)
			continue
		}
		g := *f
		g.Lines = nil
		g.Polygons = slices.Clone(f.Polygons)
		for _, l := range f.Lines {
			w, err := b.walk(where{file: file.Name, feature: f}, l)
			if err != nil {
				return nil, err
			}
			switch {
			case len(l) < 2:
			case len(l) > 3 && (w.gapM() < geo.CloseGapM || w.runsOn()):
				g.Polygons = append(g.Polygons, b.ringOf(w))
			default:
				open = append(open, w)
			}
		}
		if len(g.Polygons)+len(g.Points)+len(g.Lines) > 0 || len(f.Lines) == 0 {
			out = append(out, &g)
		}
	}
	if len(open) == 0 {
		return out, nil
	}
	if slices.ContainsFunc(out, func(f *format.Feature) bool { return len(f.Polygons) > 0 }) {
		b.note(geo.Note{
			Code: geo.NoteGeometryLeft, Severity: geo.Caution, Place: file.Name,
			Text:  fmt.Sprintf("%s left out beside the closed ones, since they do not come round", geo.Counted(len(open), "open line")),
			Value: float64(len(open)), Unit: "lines",
		})
		return out, nil
	}
	joined, err := b.join(open)
	if err != nil {
		return nil, err
	}
	g := *joined.feature
	g.Lines, g.Points = nil, nil
	g.Polygons = []format.Polygon{b.ringOf(joined)}
	return append(out, &g), nil
}

// walk is an open line and where it came from.
type walk struct {
	where
	pts []format.Coord
	b   *builder
}

func (b *builder) walk(w where, l []format.Coord) (walk, error) {
	for v, c := range l {
		if err := b.judge(w, 0, v+1, c); err != nil {
			return walk{}, err
		}
	}
	return walk{w, l, b}, nil
}

// gapM is the distance from the last vertex to the first.
func (w walk) gapM() float64 {
	if len(w.pts) == 0 {
		return math.Inf(1)
	}
	return w.b.apartM(w.pts[len(w.pts)-1], w.pts[0])
}

// runsOn reports whether the line goes on past its own start.
func (w walk) runsOn() bool {
	f, ok := geo.NewFrame(w.b.lonLat(w.pts[0]))
	if !ok {
		return false
	}
	path := make(orb.LineString, len(w.pts))
	for i, c := range w.pts {
		path[i] = f.ToLocal(w.b.lonLat(c))
	}
	return polygon.RunsOn(path)
}

// apartM is the distance in metres between two positions less than a few
// hundred km apart, by a frame at the first.
func (b *builder) apartM(c, d format.Coord) float64 {
	f, ok := geo.NewFrame(b.lonLat(c))
	if !ok {
		return math.Inf(1)
	}
	p := f.ToLocal(b.lonLat(d))
	return math.Hypot(p[0], p[1])
}

// ringOf closes a walk exactly and notes it.
func (b *builder) ringOf(w walk) format.Polygon {
	gap := w.gapM()
	r := slices.Clone(w.pts)
	if gap < geo.CloseGapM && gap > 0 {
		if gap < geo.JoinGapM && len(r) > 3 { // the corner surveyed twice
			r = r[:len(r)-1]
		}
	}
	if !r[0].At(r[len(r)-1]) {
		r = append(r, r[0])
	}
	text := fmt.Sprintf("a line of %d vertices is taken as an outline, closed over %.2f m", len(w.pts), gap)
	if gap == 0 {
		text = fmt.Sprintf("a closed line of %d vertices is taken as an outline", len(w.pts))
	}
	b.note(geo.Note{
		Code: geo.NoteLineClosed, Severity: geo.Caution, Place: w.place(0, 0, nil),
		Text:  text,
		Value: gap, Unit: "m", Limit: geo.CloseGapM,
	})
	return format.Polygon{format.Ring(r)}
}

// join chains open lines at ends that lie within JoinGapM and refuses what
// does not come round.
func (b *builder) join(open []walk) (walk, error) {
	chain := open[0]
	chain.pts = slices.Clone(chain.pts)
	rest := slices.Clone(open[1:])
	for len(rest) > 0 {
		end := chain.pts[len(chain.pts)-1]
		at, back := -1, false
		for i, w := range rest {
			n := len(w.pts)
			if b.apartM(end, w.pts[0]) <= geo.JoinGapM {
				at, back = i, false
				break
			}
			if b.apartM(end, w.pts[n-1]) <= geo.JoinGapM {
				at, back = i, true
				break
			}
		}
		if at < 0 {
			return walk{}, b.openEnds(chain, rest)
		}
		next := slices.Clone(rest[at].pts)
		if back {
			slices.Reverse(next)
		}
		chain.pts = append(chain.pts, next[1:]...)
		rest = slices.Delete(rest, at, at+1)
	}
	if chain.gapM() >= geo.CloseGapM || len(chain.pts) < 4 {
		return walk{}, b.openEnds(chain, nil)
	}
	return chain, nil
}

// openEnds lists the ends that meet nothing.
func (b *builder) openEnds(chain walk, rest []walk) error {
	var w []string
	for i, l := range append([]walk{chain}, rest...) {
		if i == maxListed {
			w = append(w, "…")
			break
		}
		w = append(w, fmt.Sprintf("%s and %s", b.lonLat(l.pts[0]), b.lonLat(l.pts[len(l.pts)-1])))
	}
	at := b.lonLat(chain.pts[len(chain.pts)-1])
	e := chain.input(0, 0, &at)
	e.Problem = fmt.Sprintf("lines do not come round to an outline: gap of %.2f m; open ends at %s", chain.gapM(), strings.Join(w, "; "))
	e.Hint = fmt.Sprintf("draw the missing side; ends within %.1f m are joined, a gap under %.0f m is closed", geo.JoinGapM, geo.CloseGapM)
	return e
}
