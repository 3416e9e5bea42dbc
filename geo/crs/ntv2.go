package crs

import (
	"encoding/binary"
	"fmt"
	"math"
	"sort"
	"strings"

	"hemrow/geo"
)

// Grid is a datum shift by a grid of corrections in NTv2 form, which the
// surveyor supplies. It does not change once read.
//
// Source of the form: Geodetic Survey Division, Natural Resources Canada, NTv2
// Developer's Guide (1997), as IOGP Guidance Note 7-2 section 4.4.3 (EPSG
// method 9615) cites it; from memory.
type Grid struct {
	name   string
	from   string
	to     string
	nested []subGrid // those inside others first
}

var _ datumShift = (*Grid)(nil)

// subGrid is one rectangle of nodes. Longitudes count west in the file and
// east here; nodes run from the south-east corner westwards, then north.
type subGrid struct {
	name                     string
	south, north, west, east float64 //unit:seconds of arc
	dLat, dLon               float64 //unit:seconds of arc
	rows, cols               int
	lat, lon                 []float32 // shift in seconds, north and west
}

const (
	ntv2Record  = 16
	ntv2Header  = 11
	ntv2MaxSubs = 4096

	// ntv2MaxBytes is ten times the largest national grid in use.
	ntv2MaxBytes = 512 << 20
)

// Name is the name that the grid was read under.
func (g *Grid) Name() string { return g.name }

// Systems are the two datums, in the words of the file.
func (g *Grid) Systems() (from, to string) { return g.from, g.to }

// ReadNTv2 reads a grid file of either byte order, with sub-grids nested to
// any depth. It errors, naming the file and the sub-grid, when a header is
// missing or makes no sense, or when fewer nodes follow than it counts; it
// never takes more memory than the file has bytes.
func ReadNTv2(name string, data []byte) (*Grid, error) {
	fail := func(format string, a ...any) (*Grid, error) {
		return nil, fmt.Errorf("%s: not a grid that can be used: %s", name, fmt.Sprintf(format, a...))
	}
	if len(data) > ntv2MaxBytes {
		return fail("it has %d MB, more than the limit of %d", len(data)>>20, ntv2MaxBytes>>20)
	}
	order, ok := ntv2Order(data)
	if !ok {
		return fail("it does not begin with the record NUM_OREC of an NTv2 file; give a file that ends in .gsb")
	}
	r := ntv2Reader{data: data, order: order}
	head := r.header()
	if head == nil {
		return fail("it ends within its first header")
	}
	perUnit, ok := ntv2Units[strings.ToUpper(head.text("GS_TYPE"))]
	if !ok {
		return fail("its shifts are in %q, which is none of SECONDS, MINUTES, DEGREES", head.text("GS_TYPE"))
	}
	subs := head.count("NUM_FILE")
	if subs < 1 || subs > ntv2MaxSubs {
		return fail("it counts %d sub-grids, where 1 to %d can be", subs, ntv2MaxSubs)
	}
	g := &Grid{name: name, from: head.text("SYSTEM_F"), to: head.text("SYSTEM_T")}
	for i := range subs {
		s, err := r.subGrid(perUnit)
		if err != nil {
			return fail("sub-grid %d of %d: %v", i+1, subs, err)
		}
		g.nested = append(g.nested, s)
	}
	// Finer nodes win: of two rectangles over a place the inner one is finer.
	sort.SliceStable(g.nested, func(i, j int) bool {
		return g.nested[i].dLat*g.nested[i].dLon < g.nested[j].dLat*g.nested[j].dLon
	})
	return g, nil
}

// ntv2Units is how many seconds of arc a unit of the file has.
var ntv2Units = map[string]float64{"SECONDS": 1, "MINUTES": 60, "DEGREES": 3600}

// ntv2Order tells the byte order from the count of header records, 11.
func ntv2Order(data []byte) (binary.ByteOrder, bool) {
	if len(data) < ntv2Record || strings.TrimRight(string(data[:8]), " \x00") != "NUM_OREC" {
		return nil, false
	}
	for _, o := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		if o.Uint32(data[8:]) == ntv2Header {
			return o, true
		}
	}
	return nil, false
}

type ntv2Reader struct {
	data  []byte
	at    int
	order binary.ByteOrder
}

// ntv2Records are the eleven records of a header by their keys.
type ntv2Records struct {
	raw   map[string][]byte
	order binary.ByteOrder
}

// header takes the next header, nil at the end of the file.
func (r *ntv2Reader) header() *ntv2Records {
	const size = ntv2Header * ntv2Record
	if len(r.data)-r.at < size {
		return nil
	}
	h := &ntv2Records{raw: make(map[string][]byte, ntv2Header), order: r.order}
	for i := range ntv2Header {
		rec := r.data[r.at+i*ntv2Record:][:ntv2Record]
		h.raw[strings.TrimRight(string(rec[:8]), " \x00")] = rec[8:]
	}
	r.at += size
	return h
}

func (h *ntv2Records) text(key string) string {
	return strings.TrimRight(string(h.raw[key]), " \x00")
}

func (h *ntv2Records) count(key string) int {
	if b, ok := h.raw[key]; ok {
		return int(h.order.Uint32(b))
	}
	return -1
}

// number is NaN for a record that is missing.
func (h *ntv2Records) number(key string) float64 {
	if b, ok := h.raw[key]; ok {
		return math.Float64frombits(h.order.Uint64(b))
	}
	return math.NaN()
}

func (r *ntv2Reader) subGrid(perUnit float64) (s subGrid, err error) {
	h := r.header()
	if h == nil {
		return s, fmt.Errorf("the file ends before its header")
	}
	s = subGrid{
		name:  h.text("SUB_NAME"),
		south: h.number("S_LAT") * perUnit, north: h.number("N_LAT") * perUnit,
		east: -h.number("E_LONG") * perUnit, west: -h.number("W_LONG") * perUnit,
		dLat: h.number("LAT_INC") * perUnit, dLon: h.number("LONG_INC") * perUnit,
	}
	if err := s.size(); err != nil {
		return s, fmt.Errorf("%q: %w", s.name, err)
	}
	nodes := h.count("GS_COUNT")
	if nodes != s.rows*s.cols {
		return s, fmt.Errorf("%q: its header counts %d nodes, its edges make %d rows of %d", s.name, nodes, s.rows, s.cols)
	}
	if nodes > (len(r.data)-r.at)/ntv2Record {
		return s, fmt.Errorf("%q: the file ends within its nodes; copy the file again", s.name)
	}
	s.lat, s.lon = make([]float32, nodes), make([]float32, nodes)
	for i := range nodes {
		b := r.data[r.at+i*ntv2Record:]
		s.lat[i] = math.Float32frombits(r.order.Uint32(b)) * float32(perUnit)
		s.lon[i] = math.Float32frombits(r.order.Uint32(b[4:])) * float32(perUnit)
	}
	r.at += nodes * ntv2Record
	return s, nil
}

// size works out the rows and columns; edges must be whole steps apart, to the
// rounding of the header.
func (s *subGrid) size() error {
	const fullCircle = 360 * 3600
	switch {
	case !(s.dLat > 0 && s.dLon > 0):
		return fmt.Errorf("the step between its nodes is not above zero")
	case !(s.south >= -fullCircle/4 && s.north <= fullCircle/4 && s.south < s.north):
		return fmt.Errorf("its edges of latitude make no sense")
	case !(s.west >= -fullCircle && s.east <= fullCircle && s.west < s.east):
		return fmt.Errorf("its edges of longitude make no sense")
	}
	rows, cols := (s.north-s.south)/s.dLat, (s.east-s.west)/s.dLon
	if math.Abs(rows-math.Round(rows)) > ntv2WholeRatio || math.Abs(cols-math.Round(cols)) > ntv2WholeRatio {
		return fmt.Errorf("its edges are not a whole number of steps apart")
	}
	if rows*cols > ntv2MaxBytes/ntv2Record {
		return fmt.Errorf("its edges make %.0f rows of %.0f nodes, too many", rows+1, cols+1)
	}
	s.rows, s.cols = int(math.Round(rows))+1, int(math.Round(cols))+1
	return nil
}

// ntv2WholeRatio: a step of a third of a minute or so is written with six
// decimals of a second, and a thousand of them add up to a thousandth.
const ntv2WholeRatio = 0.01

// at interpolates between the four nodes about a place, in seconds. The edges
// belong to the grid, with room for the rounding of degrees to seconds.
func (s *subGrid) at(lat, lon float64) (dLat, dLon float64, ok bool) { //unit:seconds of arc
	const slack = 1e-9 // of a step
	fr, fc := (lat-s.south)/s.dLat, (s.east-lon)/s.dLon
	if !(fr >= -slack && fr <= float64(s.rows-1)+slack && fc >= -slack && fc <= float64(s.cols-1)+slack) {
		return 0, 0, false
	}
	r := max(0, min(int(fr), s.rows-2))
	c := max(0, min(int(fc), s.cols-2))
	y, x := fr-float64(r), fc-float64(c)
	i := r*s.cols + c
	mix := func(v []float32) float64 {
		lower := float64(v[i])*(1-x) + float64(v[i+1])*x
		upper := float64(v[i+s.cols])*(1-x) + float64(v[i+s.cols+1])*x
		return lower*(1-y) + upper*y
	}
	return mix(s.lat), mix(s.lon), true
}

// forward answers false outside the grid.
func (g *Grid) forward(ll geo.LonLat) (geo.LonLat, bool) {
	lat, lon := ll.LatDeg*3600, geo.WrapLonDeg(ll.LonDeg)*3600
	for i := range g.nested {
		s := &g.nested[i]
		for _, turn := range [...]float64{0, 360 * 3600, -360 * 3600} { // grids over the antimeridian
			if dLat, dLon, ok := s.at(lat, lon+turn); ok {
				out := geo.LonLat{LonDeg: ll.LonDeg - dLon/3600, LatDeg: ll.LatDeg + dLat/3600}
				return out, finite(out)
			}
		}
	}
	return geo.LonLat{}, false
}

func (g *Grid) inverse(ll geo.LonLat) (geo.LonLat, bool) { return invertShift(ll, g.forward) }

// Covers reports whether a place, longitude and latitude on the grid's own
// datum, lies in the grid.
func (g *Grid) Covers(ll geo.LonLat) bool {
	_, ok := g.forward(ll)
	return ok
}
