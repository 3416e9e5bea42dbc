package crs

import (
	"fmt"
	"math"
	"strings"
)

// limit is what a number of a definition must be.
type limit struct {
	name     string
	value    float64
	min, max float64
}

func (l limit) check() error {
	if l.value >= l.min && l.value <= l.max { // refuses NaN
		return nil
	}
	return fmt.Errorf("%s is %.10g: it must be from %g to %g", l.name, l.value, l.min, l.max)
}

// The limits are there to refuse what cannot be meant: a figure that is not
// the earth's, a false easting beyond any grid, a unit from a slip of the pen.
const (
	minSemiMajorM, maxSemiMajorM = 6.3e6, 6.4e6 // 6 370 997 (sphere) to 6 378 388 are in use
	minInvFlattening             = 290          // Clarke 1880 has 293.47, the flattest in use
	maxInvFlattening             = 1e9
	maxFalseM                    = 1e9 // zone numbers before the easting reach 6e7
	minScale, maxScale           = 0.5, 2
	minUnitM, maxUnitM           = 1e-3, 1e4 // millimetre to ten kilometres
	minAngleDeg, maxAngleDeg     = 1e-4, 60  // under a second, over a radian
)

// check refuses what no projection could be made from.
func (d Definition) check() error {
	limits := []limit{
		{"semi-major axis of the ellipsoid (m)", d.Base.Ellipsoid.SemiMajorM, minSemiMajorM, maxSemiMajorM},
		{"prime meridian (degrees)", d.Base.MeridianDeg, -180, 180},
	}
	if f := d.Base.Ellipsoid.InvFlatteningRatio; f != 0 {
		limits = append(limits, limit{"inverse flattening of the ellipsoid", f, minInvFlattening, maxInvFlattening})
	}
	limits = append(limits, d.Base.Shift.limits()...)
	m, ok := methods[d.Method]
	switch {
	case d.Method == 0:
		limits = append(limits, limit{"unit of angle (degrees)", d.Base.AngleDeg, minAngleDeg, maxAngleDeg})
	case !ok:
		return d.fault(fmt.Errorf("the projection (%s) is not supported", d.Method))
	default:
		limits = append(limits, d.Params.limits(m.uses)...)
		limits = append(limits, limit{"unit of length (m)", d.UnitM, minUnitM, maxUnitM})
	}
	for _, l := range limits {
		if err := l.check(); err != nil {
			return d.fault(err)
		}
	}
	return nil
}

func (p Params) limits(u uses) []limit {
	all := []struct {
		uses uses
		limit
	}{
		{0, limit{"longitude of origin (degrees)", p.LonOriginDeg, -360, 360}},
		{0, limit{"false easting (m)", p.FalseEastM, -maxFalseM, maxFalseM}},
		{0, limit{"false northing (m)", p.FalseNorthM, -maxFalseM, maxFalseM}},
		{useLat, limit{"latitude of origin (degrees)", p.LatOriginDeg, -90, 90}},
		{useParallel1, limit{"first standard parallel (degrees)", p.Parallel1Deg, -90, 90}},
		{useParallel2, limit{"second standard parallel (degrees)", p.Parallel2Deg, -90, 90}},
		{useScale, limit{"scale factor", p.ScaleFactor, minScale, maxScale}},
		{useAzimuth, limit{"azimuth (degrees)", p.AzimuthDeg, -360, 360}},
		{useAzimuth, limit{"angle of the skew grid (degrees)", p.SkewDeg, -360, 360}},
	}
	var out []limit
	for _, a := range all {
		if a.uses&^u == 0 {
			out = append(out, a.limit)
		}
	}
	return out
}

// Datums lie within kilometres of each other and seconds of arc; a published
// shift is well inside these.
const (
	maxShiftM   = 1e4
	maxShiftSec = 100
	maxShiftPPM = 1000
)

func (s *Shift) limits() []limit {
	if s == nil || s.Null {
		return nil
	}
	h := s.Helmert
	var out []limit
	for _, l := range []limit{
		{"datum shift in X (m)", h.DXM, 0, maxShiftM},
		{"datum shift in Y (m)", h.DYM, 0, maxShiftM},
		{"datum shift in Z (m)", h.DZM, 0, maxShiftM},
		{"datum rotation about X (seconds)", h.RXSec, 0, maxShiftSec},
		{"datum rotation about Y (seconds)", h.RYSec, 0, maxShiftSec},
		{"datum rotation about Z (seconds)", h.RZSec, 0, maxShiftSec},
		{"datum scale (ppm)", h.ScalePPM, 0, maxShiftPPM},
		{"turn of longitudes (seconds)", s.LonTurnSec, 0, maxShiftSec},
	} {
		l.min = -l.max
		out = append(out, l)
	}
	return out
}

// title names the system for the reader.
func (d Definition) title() string {
	name := strings.TrimSpace(d.Name)
	switch {
	case d.Code != 0 && name != "":
		return fmt.Sprintf("EPSG:%d %s", d.Code, name)
	case d.Code != 0:
		return fmt.Sprintf("EPSG:%d", d.Code)
	case name != "":
		return name
	default:
		return "unnamed system"
	}
}

func (d Definition) fault(err error) error {
	return fmt.Errorf("coordinate system %s: %w", d.title(), err)
}

// insidePoles refuses a latitude that a method cannot have at a pole.
func insidePoles(name string, latDeg float64) error {
	if math.Abs(latDeg) < 90 {
		return nil
	}
	return fmt.Errorf("%s is %g degrees: the projection needs it short of the poles", name, latDeg)
}
