package shapefile

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"time"

	"hemrow/geo"
	"hemrow/geo/format"
)

// Kind is the kind of shapes of a layer that is written.
type Kind uint8

// The three kinds.
const (
	Points Kind = iota
	Lines
	Polygons
)

// Path is the places of a point, a line or a ring. Longitudes are written as
// they are, within [-180, 180]; a shape over the antimeridian must come cut.
type Path struct {
	At []geo.LonLat
	// HeightsM has one height for each place in a layer with heights.
	HeightsM []float64
}

// Record is one feature to write. Of Point, Lines and Polygons the one counts
// that fits the layer; none is a null shape.
type Record struct {
	Point    Path   // one place
	Lines    []Path // parts of one line
	Polygons [][]Path
	// Values are those of the fields, in their order: text, int, int64,
	// float64, json.Number, bool, time.Time (its day) or nil.
	Values []any
}

// Layer is what WriteSet writes.
type Layer struct {
	Name    string // of the files, without ending
	Kind    Kind
	Heights bool
	Fields  []Field
	Records []Record
	Date    time.Time // of the last change, for the .dbf
}

// Member is one file of a layer.
type Member struct {
	Name string
	Data []byte
}

// wgs84 is the .prj of longitude and latitude on WGS84 in the plain spelling
// that every reader knows (EPSG:4326).
const wgs84 = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`

// WriteSet makes the .shp, .shx, .dbf, .prj and .cpg of a layer, in this order.
// Outer rings are written clockwise, holes counter-clockwise, all closed
// (ESRI Shapefile Technical Description, 1998, page 8); longitudes and
// latitudes to 1e-9 degrees (0.11 mm), heights to 1 mm. Measures are not
// written. The same layer gives the same bytes.
//
// It fails on what cannot be written as it is: a place that is not finite or
// off the earth, a line of one place, a ring of fewer than three, a missing
// height, a number too wide for its field, a value of another type.
func WriteSet(l Layer) ([]Member, error) {
	if err := l.checkName(); err != nil {
		return nil, err
	}
	dbf, err := l.table()
	if err != nil {
		return nil, err
	}
	shp, shx, err := l.shapes()
	if err != nil {
		return nil, err
	}
	return []Member{
		{l.Name + ".shp", shp},
		{l.Name + ".shx", shx},
		{l.Name + ".dbf", dbf},
		{l.Name + ".prj", []byte(wgs84)},
		{l.Name + ".cpg", []byte("UTF-8")},
	}, nil
}

func (l *Layer) checkName() error {
	for _, r := range l.Name {
		if r < ' ' || r == '/' || r == '\\' || r == ':' {
			return fmt.Errorf("%q cannot be the name of a file", l.Name)
		}
	}
	if l.Name == "" {
		return fmt.Errorf("a shapefile needs a name")
	}
	return nil
}

// kind is the shape type of the records.
func (l *Layer) kind() int32 {
	k := map[Kind]int32{Points: typePoint, Lines: typeLine, Polygons: typePolygon}[l.Kind]
	if l.Heights {
		k += 10
	}
	return k
}

// extent is the box of what was written so far, with heights.
type extent struct{ low, high [3]float64 } //unit:degrees, degrees, metres

func newExtent() extent {
	inf := math.Inf(1)
	return extent{[3]float64{inf, inf, inf}, [3]float64{-inf, -inf, -inf}}
}

func (e *extent) add(o extent) {
	for k := range 3 {
		e.low[k], e.high[k] = min(e.low[k], o.low[k]), max(e.high[k], o.high[k])
	}
}

// shapes writes .shp and .shx.
func (l *Layer) shapes() (shp, shx []byte, err error) {
	shp, shx = make([]byte, headerBytes), make([]byte, headerBytes, headerBytes+indexBytes*len(l.Records))
	all := newExtent()
	for i := range l.Records {
		at := len(shp)
		shp = append(shp, make([]byte, frameBytes)...)
		var box extent
		if shp, box, err = l.content(shp, &l.Records[i]); err != nil {
			return nil, nil, fmt.Errorf("%s: record %d: %w", l.Name, i+1, err)
		}
		if len(shp) > math.MaxInt32 {
			return nil, nil, fmt.Errorf("%s: record %d: a shapefile cannot be larger than 2 GiB", l.Name, i+1)
		}
		all.add(box)
		words := uint32(len(shp)-at-frameBytes) / 2
		binary.BigEndian.PutUint32(shp[at:], uint32(i+1))
		binary.BigEndian.PutUint32(shp[at+4:], words)
		shx = binary.BigEndian.AppendUint32(shx, uint32(at/2))
		shx = binary.BigEndian.AppendUint32(shx, words)
	}
	l.putHeader(shp, all)
	l.putHeader(shx, all)
	return shp, shx, nil
}

// putHeader fills in the first 100 bytes.
func (l *Layer) putHeader(b []byte, e extent) {
	binary.BigEndian.PutUint32(b, fileCode)
	binary.BigEndian.PutUint32(b[24:], uint32(len(b)/2))
	binary.LittleEndian.PutUint32(b[28:], 1000)
	binary.LittleEndian.PutUint32(b[32:], uint32(l.kind()))
	if e.low[0] > e.high[0] { // no shape at all
		return
	}
	for k, v := range []float64{e.low[0], e.low[1], e.high[0], e.high[1]} {
		putNumber(b[36+8*k:], v)
	}
	if l.Heights {
		putNumber(b[68:], e.low[2])
		putNumber(b[76:], e.high[2])
	}
}

func putNumber(b []byte, v float64) { //unit:degrees or metres
	binary.LittleEndian.PutUint64(b, math.Float64bits(v))
}

func appendNumber(b []byte, v float64) []byte { //unit:degrees or metres
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
}

// content appends the content of one record.
func (l *Layer) content(b []byte, r *Record) ([]byte, extent, error) {
	paths, err := l.paths(r)
	if err != nil {
		return nil, extent{}, err
	}
	box := newExtent()
	for _, p := range paths {
		for _, c := range p {
			v := [3]float64{c.X, c.Y, c.Z}
			box.add(extent{v, v})
		}
	}
	if len(paths) == 0 {
		return binary.LittleEndian.AppendUint32(b, typeNull), box, nil
	}
	b = binary.LittleEndian.AppendUint32(b, uint32(l.kind()))
	if l.Kind == Points {
		c := paths[0][0]
		b = appendNumber(appendNumber(b, c.X), c.Y)
		if l.Heights { // the measure is not optional here; this is none
			b = appendNumber(appendNumber(b, c.Z), noMeasure)
		}
		return b, box, nil
	}
	return l.multi(b, paths, box), box, nil
}

// noMeasure stands for no measure: any number below -1e38 (1998, page 2).
const noMeasure = -math.MaxFloat64

// multi appends box, parts, places and heights of a line or polygon.
func (l *Layer) multi(b []byte, paths []format.Ring, box extent) []byte {
	for _, v := range []float64{box.low[0], box.low[1], box.high[0], box.high[1]} {
		b = appendNumber(b, v)
	}
	n := 0
	for _, p := range paths {
		n += len(p)
	}
	b = binary.LittleEndian.AppendUint32(b, uint32(len(paths)))
	b = binary.LittleEndian.AppendUint32(b, uint32(n))
	n = 0
	for _, p := range paths {
		b = binary.LittleEndian.AppendUint32(b, uint32(n))
		n += len(p)
	}
	for _, p := range paths {
		for _, c := range p {
			b = appendNumber(appendNumber(b, c.X), c.Y)
		}
	}
	if l.Heights {
		b = appendNumber(appendNumber(b, box.low[2]), box.high[2])
		for _, p := range paths {
			for _, c := range p {
				b = appendNumber(b, c.Z)
			}
		}
	}
	return b
}

// paths are the parts of a record as they are written.
func (l *Layer) paths(r *Record) (out []format.Ring, err error) {
	least := map[Kind]int{Points: 1, Lines: 2, Polygons: 3}[l.Kind]
	add := func(p Path, part, hole int) (err error) {
		ring, err := l.path(p, least)
		if err != nil {
			return fmt.Errorf("part %d, ring %d: %w", part+1, hole+1, err)
		}
		if l.Kind == Polygons {
			ring = turned(ring, hole == 0)
		}
		out = append(out, ring)
		return nil
	}
	switch l.Kind {
	case Points:
		if len(r.Point.At) > 1 {
			return nil, fmt.Errorf("%d places, where a point has one", len(r.Point.At))
		}
		if len(r.Point.At) == 1 {
			err = add(r.Point, 0, 0)
		}
	case Lines:
		for i, p := range r.Lines {
			if err = add(p, i, 0); err != nil {
				break
			}
		}
	case Polygons:
		for i, polygon := range r.Polygons {
			for k, ring := range polygon {
				if err = add(ring, i, k); err != nil {
					return nil, err
				}
			}
		}
	default:
		err = fmt.Errorf("kind %d, which there is not", l.Kind)
	}
	return out, err
}

// path checks and rounds places.
func (l *Layer) path(p Path, least int) (format.Ring, error) {
	if len(p.At) < least {
		return nil, fmt.Errorf("%s, where %d are needed", geo.Counted(len(p.At), "place"), least)
	}
	if l.Heights && len(p.HeightsM) != len(p.At) {
		return nil, fmt.Errorf("%s for %s", geo.Counted(len(p.HeightsM), "height"), geo.Counted(len(p.At), "place"))
	}
	out := make(format.Ring, len(p.At), len(p.At)+1)
	for i, at := range p.At {
		if !(math.Abs(at.LonDeg) <= 180 && math.Abs(at.LatDeg) <= 90) {
			return nil, fmt.Errorf("vertex %d: %v, %v is no longitude and latitude", i+1, at.LonDeg, at.LatDeg)
		}
		c := format.Coord{X: round(at.LonDeg, perDegree), Y: round(at.LatDeg, perDegree)}
		if l.Heights {
			if c.Z = round(p.HeightsM[i], perMetre); math.IsNaN(c.Z) || math.IsInf(c.Z, 0) {
				return nil, fmt.Errorf("vertex %d has no height", i+1)
			}
		}
		out[i] = c
	}
	return out, nil
}

// The steps to which numbers are rounded.
const (
	perDegree = 1e9 // 0.11 mm of latitude
	perMetre  = 1e3
)

// round also turns -0 into 0.
func round(v, steps float64) float64 { //unit:that of v
	return math.Round(v*steps)/steps + 0
}

// turned closes a ring and makes it clockwise or counter-clockwise.
func turned(r format.Ring, clockwise bool) format.Ring {
	if n := len(r); r[0].X != r[n-1].X || r[0].Y != r[n-1].Y {
		r = append(r, r[0])
	}
	if turns, _ := turning(r); turns != 0 && (turns < 0) != clockwise {
		slices.Reverse(r)
	}
	return r
}
