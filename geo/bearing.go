package geo

import (
	"fmt"
	"math"
)

// Bearing is a direction in degrees clockwise from the frame's north, in
// [0, 360). Rows have no front and back: their heading is folded to [0, 180)
// by [Bearing.Fold]. At the frame's origin, frame north is true north; away
// from it add [Frame.ConvergenceDeg].
type Bearing float64

// NewBearing folds any finite angle in degrees into [0, 360).
func NewBearing(deg float64) Bearing {
	d := math.Mod(deg, 360)
	if d < 0 {
		d += 360
	}
	if d >= 360 { // -1e-17 + 360 rounds to 360
		d = 0
	}
	return Bearing(d)
}

// BearingOf is the direction of the vector (dx east, dy north). The zero
// vector has bearing 0.
func BearingOf(dx, dy float64) Bearing {
	if dx == 0 && dy == 0 {
		return 0
	}
	return NewBearing(math.Atan2(dx, dy) / radPerDeg)
}

// Deg is the bearing in degrees, [0, 360).
func (b Bearing) Deg() float64 { return float64(b) }

// Fold returns the bearing as a row heading in [0, 180).
func (b Bearing) Fold() Bearing {
	d := math.Mod(float64(b), 180)
	if d < 0 {
		d += 180
	}
	return Bearing(d)
}

// Unit is the unit vector of the bearing, x east and y north. The four
// cardinal directions are exact.
func (b Bearing) Unit() (x, y float64) {
	switch b {
	case 0:
		return 0, 1
	case 90:
		return 1, 0
	case 180:
		return 0, -1
	case 270:
		return -1, 0
	}
	s, c := math.Sincos(float64(b) * radPerDeg)
	return s, c
}

// HeadingText prints a row heading with decimals, folded after rounding: never
// as 180.
func (b Bearing) HeadingText(decimals int) string {
	p := math.Pow10(decimals)
	return fmt.Sprintf("%.*f", decimals, math.Mod(math.Round(float64(b.Fold())*p)/p, 180))
}

// FoldedDiffDeg is the angle in [0, 90] between two bearings taken as
// headings without front and back.
func (b Bearing) FoldedDiffDeg(c Bearing) float64 {
	d := math.Abs(math.Remainder(float64(b)-float64(c), 180))
	return math.Min(d, 180-d)
}

// Compass is one of the eight points of the compass; the zero value is North.
type Compass uint8

// The eight points, clockwise.
const (
	North Compass = iota
	NorthEast
	East
	SouthEast
	South
	SouthWest
	West
	NorthWest
)

var compassNames = [...]string{"N", "NE", "E", "SE", "S", "SW", "W", "NW"}

// String is the point in letters: N, NE, … NW.
func (c Compass) String() string { return compassNames[c%8] }

// Opposite is the point across.
func (c Compass) Opposite() Compass { return (c + 4) % 8 }

// Bearing is the direction of the point.
func (c Compass) Bearing() Bearing { return Bearing(45 * float64(c%8)) }

// ParseCompass reads one of the eight points in capital letters.
func ParseCompass(s string) (c Compass, ok bool) {
	for i, name := range compassNames {
		if s == name {
			return Compass(i), true
		}
	}
	return 0, false
}

// Compass is the point of the compass nearest to the bearing.
func (b Bearing) Compass() Compass {
	return Compass(math.Floor(float64(NewBearing(float64(b)+22.5))/45)) % 8
}

// String prints the bearing to a hundredth of a degree, as 037.25°.
func (b Bearing) String() string { return fmt.Sprintf("%06.2f°", float64(b)) }
