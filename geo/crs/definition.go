package crs

import (
	"fmt"

	"hemrow/geo"
)

// XY is a position in the coordinates of a system, in the order in which files
// store them: X easting or longitude, Y northing or latitude, in the system's
// own units.
type XY struct{ X, Y float64 } //unit:the system's

// Ellipsoid is a figure of the earth.
type Ellipsoid struct {
	SemiMajorM         float64
	InvFlatteningRatio float64 // 0 for a sphere
}

// Geographic is longitude and latitude on a datum.
type Geographic struct {
	Name      string
	Code      int    // EPSG, 0 unknown
	Datum     string // as the source names it
	Ellipsoid Ellipsoid
	// MeridianDeg is the prime meridian, degrees east of Greenwich.
	MeridianDeg float64
	// AngleDeg is the size of the unit of longitudes and latitudes in degrees:
	// 1 for degrees, 0.9 for grads.
	AngleDeg float64
	// Shift turns positions of the datum into WGS84. Nil means none is known.
	Shift *Shift
}

// Shift is a published step from a datum to WGS84.
type Shift struct {
	Helmert Helmert
	// Null says that the datum is taken for WGS84 as it stands (ETRS89, NAD83,
	// GDA2020, …); Helmert is zero then.
	Null bool
	// LonTurnSec is added to longitudes before Helmert, for a datum that has
	// its meridian at another value than the one the set is published for.
	LonTurnSec float64 //unit:seconds of arc
	// AccuracyM is what the publisher states, 0 unknown.
	AccuracyM float64
	Source    string // EPSG:1314, TOWGS84 of the file, …
	// Bounds is the area the set is published for, nil unknown.
	Bounds *Bounds

	// Away and SpreadM are what [Definition.Near] found. Away: no set is made
	// for the place, this one for another area; AccuracyM is 0 then. SpreadM is
	// how far from this set's position another one puts the place: the farthest
	// of those made for the place and stated to be as good, if it exceeds
	// AccuracyM, or with Away the middle one of the datum's others; 0 none.
	Away    bool
	SpreadM float64
}

// Helmert is a transformation by seven parameters in the position vector
// convention (EPSG method 9606), from the datum to WGS84. Three parameters
// leave the others zero.
type Helmert struct {
	DXM, DYM, DZM       float64
	RXSec, RYSec, RZSec float64 //unit:seconds of arc
	ScalePPM            float64 //unit:parts per million
}

// Method is a map projection method by its EPSG code (dataset, coordinate
// operation methods); 0 stands for a geographic system.
type Method int

// Definition says all that is needed to turn the coordinates of a system into
// longitude and latitude. Angles are degrees on the base's prime meridian and
// lengths metres, whatever units the source used.
type Definition struct {
	Name   string
	Code   int // EPSG, 0 unknown
	Base   Geographic
	Method Method // 0: the system is Base itself
	Params Params
	// UnitM is the size of the unit of the projected axes in metres; unused
	// for a geographic system.
	UnitM float64
	// VerticalUnitM is the size of the unit of heights in metres, 0 where the
	// source says nothing of heights.
	VerticalUnitM float64
	// NorthFirst says that the authority puts northing before easting. Files
	// store easting first all the same; only typed-in points may not.
	NorthFirst bool
	// WestSouth says that the axes count westing and southing positive.
	WestSouth bool
	// Bounds is where the system is meant to be used, nil unknown.
	Bounds *Bounds
	// Withdrawn says that EPSG took the record back, mostly for an error in it;
	// ReplacedBy are the codes that stand in for it, if any.
	Withdrawn  bool
	ReplacedBy []int
}

// Bounds is a box of longitude and latitude; West > East crosses the
// antimeridian.
type Bounds struct{ WestDeg, SouthDeg, EastDeg, NorthDeg float64 }

// String gives the ranges of longitude and latitude.
func (b Bounds) String() string {
	return fmt.Sprintf("longitude %g to %g, latitude %g to %g", b.WestDeg, b.EastDeg, b.SouthDeg, b.NorthDeg)
}

func (b *Bounds) copy() *Bounds {
	if b == nil {
		return nil
	}
	c := *b
	return &c
}

// Contains reports whether p lies in the box.
func (b Bounds) Contains(p geo.LonLat) bool {
	if p.LatDeg < b.SouthDeg || p.LatDeg > b.NorthDeg {
		return false
	}
	if b.WestDeg > b.EastDeg {
		return p.LonDeg >= b.WestDeg || p.LonDeg <= b.EastDeg
	}
	return p.LonDeg >= b.WestDeg && p.LonDeg <= b.EastDeg
}

// Params are the parameters of a projection, whatever of them its method uses.
type Params struct {
	LatOriginDeg float64 // of the natural or false origin, or of the projection centre
	LonOriginDeg float64 // east of the base's prime meridian
	Parallel1Deg float64 // first (or only) standard parallel, pseudo standard parallel of Krovak
	Parallel2Deg float64
	ScaleFactor  float64 // at the origin, the initial line or the pseudo standard parallel
	FalseEastM   float64
	FalseNorthM  float64
	AzimuthDeg   float64 // of the initial line; co-latitude of the cone axis of Krovak
	SkewDeg      float64 // from the rectified to the skew grid
}
