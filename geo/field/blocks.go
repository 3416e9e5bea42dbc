package field

import (
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
	"hemrow/geo/format"
	"hemrow/geo/polygon"
)

// Sizes below or above which a number is more likely a slip than a field
// (common practice, no source).
const (
	smallPartM2  = 100
	smallHoleM2  = 1
	leastFieldM2 = 50
	mostFieldM2  = 2000e4
	areaOffRatio = 0.01
	areaStepM2   = 1 // hectares are mostly stated with four decimals
)

// piece is a block and the part of the file it came from.
type piece struct {
	p    part
	area orb.Polygon
}

// blocks repairs the chosen polygons and makes blocks of them.
func (b *builder) blocks(chosen []part) ([]geo.Block, error) {
	var pieces []piece
	for _, p := range chosen {
		if err := b.ctx.Err(); err != nil {
			return nil, err
		}
		for _, q := range b.sound(p) {
			pieces = append(pieces, piece{p, q})
		}
	}
	if err := b.joined(); err != nil {
		return nil, err
	}
	if len(pieces) > 1 {
		var err error
		if pieces, err = b.reconcile(pieces); err != nil {
			return nil, err
		}
	}
	blocks := b.name(chosen, pieces)
	for i, bl := range blocks {
		b.smallHoles(pieces[i].p.where, bl)
		if a := polygon.AreaM2(bl.Outline); len(blocks) > 1 && a < smallPartM2 {
			b.note(geo.Note{
				Code: geo.NoteSmallPart, Severity: geo.Caution, Place: pieces[i].p.place(0, 0, nil),
				Text: fmt.Sprintf("block %q has only %.1f m2", bl.Name, a), Hint: "leave it out if it is not to be planted",
				Value: a, Limit: smallPartM2, Unit: "m2",
			})
		}
	}
	return blocks, nil
}

// name names the blocks: by feature, and by number where one has several.
func (b *builder) name(chosen []part, pieces []piece) []geo.Block {
	perFeature := map[*format.Feature]int{}
	if len(pieces) > 1 {
		for _, p := range pieces {
			perFeature[p.p.feature]++
		}
	}
	seen := map[*format.Feature]int{}
	blocks := make([]geo.Block, len(pieces))
	for i, p := range pieces {
		name := featureName(p.p.feature)
		if name == "field" && len(perFeature) > 1 {
			name = fmt.Sprintf("feature %d", p.p.feature.Number)
		}
		if len(pieces) > 1 && perFeature[p.p.feature] > 1 {
			seen[p.p.feature]++
			name = fmt.Sprintf("%s %d", name, seen[p.p.feature])
		}
		blocks[i] = geo.Block{Name: name, Outline: p.area}
	}
	if len(blocks) > 1 {
		b.note(geo.Note{
			Code: geo.NoteBlocks, Severity: geo.Info, Place: chosen[0].file,
			Text:  fmt.Sprintf("the field has %d blocks, each with rows of its own", len(blocks)),
			Value: float64(len(blocks)), Unit: "blocks",
		})
	}
	return blocks
}

func (b *builder) smallHoles(w where, bl geo.Block) {
	for k, h := range bl.Outline[1:] {
		if a := math.Abs(polygon.SignedAreaM2(h)); a < smallHoleM2 {
			at := b.frame.ToLonLat(h[0])
			b.note(geo.Note{
				Code: geo.NoteSmallHole, Severity: geo.Caution, Place: w.place(k+1, 0, &at),
				Text: fmt.Sprintf("hole of %.2f m2 kept as an obstacle", a), Hint: "remove it if nothing stands there",
				Value: a, Limit: smallHoleM2, Unit: "m2",
			})
		}
	}
}

// reconcile drops twins, joins parts cut at the antimeridian, and settles
// overlaps and gaps between all pieces.
func (b *builder) reconcile(pieces []piece) ([]piece, error) {
	if !b.spec.Strict {
		pieces = b.dropTwins(pieces)
	}
	pieces, err := b.joinAcross(pieces)
	if err != nil {
		return nil, err
	}
	for j := 1; j < len(pieces); j++ {
		if err := b.ctx.Err(); err != nil {
			return nil, err
		}
		var ix *polygon.Index
		near := pieces[j].area.Bound().Pad(geo.JoinGapM)
		for i := range j {
			if !pieces[i].area.Bound().Intersects(near) {
				continue
			}
			if err := b.apart(pieces, i, j); err != nil {
				b.errs = append(b.errs, err)
				continue
			}
			if ix == nil {
				ix = polygon.NewIndex(pieces[j].area...)
			}
			b.gap(pieces[i], pieces[j], ix)
		}
	}
	return pieces, b.joined()
}

func (b *builder) dropTwins(pieces []piece) []piece {
	seen := map[uint64][]int{}
	var out []piece
	for _, p := range pieces {
		norm := canonical(p.area)
		key := math.Float64bits(norm[0][0][0]) ^ math.Float64bits(norm[0][1][1])<<1
		twin := -1
		for _, i := range seen[key] {
			if canonical(out[i].area).Equal(norm) {
				twin = i
			}
		}
		if twin < 0 {
			seen[key] = append(seen[key], len(out))
			out = append(out, p)
			continue
		}
		b.note(geo.Note{
			Code: geo.NoteTwin, Severity: geo.Info, Place: p.p.place(0, 0, nil),
			Text:  fmt.Sprintf("same outline as %s; planted once", out[twin].p.input(0, 0, nil).Place()),
			Value: polygon.AreaM2(p.area), Unit: "m2",
		})
	}
	return out
}

// canonical is p with each ring started at its lowest vertex.
func canonical(p orb.Polygon) orb.Polygon {
	q := make(orb.Polygon, len(p))
	for k, r := range p {
		n := len(r) - 1
		low := 0
		for i := range n {
			if r[i][1] < r[low][1] || r[i][1] == r[low][1] && r[i][0] < r[low][0] {
				low = i
			}
		}
		q[k] = append(append(slices.Clone(r[low:n]), r[:low]...), r[low])
	}
	return q
}

// joinAcross unites parts that were cut at the 180th meridian.
func (b *builder) joinAcross(pieces []piece) ([]piece, error) {
	var cut []int
	for i, p := range pieces {
		if b.onAntimeridian(p.p.rings) {
			cut = append(cut, i)
		}
	}
	if len(cut) < 2 {
		return pieces, nil
	}
	areas := make([]orb.Polygon, len(cut))
	for k, i := range cut {
		areas[k] = pieces[i].area
	}
	whole, err := polygon.Union(areas)
	if err != nil {
		e := pieces[cut[0]].p.input(0, 0, nil)
		e.Problem = fmt.Sprintf("parts cut at the 180th meridian cannot be joined: %v", err)
		return nil, e
	}
	if len(whole) == len(cut) {
		return pieces, nil
	}
	b.note(geo.Note{
		Code: geo.NoteAntimeridian, Severity: geo.Info, Place: pieces[cut[0]].p.place(0, 0, nil),
		Text:  fmt.Sprintf("%d parts cut at the 180th meridian joined to %d", len(cut), len(whole)),
		Value: float64(len(cut)), Unit: "parts",
	})
	first := pieces[cut[0]].p
	for k := len(cut) - 1; k >= 0; k-- {
		pieces = slices.Delete(pieces, cut[k], cut[k]+1)
	}
	for _, p := range whole {
		pieces = append(pieces, piece{first, p})
	}
	return pieces, nil
}

// onAntimeridian reports whether two vertices in a row lie on ±180.
func (b *builder) onAntimeridian(p format.Polygon) bool {
	for _, r := range p {
		for i := 1; i < len(r); i++ {
			if math.Abs(b.lonLat(r[i-1]).LonDeg) == 180 && math.Abs(b.lonLat(r[i]).LonDeg) == 180 {
				return true
			}
		}
	}
	return false
}

// apart settles an overlap of pieces i and j: rounding of the file is cut
// from the later one, more is refused with its area.
func (b *builder) apart(pieces []piece, i, j int) error {
	p, q := pieces[i], pieces[j]
	over, err := polygon.OverlapAreaM2(p.area, q.area)
	w := q.p.where
	if err != nil {
		e := w.input(0, 0, nil)
		e.Problem = fmt.Sprintf("cannot be compared with %s: %v", p.p.input(0, 0, nil).Place(), err)
		return e
	}
	per := min(polygon.PerimeterM(p.area), polygon.PerimeterM(q.area))
	switch {
	case over <= geo.OverlayM*per:
		return nil
	case over > geo.NeedleWidthM*per/2 || b.spec.Strict:
		e := w.input(0, 0, nil)
		e.Problem = fmt.Sprintf("overlaps %s by %.2f m2", p.p.input(0, 0, nil).Place(), over)
		e.Hint = "correct the shared boundary, or choose one of the two"
		return e
	}
	rest, err := polygon.Difference(q.area, []orb.Polygon{p.area})
	if err != nil || len(rest) != 1 {
		e := w.input(0, 0, nil)
		e.Problem = fmt.Sprintf("overlaps %s by %.2f m2, which cannot be cut off", p.p.input(0, 0, nil).Place(), over)
		return e
	}
	pieces[j].area = rest[0]
	b.note(geo.Note{
		Code: geo.NoteOverlapCut, Severity: geo.Info, Place: w.place(0, 0, nil),
		Text:  fmt.Sprintf("overlaps %s by %.2f m2, the rounding of the file; cut off", p.p.input(0, 0, nil).Place(), over),
		Value: over, Unit: "m2",
	})
	return nil
}

// gap notes a gap too narrow to be meant.
func (b *builder) gap(p, q piece, ix *polygon.Index) {
	least := math.Inf(1)
	for _, r := range p.area {
		for i := 1; i < len(r); i++ {
			_, d := ix.SegmentNearestM(r[i-1], r[i])
			least = min(least, d)
		}
	}
	if least <= geo.CoincidentM || least >= geo.JoinGapM {
		return
	}
	b.note(geo.Note{
		Code: geo.NoteNear, Severity: geo.Caution, Place: q.p.place(0, 0, nil),
		Text:  fmt.Sprintf("only %.3f m from %s", least, p.p.input(0, 0, nil).Place()),
		Hint:  "if it is one field, join the outlines in the file; each block gets headlands of its own",
		Value: least, Limit: geo.JoinGapM, Unit: "m",
	})
}
