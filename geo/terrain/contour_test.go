package terrain

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// onNodes is heights by a formula of the node's place.
func onNodes(cols, rows int, stepM float64, at func(x, y float64) float64) Lattice {
	l := Lattice{Origin: orb.Point{-40, 25}, StepM: stepM, Cols: cols, Rows: rows, Z: make([]float64, cols*rows)}
	for k := range l.Z {
		p := l.Node(k%cols, k/cols)
		l.Z[k] = at(p[0], p[1])
	}
	return l
}

// ascii reads a raster of testdata as a lattice, first row southernmost.
func ascii(t testing.TB, name string) Lattice {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	require.NoError(t, err)
	words := strings.Fields(string(data))
	number := func(i int) float64 {
		v, err := strconv.ParseFloat(words[i], 64)
		require.NoError(t, err)
		return v
	}
	l := Lattice{Cols: int(number(1)), Rows: int(number(3)), StepM: number(9)}
	words = words[12:]
	require.Len(t, words, l.Cols*l.Rows)
	l.Z = make([]float64, len(words))
	for k := range words {
		z := number(k)
		if z == -9999 {
			z = math.NaN()
		}
		l.Z[(l.Rows-1-k/l.Cols)*l.Cols+k%l.Cols] = z
	}
	return l
}

func noise(cols, rows int, seed uint64) Lattice {
	r := rand.New(rand.NewPCG(seed, 3))
	return onNodes(cols, rows, 3, func(_, _ float64) float64 { return r.NormFloat64() })
}

func planM(line orb.LineString) (sum float64) {
	for i := 1; i < len(line); i++ {
		sum += distM(line[i-1], line[i])
	}
	return sum
}

func TestContoursOfCone(t *testing.T) {
	l := onNodes(81, 81, 1, func(x, y float64) float64 { return 50 - math.Hypot(x, y-65) })
	found := l.Contours([]float64{20, 30, 40})
	require.Len(t, found, 3)
	for _, c := range found {
		r := 50 - c.LevelM
		assert.True(t, c.Closed)
		assert.Equal(t, c.Line[0], c.Line[len(c.Line)-1])
		// A cone is straight along its rays but round along an edge of the grid:
		// the error is up to 1²/(8 r).
		for _, p := range c.Line {
			assert.InDelta(t, r, math.Hypot(p[0], p[1]-65), 1/(8*r)+1e-9)
		}
		assert.Equal(t, orb.CCW, orb.Ring(c.Line).Orientation(), "high ground within")
	}
}

func TestContoursOfPlane(t *testing.T) {
	l := onNodes(31, 21, 2, func(x, y float64) float64 { return 0.04*x + 0.03*y })
	levels := l.Levels(0.25, 0.1)
	require.NotEmpty(t, levels)
	for _, z := range levels {
		found := l.Contours([]float64{z})
		require.Len(t, found, 1)
		c := found[0]
		assert.False(t, c.Closed)
		for _, p := range c.Line {
			assert.InDelta(t, z, 0.04*p[0]+0.03*p[1], 1e-12)
		}
		a, b := c.Line[0], c.Line[len(c.Line)-1]
		assert.InDelta(t, distM(a, b), planM(c.Line), 1e-9, "straight")
		assert.Positive(t, (b[0]-a[0])*0.03-(b[1]-a[1])*0.04, "high ground on the left")
	}
}

// A saddle of four nodes: high corners are joined when their mean is high.
func TestContoursOfSaddle(t *testing.T) {
	l := Lattice{StepM: 1, Cols: 2, Rows: 2, Z: []float64{4, 0, 0, 4}}
	apart := l.Contours([]float64{3}) // mean 2 is low
	require.Len(t, apart, 2)
	assert.Equal(t, orb.LineString{{0.25, 0}, {0, 0.25}}, apart[0].Line)
	together := l.Contours([]float64{1})
	require.Len(t, together, 2)
	assert.Equal(t, orb.LineString{{0.75, 0}, {1, 0.25}}, together[0].Line)
	assert.Equal(t, orb.LineString{{0.25, 1}, {0, 0.75}}, together[1].Line)
}

func TestContoursOfNothing(t *testing.T) {
	var none Lattice
	assert.Empty(t, none.Contours([]float64{1}))
	assert.Empty(t, none.Levels(1, 0))
	one := Lattice{StepM: 1, Cols: 1, Rows: 1, Z: []float64{3}}
	assert.Empty(t, one.Contours([]float64{3}))
	flat := onNodes(5, 5, 1, func(_, _ float64) float64 { return 2 })
	assert.Empty(t, flat.Contours([]float64{2, 1, math.NaN(), math.Inf(1)}))
	assert.Empty(t, flat.Levels(0, 0))
	assert.Empty(t, flat.Levels(math.NaN(), 0))
	peak := onNodes(3, 3, 1, func(_, _ float64) float64 { return 0 })
	peak.Z[4] = 1
	assert.Empty(t, peak.Contours([]float64{1}), "a node at the level is no line")
	hole := onNodes(3, 3, 1, func(x, _ float64) float64 { return x })
	hole.Z[4] = math.NaN()
	assert.Empty(t, hole.Contours([]float64{-39}), "all squares touch the unknown node")
}

// Every line ends at the rim of what is known or closes; every edge that the
// level crosses is used by one line, once.
func TestContoursUseEveryCrossing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cols, rows := rapid.IntRange(2, 9).Draw(t, "cols"), rapid.IntRange(2, 9).Draw(t, "rows")
		l := onNodes(cols, rows, 1, func(_, _ float64) float64 { return 0 })
		for k := range l.Z {
			l.Z[k] = rapid.Float64Range(-1, 1).Draw(t, "z")
			if rapid.IntRange(0, 9).Draw(t, "unknown") == 0 {
				l.Z[k] = math.NaN()
			}
		}
		const level = 0.013
		tr := tracer{Lattice: &l, level: level}
		segments := 0
		for j := range rows - 1 {
			for i := range cols - 1 {
				if code, ok := tr.code(i, j); ok {
					for _, way := range tr.lines(i, j, code) {
						if way[0] != way[1] {
							segments++
						}
					}
				}
			}
		}
		found := 0
		for _, c := range l.Contours([]float64{level}) {
			require.Equal(t, c.Closed, c.Line[0] == c.Line[len(c.Line)-1])
			found += len(c.Line) - 1
		}
		// Crossings within a micrometre of a node fall together.
		for _, z := range l.Z {
			if math.Abs(z-level) < 1e-4 {
				return
			}
		}
		require.Equal(t, segments, found)
	})
}

// GDAL traces the same squares between cell centres, heights along edges linear.
// Three things it does otherwise are evened out before comparing. Its lines run
// on for half a cell around the border and around unknown cells: only pieces in
// squares with four known corners count. It takes a height within 1e-6 of the
// level as that much above: levels here are away from all heights. In a saddle
// it always keeps the north-west and south-east corners together (seen by
// trial on squares of four cells): there its four crossings are paired anew by
// the mean. Lines are then counted as the sets of crossings that hang together.
// Source: gdal_contour of GDAL 3.6.
func TestContoursAgainstGDAL(t *testing.T) {
	waves := onNodes(90, 70, 2, func(x, y float64) float64 { return 3*math.Sin(x/9)*math.Cos(y/7) + 0.02*x })
	for _, c := range []struct {
		name           string
		l              Lattice
		interval, base float64
		lines          int // at least
	}{
		{"hillside", ascii(t, "hillside-5m.asc"), 0.5, 0.00037, 100},
		{"plain with unknown ground", ascii(t, "plain-10m.asc"), 0.25, 0.00037, 20},
		{"waves", waves, 0.5, 0.01, 100},
		{"noise, mostly saddles", noise(60, 50, 5), 0.5, 0.01, 1000},
	} {
		t.Run(c.name, func(t *testing.T) {
			count, total := c.l.hang(gdalContours(t, &c.l, c.interval, c.base))
			own, ownTotal := 0, 0.0
			for _, line := range c.l.Contours(c.l.Levels(c.interval, c.base)) {
				own, ownTotal = own+1, ownTotal+planM(line.Line)
			}
			require.Greater(t, count, c.lines)
			assert.Equal(t, count, own, "number of lines")
			assert.InEpsilon(t, total, ownTotal, 1e-9, "total length")
			t.Logf("%d lines, %.3f m; GDAL %.3f m", own, ownTotal, total)
		})
	}
}

// gdalContours runs gdal_contour on a lattice; lines come back in steps from
// the first node.
func gdalContours(t *testing.T, l *Lattice, interval, base float64) (lines []Contour) {
	t.Helper()
	dir := t.TempDir()
	var b bytes.Buffer
	// A cell's centre is half a cell from its corner.
	fmt.Fprintf(&b, "ncols %d\nnrows %d\nxllcorner -0.5\nyllcorner -0.5\ncellsize 1\nNODATA_value -9999\n", l.Cols, l.Rows)
	for j := l.Rows - 1; j >= 0; j-- {
		for i := range l.Cols {
			z := l.Z[j*l.Cols+i]
			if z != z {
				z = -9999
			}
			fmt.Fprintf(&b, "%.17g ", z)
		}
		b.WriteByte('\n')
	}
	in, out := filepath.Join(dir, "in.asc"), filepath.Join(dir, "out.json")
	require.NoError(t, os.WriteFile(in, b.Bytes(), 0o600))
	cmd := exec.Command("gdal_contour", "--config", "AAIGRID_DATATYPE", "Float64", "-q",
		"-a", "level", "-i", fmt.Sprint(interval), "-off", fmt.Sprint(base), "-f", "GeoJSON", in, out)
	said, err := cmd.CombinedOutput()
	require.NoError(t, err, "gdal_contour is needed for this test: %s", said)
	data, err := os.ReadFile(out)
	require.NoError(t, err)
	var doc struct {
		Features []struct {
			Geometry   struct{ Coordinates orb.LineString }
			Properties struct{ Level float64 }
		}
	}
	require.NoError(t, json.Unmarshal(data, &doc))
	for _, f := range doc.Features {
		lines = append(lines, Contour{LevelM: f.Properties.Level, Line: f.Geometry.Coordinates})
	}
	return lines
}

// crossed is one crossing of a level with an edge: the edge's lower node, and
// which way it runs.
type crossed struct {
	level float64
	i, j  int
	north bool
}

// hang counts the lines that segments make, and sums up their length in metres.
func (l *Lattice) hang(lines []Contour) (count int, totalM float64) {
	tr := tracer{Lattice: l}
	parent := map[crossed]crossed{}
	var root func(c crossed) crossed
	root = func(c crossed) crossed {
		if p, ok := parent[c]; ok && p != c {
			parent[c] = root(p)
			return parent[c]
		}
		parent[c] = c
		return c
	}
	for _, line := range lines {
		tr.level = line.LevelM
		for k := 1; k < len(line.Line); k++ {
			a, b := line.Line[k-1], line.Line[k]
			i, j := int(math.Floor((a[0]+b[0])/2)), int(math.Floor((a[1]+b[1])/2))
			code, whole := tr.code(i, j)
			if !whole {
				continue
			}
			from, to := edgeOf(line.LevelM, a), edgeOf(line.LevelM, b)
			if code == 5 || code == 10 {
				from, to, b = tr.pairAnew(i, j, a, b)
				a = tr.onEdge(from)
			}
			totalM += l.StepM * distM(a, b)
			parent[root(from)] = root(to)
		}
	}
	for c := range parent {
		if root(c) == c {
			count++
		}
	}
	return count, totalM
}

// edgeOf is the edge that a crossing in steps lies on.
func edgeOf(level float64, p orb.Point) crossed {
	i, j := math.Round(p[0]), math.Round(p[1])
	if math.Abs(p[0]-i) < math.Abs(p[1]-j) {
		return crossed{level, int(i), int(math.Floor(p[1])), true}
	}
	return crossed{level, int(math.Floor(p[0])), int(j), false}
}

// onEdge is a crossing in steps.
func (t *tracer) onEdge(c crossed) orb.Point {
	z := func(i, j int) float64 { return t.Z[j*t.Cols+i] }
	if c.north {
		return orb.Point{float64(c.i), float64(c.j) + (c.level-z(c.i, c.j))/(z(c.i, c.j+1)-z(c.i, c.j))}
	}
	return orb.Point{float64(c.i) + (c.level-z(c.i, c.j))/(z(c.i+1, c.j)-z(c.i, c.j)), float64(c.j)}
}

// pairAnew links the south or north crossing of a saddle, whichever ab has, to
// the west or east one so that the corners on the mean's side stay together.
func (t *tracer) pairAnew(i, j int, a, b orb.Point) (from, to crossed, end orb.Point) {
	from = edgeOf(t.level, a)
	if from.north {
		from = edgeOf(t.level, b)
	}
	z := func(i, j int) float64 { return t.Z[j*t.Cols+i] }
	mean := (z(i, j) + z(i+1, j) + z(i, j+1) + z(i+1, j+1)) / 4
	// The corners on the other side than the mean are cut off: of the two ends
	// of the crossed edge, the one whose height is there.
	to = crossed{t.level, i, j, true}
	if (z(i, from.j) >= t.level) == (mean >= t.level) {
		to.i++
	}
	return from, to, t.onEdge(to)
}

func TestSampleGrid(t *testing.T) {
	src := onNodes(11, 6, 10, func(x, y float64) float64 { return 0.1*x - 0.2*y })
	g := src.Surface(Bilinear)
	l := SampleGrid(g, orb.Bound{Min: orb.Point{-50, 20}, Max: orb.Point{65, 80}}, 5)
	require.Equal(t, 24, l.Cols)
	require.Equal(t, 13, l.Rows)
	for j := range l.Rows {
		for i := range l.Cols {
			p, z := l.Node(i, j), l.Z[j*l.Cols+i]
			if p[0] < -40 || p[0] > 60 || p[1] < 25 || p[1] > 75 {
				assert.True(t, math.IsNaN(z), "%v is off the surface", p)
				continue
			}
			assert.InDelta(t, 0.1*p[0]-0.2*p[1], z, 1e-12)
		}
	}
	assert.Zero(t, SampleGrid(g, orb.Bound{}, 5).Cols)
	assert.Zero(t, SampleGrid(g, g.Bounds(), 0).Cols)
	assert.Zero(t, SampleGrid(g, g.Bounds(), math.NaN()).Cols)
	assert.Zero(t, SampleGrid(g, orb.Bound{Max: orb.Point{math.Inf(1), 9}}, 5).Cols)
}

func ExampleLattice_Contours() {
	hill := Lattice{StepM: 10, Cols: 3, Rows: 3, Z: []float64{
		0, 1, 0,
		1, 4, 1,
		0, 1, 0,
	}}
	for _, c := range hill.Contours(hill.Levels(2, 0.5)) {
		fmt.Println(c.LevelM, c.Closed, c.Line)
	}
	// Output:
	// 0.5 false [[0 5] [5 0]]
	// 0.5 false [[15 0] [20 5]]
	// 0.5 false [[5 20] [0 15]]
	// 0.5 false [[20 15] [15 20]]
	// 2.5 true [[5 10] [10 5] [15 10] [10 15] [5 10]]
}

func BenchmarkContours(b *testing.B) {
	l := onNodes(500, 400, 1, func(x, y float64) float64 {
		return 0.06*x + 4*math.Sin(x/60)*math.Cos(y/45) + 0.3*math.Sin(x/7+y/9)
	})
	levels := l.Levels(1, 0)
	b.ReportAllocs()
	for b.Loop() {
		l.Contours(levels)
	}
	cells := float64(len(levels)*(l.Cols-1)*(l.Rows-1)) * float64(b.N)
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/cells, "ns/cell")
}
