package crs

import (
	"bytes"
	"compress/flate"
	_ "embed" // the table of systems
	"fmt"
	"io"
	"strconv"
	"strings"
	"sync"
)

// epsgData is the table of systems; EPSG.md says where it is from.
//
//go:embed epsg.bin
var epsgData []byte

// epsgTable is the table in memory: its lines, found by code and taken apart
// when asked for. Lines are fields between tabs, told apart by their first:
//
//	S  datum, 0 if taken for WGS 84, source, accuracy, seven parameters and a turn, box
//	G  code, name, datum, a, 1/f, meridian, unit, flags, box, S, datums of its S lines, other names
//	P  code, name, G, method, nine parameters, unit, flags, box, S if not G's, other names
//	C  code, horizontal part, unit of heights
//	W  code withdrawn, codes that replace it
//	U  code, name, method that cannot be computed
type epsgTable struct {
	shifts     [][]string
	geographic map[int]string
	projected  map[int]string
	compound   map[int]string
	unknown    map[int]string
	replaced   map[int]string
	// Lines in the order of codes, for searches.
	geoLines, projLines []string
}

// epsg reads the table at the first call: some 10 ms.
var epsg = sync.OnceValues(inflateEPSG)

func inflateEPSG() (*epsgTable, error) {
	text, err := io.ReadAll(flate.NewReader(bytes.NewReader(epsgData)))
	if err != nil {
		return nil, fmt.Errorf("the table of coordinate systems is damaged: %w", err)
	}
	return readEPSG(string(text))
}

func readEPSG(text string) (*epsgTable, error) {
	t := &epsgTable{
		geographic: make(map[int]string, 600), projected: make(map[int]string, 5500),
		compound: make(map[int]string, 600), unknown: make(map[int]string, 100), replaced: make(map[int]string, 400),
	}
	for line := range strings.Lines(text) {
		kind, rest, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "\t")
		if kind == "S" {
			t.shifts = append(t.shifts, strings.Split(rest, "\t"))
			continue
		}
		into := map[string]map[int]string{"G": t.geographic, "P": t.projected, "C": t.compound, "U": t.unknown, "W": t.replaced}[kind]
		if into == nil {
			continue // the heading
		}
		number, _, _ := strings.Cut(rest, "\t")
		code, err := strconv.Atoi(number)
		if err != nil {
			return nil, fmt.Errorf("the table of coordinate systems is damaged: %w", err)
		}
		into[code] = rest
		switch kind {
		case "G":
			t.geoLines = append(t.geoLines, rest)
		case "P":
			t.projLines = append(t.projLines, rest)
		}
	}
	return t, nil
}

// ByCode is the system of an EPSG code: projected, geographic, or the
// horizontal part of one with heights. Codes by which other tables call Web
// Mercator (900913, 3785, 102100, 102113) are understood.
//
// The shift of its datum to WGS84 is one published set, chosen for the area of
// use of the system (EPSG.md states the rule); [Definition.Near] chooses again
// for a place. It errors when the code is unknown or its method cannot be
// computed, and says what to do.
func ByCode(code int) (Definition, error) {
	t, err := epsg()
	if err != nil {
		return Definition{}, err
	}
	switch code {
	case 900913, 3785, 102100, 102113:
		code = 3857
	}
	var heightM float64
	if line, ok := t.compound[code]; ok {
		f := strings.Split(line, "\t")
		code = atoi(f[1])
		heightM = number(f[2])
	}
	d, ok := t.definition(code)
	if ok {
		d.VerticalUnitM = heightM
		return d, nil
	}
	if line, ok := t.unknown[code]; ok {
		f := strings.Split(line, "\t")
		return d, fmt.Errorf("EPSG:%d %s uses the projection %s, which cannot be computed here; %s",
			code, f[1], f[2], reprojectHint)
	}
	return d, fmt.Errorf("EPSG:%d is not in the table of projected and geographic systems (EPSG dataset v10.076); "+
		"check the number, or %s", code, reprojectHint)
}

// reprojectHint is the way out when a system cannot be used as it is.
const reprojectHint = "convert the file first: ogr2ogr -t_srs EPSG:4326 out.geojson in.shp"

func (t *epsgTable) definition(code int) (Definition, bool) {
	if line, ok := t.projected[code]; ok {
		return t.parseProjected(strings.Split(line, "\t")), true
	}
	line, ok := t.geographic[code]
	if !ok {
		return Definition{}, false
	}
	f := strings.Split(line, "\t")
	d := Definition{
		Name: f[1], Code: code, Base: t.parseGeographic(f), Bounds: parseBounds(f[8]),
		NorthFirst: strings.Contains(f[gFlags], "n"),
	}
	t.withdrawn(&d, f[gFlags])
	return d, true
}

// Fields of a P line after its letter.
const (
	pCode = iota
	pName
	pBase
	pMethod
	pParams
	pUnit
	pFlags
	pBox
	pShift
	pOthers
)

func (t *epsgTable) parseProjected(f []string) Definition {
	base, code := atoi(f[pBase]), atoi(f[pCode])
	d := Definition{
		Name: f[pName], Code: code, Base: t.parseGeographic(strings.Split(t.geographic[base], "\t")),
		Method: Method(atoi(f[pMethod])), Params: parseParams(f[pParams]), UnitM: number(f[pUnit]),
		NorthFirst: strings.Contains(f[pFlags], "n"), WestSouth: strings.Contains(f[pFlags], "w"),
		Bounds: parseBounds(f[pBox]),
	}
	if f[pShift] != "" {
		d.Base.Shift = t.shift(f[pShift])
	}
	t.withdrawn(&d, f[pFlags])
	return d
}

// withdrawn marks a definition whose flags say so.
func (t *epsgTable) withdrawn(d *Definition, flags string) {
	if d.Withdrawn = strings.Contains(flags, "d"); !d.Withdrawn {
		return
	}
	if line, ok := t.replaced[d.Code]; ok {
		for s := range strings.SplitSeq(field(line, 1), ",") {
			d.ReplacedBy = append(d.ReplacedBy, atoi(s))
		}
	}
}

func parseParams(text string) Params {
	v := numbers(text, 9)
	return Params{v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[8]}
}

func (t *epsgTable) parseGeographic(f []string) Geographic {
	code := atoi(f[0])
	g := Geographic{
		Name: f[1], Code: code, Datum: f[2],
		Ellipsoid:   Ellipsoid{SemiMajorM: number(f[3]), InvFlatteningRatio: number(f[4])},
		MeridianDeg: number(f[5]), AngleDeg: number(f[6]),
	}
	if f[9] != "" {
		g.Shift = t.shift(f[9])
	}
	return g
}

// Fields of an S line after its letter.
const (
	sDatum = iota
	sNull
	sSource
	sAccuracy
	sValues
	sBox
)

func (t *epsgTable) shift(index string) *Shift {
	return parseShift(t.shifts[atoi(index)])
}

func parseShift(f []string) *Shift {
	v := numbers(f[sValues], 8)
	return &Shift{
		Helmert: Helmert{v[0], v[1], v[2], v[3], v[4], v[5], v[6]},
		Null:    f[sNull] != "", AccuracyM: number(f[sAccuracy]), Source: f[sSource],
		LonTurnSec: v[7], Bounds: parseBounds(f[sBox]),
	}
}

func parseBounds(text string) *Bounds {
	if text == "" {
		return nil
	}
	v := numbers(text, 4)
	return &Bounds{WestDeg: v[0], SouthDeg: v[1], EastDeg: v[2], NorthDeg: v[3]}
}

// number is a number of the table; nothing stands for 0.
func number(text string) float64 { //unit:the field's
	if text == "" {
		return 0 // without the error that ParseFloat would make
	}
	v, _ := strconv.ParseFloat(text, 64)
	return v
}

// numbers are n numbers between commas, zeros left out at the end.
func numbers(text string, n int) []float64 { //unit:the field's
	v := make([]float64, n)
	for i, s := range strings.SplitN(text, ",", n) {
		v[i] = number(s)
	}
	return v
}

// atoi is a code of the table.
func atoi(text string) int {
	n, _ := strconv.Atoi(text)
	return n
}
