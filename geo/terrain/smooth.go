package terrain

import (
	"fmt"
	"math"
)

// kernelSigmas is where the bell curve is cut off: beyond five sigma lie 6e-7
// of it, so that a wave passed on is wrong by no more than that share.
const kernelSigmas = 5

// Smoothed is a surface to design on, never to judge by: it shows the run of
// the land without its bumps.
type Smoothed struct {
	*Grid
	sigmaM float64
}

var _ Surface = Smoothed{}

// Describe says how heights are found.
func (s Smoothed) Describe() string {
	return fmt.Sprintf("%s, smoothed by a bell curve of sigma %.3g m", s.Grid.Describe(), s.sigmaM)
}

// Smooth blurs heights by a Gaussian of sigma metres, bicubic between nodes. A
// wave of number k = 2π/length keeps exp(-k²σ²/2) of its height; the bound of
// the error is 6e-7 from the cut of the kernel and 2 exp(-2π²(σ/step)²) from
// its sampling, so that sigma should be at least 0.9 steps. What is unknown
// stays so and lends no weight; the plane of best fit is taken off first and
// put back after, so that a plane is left as it is, to the edge of what is
// known. Sigma 0 or below leaves all heights as they are. Source: the Fourier
// transform of the Gaussian (textbook).
func (l Lattice) Smooth(sigmaM float64) Smoothed {
	l.Z = l.smoothed(sigmaM)
	return Smoothed{l.Surface(Bicubic), max(0, sigmaM)}
}

func (l *Lattice) smoothed(sigmaM float64) []float64 {
	out := make([]float64, len(l.Z))
	plane := l.plane()
	whole := true
	for j := range l.Rows {
		for i := range l.Cols {
			k := j*l.Cols + i
			out[k] = l.Z[k] - plane.at(i, j)
			if out[k] != out[k] {
				out[k], whole = 0, false
			}
		}
	}
	w := kernel(sigmaM/l.StepM, max(l.Cols, l.Rows))
	blur(out, l.Cols, l.Rows, w)
	weight := l.weight(w, whole)
	for j := range l.Rows {
		for i := range l.Cols {
			k := j*l.Cols + i
			if l.Z[k] != l.Z[k] {
				out[k] = l.Z[k]
				continue
			}
			out[k] = out[k]/weight(i, j) + plane.at(i, j)
		}
	}
	return out
}

// kernel is half of a sampled bell curve, from the middle outwards and no longer
// than a side of the lattice, with sum 1 over both halves.
func kernel(sigmaSteps float64, longest int) []float64 {
	w := []float64{1}
	if !(sigmaSteps > 0) {
		return w
	}
	sum := 1.0
	for k := 1; k < longest && float64(k) <= kernelSigmas*sigmaSteps; k++ {
		u := float64(k) / sigmaSteps
		w = append(w, math.Exp(-u*u/2))
		sum += 2 * w[k]
	}
	for k := range w {
		w[k] /= sum
	}
	return w
}

// weight is how much of the kernel lies on known nodes. Where all are known, it
// is a product of one figure for the column and one for the row.
func (l *Lattice) weight(w []float64, whole bool) func(i, j int) float64 {
	if whole {
		across, up := ones(l.Cols), ones(l.Rows)
		blur(across, l.Cols, 1, w)
		blur(up, l.Rows, 1, w)
		return func(i, j int) float64 { return across[i] * up[j] }
	}
	m := make([]float64, len(l.Z))
	for k, z := range l.Z {
		if z == z {
			m[k] = 1
		}
	}
	blur(m, l.Cols, l.Rows, w)
	return func(i, j int) float64 { return m[j*l.Cols+i] }
}

func ones(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

// blur replaces z by its convolution with the kernel along rows and columns,
// as if it were 0 beyond.
func blur(z []float64, cols, rows int, w []float64) {
	if len(z) == 0 || len(w) < 2 {
		return
	}
	line := make([]float64, cols+2*len(w))
	for j := range rows {
		row := z[j*cols : (j+1)*cols]
		copy(line[len(w):], row)
		weave(row, w, func(k int) []float64 { return line[len(w)+k:] })
	}
	if rows == 1 {
		return
	}
	none := make([]float64, cols)
	from := make([]float64, len(z))
	copy(from, z)
	for j := range rows {
		weave(z[j*cols:(j+1)*cols], w, func(k int) []float64 {
			if uint(j+k) >= uint(rows) {
				return none
			}
			return from[(j+k)*cols:]
		})
	}
}

// weave sets dst to the weighted sum of its neighbours: at(k) is dst moved by k.
func weave(dst, w []float64, at func(k int) []float64) {
	for i, v := range at(0)[:len(dst)] {
		dst[i] = w[0] * v
	}
	for k := 1; k < len(w); k++ {
		a, b, f := at(k)[:len(dst)], at(-k)[:len(dst)], w[k]
		for i := range dst {
			dst[i] += f * (a[i] + b[i])
		}
	}
}

// trend is the plane of best fit over nodes.
type trend struct{ mid, col, row, i0, j0 float64 }

func (p *trend) at(i, j int) float64 {
	return p.mid + p.col*(float64(i)-p.i0) + p.row*(float64(j)-p.j0)
}

// lineShare: nodes in one line have a determinant of 0 but for rounding, 2⁻⁵² for
// each of up to 2¹² terms of like size; otherwise it is a share of 1/n and more.
const lineShare = 0x1p-40

// plane fits by least squares around the middle of the known nodes; nodes in
// one line or fewer give a level plane.
func (l *Lattice) plane() (p trend) {
	var n, sx, sy, sz float64
	l.known(func(i, j int, z float64) { n, sx, sy, sz = n+1, sx+float64(i), sy+float64(j), sz+z })
	if n == 0 {
		return trend{}
	}
	p = trend{mid: sz / n, i0: sx / n, j0: sy / n}
	var xx, xy, yy, xz, yz float64
	l.known(func(i, j int, z float64) {
		x, y, h := float64(i)-p.i0, float64(j)-p.j0, z-p.mid
		xx, xy, yy, xz, yz = xx+x*x, xy+x*y, yy+y*y, xz+x*h, yz+y*h
	})
	if det := xx*yy - xy*xy; det > lineShare*xx*yy {
		p.col, p.row = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	}
	return p
}

func (l *Lattice) known(visit func(i, j int, z float64)) {
	for j := range l.Rows {
		for i, z := range l.Z[j*l.Cols : (j+1)*l.Cols] {
			if z == z {
				visit(i, j, z)
			}
		}
	}
}
