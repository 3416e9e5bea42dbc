package terrain

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
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
	for _, di := range [2]int{0, beside(col-float64(i), g.slack)} {
		for _, dj := range [2]int{0, beside(row-float64(j), g.slack)} {
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

// beside is the step from the patch of a place to the other that holds it too,
// give or take slack, if it lies at the fraction f of its own; 0 if there is
// none.
func beside(f, slack float64) int {
	switch {
	case f <= slack:
		return -1
	case f >= 1-slack:
		return 1
	}
	return 0
}

// patch blends within the square between centres (i, j) and (i+1, j+1); ok is
// false if a cell it needs is missing.
func (g *Grid) patch(i, j int, col, row float64) (z, zc, zr float64, ok bool) {
	s, t := col-float64(i), row-float64(j)
	if g.method == Bicubic {
		if z, zc, zr, ok = g.cubic(i, j, s, t); ok {
			return z, zc, zr, true
		}
	}
	z, zc, zr, _, ok = g.bilinear(i, j, s, t)
	return z, zc, zr, ok
}

// bilinear blends the four cells around; twist is the mixed derivative.
func (g *Grid) bilinear(i, j int, s, t float64) (z, zc, zr, twist float64, ok bool) {
	if uint(i) >= uint(g.cols-1) || uint(j) >= uint(g.rows-1) {
		return 0, 0, 0, 0, false
	}
	k := j*g.cols + i
	a, b := g.z[k:k+2:k+2], g.z[k+g.cols:k+g.cols+2:k+g.cols+2]
	da, db := a[1]-a[0], b[1]-b[0]
	top, low := a[0]+s*da, b[0]+s*db
	z = top + t*(low-top)
	return z, da + t*(db-da), low - top, db - da, z == z
}

// cubic is Keys' cubic convolution; ok is false if one of the sixteen cells is
// missing.
func (g *Grid) cubic(i, j int, s, t float64) (z, zc, zr float64, ok bool) {
	var p net
	if !g.net(i, j, &p) {
		return 0, 0, 0, false
	}
	z, zc, zr = p.at(s, t)
	return z, zc, zr, z == z
}

// net is the cubics along four rows of cells, and from row to row between them.
type net [4]cubic

// net takes the sixteen cells around the patch (i, j), if the raster has them.
func (g *Grid) net(i, j int, p *net) bool {
	if i < 1 || j < 1 || i >= g.cols-2 || j >= g.rows-2 {
		return false
	}
	k := (j-1)*g.cols + i - 1
	for r := range p {
		v := g.z[k : k+4 : k+4]
		p[r] = keys(v[0], v[1], v[2], v[3])
		k += g.cols
	}
	return true
}

func (p *net) at(s, t float64) (z, zc, zr float64) {
	v0, d0 := p[0].at(s)
	v1, d1 := p[1].at(s)
	v2, d2 := p[2].at(s)
	v3, d3 := p[3].at(s)
	z, zr = keys(v0, v1, v2, v3).at(t)
	zc, _ = keys(d0, d1, d2, d3).at(t)
	return z, zc, zr
}

// cubic is a + b s + c s² + d s³.
type cubic struct{ a, b, c, d float64 }

func (p cubic) at(s float64) (v, slope float64) {
	return p.a + s*(p.b+s*(p.c+s*p.d)), p.b + s*(2*p.c+s*3*p.d)
}

// keys blends four values at -1, 0, 1 and 2 between the middle two: Keys 1981,
// equation 4 with a = -1/2.
func keys(v0, v1, v2, v3 float64) cubic {
	return cubic{v1, (v2 - v0) / 2, v0 - 2.5*v1 + 2*v2 - v3/2, 1.5*(v1-v2) + (v3-v0)/2}
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
