package terrain

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"hemrow/geo"
)

// Method says how a grid finds heights between the centres of its cells.
type Method uint8

const (
	// Bilinear blends the four cells around; its slope jumps at the lines
	// between cell centres.
	Bilinear Method = iota
	// Bicubic blends sixteen cells by cubic convolution with a = -0.5; its
	// slope is continuous. Where one of the sixteen is missing it is bilinear.
	// Source: R. G. Keys, "Cubic convolution interpolation for digital image
	// processing", IEEE Trans. ASSP 29 (1981) 1153-1160, equation 4.
	Bicubic
)

// String is the method in words.
func (m Method) String() string {
	if m == Bicubic {
		return "bicubic"
	}
	return "bilinear"
}

// Grid is a surface over the centres of raster cells, made by [FromRaster]. It
// covers what lies between centres with known heights, borders included;
// nothing is extrapolated past the outermost centres. It is safe for
// concurrent use.
type Grid struct {
	cells      *cellMap
	cols, rows int
	z          []float64 // row by row, NaN unknown
	method     Method
	bound      orb.Bound
	spacingM   float64
	slack      float64 // MapErrorM in cells
}

var _ Surface = (*Grid)(nil)

// Height is the height at p in metres.
func (g *Grid) Height(p orb.Point) (zM float64, ok bool) {
	u, v, inside := g.cells.unit(p[0], p[1])
	if !inside {
		return 0, false
	}
	col, row := g.cells.cell(u, v)
	i, j := int(col), int(row)
	if g.method == Bilinear && col >= 0 && row >= 0 && i < g.cols-1 && j < g.rows-1 {
		k := j*g.cols + i
		a, b := g.z[k:k+2:k+2], g.z[k+g.cols:k+g.cols+2:k+g.cols+2]
		s, t := col-float64(i), row-float64(j)
		top := a[0] + s*(a[1]-a[0])
		z := top + t*(b[0]+s*(b[1]-b[0])-top)
		if z == z {
			return z, true
		}
	}
	z, _, _, ok := g.blend(col, row)
	return z, ok
}

// Gradient is the slope of the interpolated surface at p: its derivative by
// column and row, turned into the frame by the derivative of the map.
func (g *Grid) Gradient(p orb.Point) (eastRatio, northRatio float64, ok bool) {
	_, gx, gy, ok := g.sample(p[0], p[1])
	return gx, gy, ok
}

func (g *Grid) sample(x, y float64) (z, gx, gy float64, ok bool) {
	u, v, inside := g.cells.unit(x, y)
	if !inside {
		return 0, 0, 0, false
	}
	c, east, north := g.cells.jet(u, v)
	z, zc, zr, ok := g.blend(c[0], c[1])
	if !ok {
		return 0, 0, 0, false
	}
	return z, zc*east[0] + zr*east[1], zc*north[0] + zr*north[1], true
}

// blend is the height at a column and row, and its derivatives by both. On
// the border of what is known, found to within slack, the cells of the known
// side decide.
func (g *Grid) blend(col, row float64) (z, zc, zr float64, ok bool) {
	i, j := int(math.Floor(col)), int(math.Floor(row))
	if z, zc, zr, ok = g.patch(i, j, col, row); ok {
		return z, zc, zr, true
	}
	for _, di := range beside(col-float64(i), g.slack) {
		for _, dj := range beside(row-float64(j), g.slack) {
			if di == 0 && dj == 0 {
				continue
			}
			if z, zc, zr, ok = g.patch(i+di, j+dj, col, row); ok {
				return z, zc, zr, true
			}
		}
	}
	return 0, 0, 0, false
}

// beside lists the steps to the patches that hold a place at the fraction f of
// its own patch, give or take slack.
func beside(f, slack float64) []int {
	switch {
	case f <= slack:
		return []int{0, -1}
	case f >= 1-slack:
		return []int{0, 1}
	}
	return []int{0}
}

// patch blends within the square between centres (i, j) and (i+1, j+1); ok is
// false if a cell it needs is missing.
func (g *Grid) patch(i, j int, col, row float64) (z, zc, zr float64, ok bool) {
	if i < 0 || j < 0 || i >= g.cols-1 || j >= g.rows-1 {
		return 0, 0, 0, false
	}
	s, t := col-float64(i), row-float64(j)
	if g.method == Bicubic {
		if z, zc, zr, ok = g.cubic(i, j, s, t); ok {
			return z, zc, zr, true
		}
	}
	k := j*g.cols + i
	a, b := g.z[k:k+2:k+2], g.z[k+g.cols:k+g.cols+2:k+g.cols+2]
	da, db := a[1]-a[0], b[1]-b[0]
	top, low := a[0]+s*da, b[0]+s*db
	z = top + t*(low-top)
	return z, da + t*(db-da), low - top, z == z
}

// cubic is Keys' cubic convolution; ok is false if one of the sixteen cells is
// missing.
func (g *Grid) cubic(i, j int, s, t float64) (z, zc, zr float64, ok bool) {
	if i < 1 || j < 1 || i >= g.cols-2 || j >= g.rows-2 {
		return 0, 0, 0, false
	}
	ws, ds := keys(s)
	wt, dt := keys(t)
	for r := range 4 {
		k := (j-1+r)*g.cols + i - 1
		line := g.z[k : k+4 : k+4]
		val := ws[0]*line[0] + ws[1]*line[1] + ws[2]*line[2] + ws[3]*line[3]
		der := ds[0]*line[0] + ds[1]*line[1] + ds[2]*line[2] + ds[3]*line[3]
		z += wt[r] * val
		zc += wt[r] * der
		zr += dt[r] * val
	}
	return z, zc, zr, z == z
}

// keys is the weights of the four cells around the fraction s, and their
// derivatives: Keys 1981, equation 4 with a = -1/2.
func keys(s float64) (w, d [4]float64) {
	w = [4]float64{
		s * (-0.5 + s*(1-0.5*s)),
		1 + s*s*(-2.5+1.5*s),
		s * (0.5 + s*(2-1.5*s)),
		s * s * (-0.5 + 0.5*s),
	}
	d = [4]float64{
		-0.5 + s*(2-1.5*s),
		s * (-5 + 4.5*s),
		0.5 + s*(4-4.5*s),
		s * (-1 + 1.5*s),
	}
	return w, d
}

// Bounds is a box around the cells that were read.
func (g *Grid) Bounds() orb.Bound { return g.bound }

// SpacingM is the distance between cell centres, the geometric mean of that
// along and that across a row of cells.
func (g *Grid) SpacingM() float64 { return g.spacingM }

// Describe says how heights are found.
func (g *Grid) Describe() string {
	return fmt.Sprintf("%s between cell centres %.4g m apart", g.method, g.spacingM)
}

// Breaks adds to dst where the segment ab crosses the lines between cell
// centres. Those are straight in the raster's system and curved by less than a
// hair in the frame: the segment is halved until it is straight in cells to
// within geo.MapErrorM.
func (g *Grid) Breaks(a, b orb.Point, dst []float64) []float64 {
	length := distM(a, b)
	if !(length >= geo.CoincidentM) || math.IsInf(length, 1) {
		return dst
	}
	u0, v0, _ := g.cells.unit(a[0], a[1])
	u1, v1, _ := g.cells.unit(b[0], b[1])
	// The part inside the domain: beyond it nothing is covered.
	t0, t1 := clipUnit(u0, u1-u0, 0, 1)
	t0, t1 = clipUnit(v0, v1-v0, t0, t1)
	if !(t0 < t1) {
		return dst
	}
	p := passage{g: g, u: u0, v: v0, du: u1 - u0, dv: v1 - v0}
	from := len(dst)
	dst = p.halve(t0, t1, p.at(t0), p.at(t1), 0, dst)
	return spread(dst, from, length)
}

// clipUnit narrows t0..t1 to where x + t*d lies in -1..1.
func clipUnit(x, d, t0, t1 float64) (lo, hi float64) {
	if d == 0 {
		if x < -1 || x > 1 {
			return 1, 0
		}
		return t0, t1
	}
	lo, hi = (-1-x)/d, (1-x)/d
	if lo > hi {
		lo, hi = hi, lo
	}
	return max(t0, lo), min(t1, hi)
}

// passage is a segment on its way through the cells.
type passage struct {
	g            *Grid
	u, v, du, dv float64
}

func (p *passage) at(t float64) (c orb.Point) {
	c[0], c[1] = p.g.cells.cell(p.u+t*p.du, p.v+t*p.dv)
	return c
}

// halve adds the breaks between t0 and t1, whose cells are c0 and c1.
func (p *passage) halve(t0, t1 float64, c0, c1 orb.Point, depth int, dst []float64) []float64 {
	tm := (t0 + t1) / 2
	cm := p.at(tm)
	const deepest = 24 // 2²⁴ pieces of 1 m would go round the earth
	bend := math.Hypot(cm[0]-(c0[0]+c1[0])/2, cm[1]-(c0[1]+c1[1])/2)
	if bend > p.g.slack && depth < deepest {
		dst = p.halve(t0, tm, c0, cm, depth+1, dst)
		return p.halve(tm, t1, cm, c1, depth+1, dst)
	}
	x := newTicks(c0[0], c1[0], p.g.cols-1)
	y := newTicks(c0[1], c1[1], p.g.rows-1)
	for x.left > 0 || y.left > 0 {
		s := min(x.share(), y.share())
		dst = append(dst, t0+s*(t1-t0))
		if x.left > 0 && x.share() <= s {
			x.step()
		}
		if y.left > 0 && y.share() <= s {
			y.step()
		}
	}
	return dst
}

// ticks are the whole numbers between from and to, in that order, of those
// from 0 to most.
type ticks struct {
	from, span, at, by float64
	left               int
}

func newTicks(from, to float64, most int) ticks {
	lo := max(0, math.Ceil(min(from, to)))
	hi := min(float64(most), math.Floor(max(from, to)))
	k := ticks{from: from, span: to - from, at: lo, by: 1}
	if to < from {
		k.at, k.by = hi, -1
	}
	if hi >= lo && to != from {
		k.left = int(hi-lo) + 1
	}
	return k
}

// share is how far the next tick lies along the way, +Inf after the last.
func (k *ticks) share() float64 {
	if k.left == 0 {
		return math.Inf(1)
	}
	return (k.at - k.from) / k.span
}

func (k *ticks) step() {
	k.at += k.by
	k.left--
}
