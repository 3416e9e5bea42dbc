package terrain

import (
	"cmp"
	"math"
	"math/bits"
	"slices"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// curveOrder arranges points along a Hilbert curve, so that neighbours on the
// ground are near in memory. It depends on the coordinates alone, not on the
// order in which they are given.
func curveOrder(pts []orb.Point) []int32 {
	type keyed struct {
		key uint64
		id  int32
	}
	lo, hi := boundsOf(pts)
	scale := (1<<hilbertBits - 1) / max(hi[0]-lo[0], hi[1]-lo[1], geo.LatticeM)
	keys := make([]keyed, len(pts))
	for i, p := range pts {
		keys[i] = keyed{hilbert(uint32((p[0]-lo[0])*scale), uint32((p[1]-lo[1])*scale)), int32(i)}
	}
	slices.SortFunc(keys, func(a, b keyed) int {
		if a.key != b.key {
			return cmp.Compare(a.key, b.key)
		}
		p, q := pts[a.id], pts[b.id]
		return cmp.Or(cmp.Compare(p[0], q[0]), cmp.Compare(p[1], q[1]), cmp.Compare(a.id, b.id))
	})
	out := make([]int32, len(pts))
	for i, k := range keys {
		out[i] = k.id
	}
	return out
}

// insertionOrder deals points that lie along a Hilbert curve out to rounds of
// doubling size, in each of which they keep their order. The draw is at random
// but depends on the coordinates alone.
// Source: N. Amenta, S. Choi, G. Rote, "Incremental constructions con BRIO",
// Symposium on Computational Geometry 2003, section 2.
func insertionOrder(pts []orb.Point) []int32 {
	last := max(0, bits.Len(uint(len(pts)))-6) // the first round has some 64 points
	round := make([]uint8, len(pts))
	start := make([]int, last+2)
	for i, p := range pts {
		// A round is half as likely as the next: a coin for each.
		coins := bits.LeadingZeros64(scramble(math.Float64bits(p[0]) ^ scramble(math.Float64bits(p[1]))))
		r := max(0, last-coins)
		round[i] = uint8(r)
		start[r+1]++
	}
	for r := range last + 1 {
		start[r+1] += start[r]
	}
	out := make([]int32, len(pts))
	for i, r := range round {
		out[start[r]] = int32(i)
		start[r]++
	}
	return out
}

func boundsOf(pts []orb.Point) (lo, hi orb.Point) {
	b := orb.MultiPoint(pts).Bound()
	return b.Min, b.Max
}

// scramble mixes 64 bits (the finaliser of D. Stafford's variant 13 of
// MurmurHash3, from memory); any mixing would do.
func scramble(x uint64) uint64 {
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// hilbertBits is the depth of the curve, 2²⁶ steps along each axis.
const hilbertBits = 26

// hilbert is the place of the cell (x, y) along the Hilbert curve.
func hilbert(x, y uint32) (d uint64) {
	for s := uint32(1) << (hilbertBits - 1); s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d = d<<2 | uint64((3*rx)^ry)
		if ry == 0 {
			if rx == 1 {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return d
}
