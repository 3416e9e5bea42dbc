package result

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Position is longitude and latitude in degrees, and the height in metres
// where one is known: two or three numbers. Longitudes run on past 180 where
// a field lies over the antimeridian, so that its lines do not jump.
type Position []float64

// LonDeg is the longitude in degrees.
func (p Position) LonDeg() float64 { return p[0] }

// LatDeg is the latitude in degrees.
func (p Position) LatDeg() float64 { return p[1] }

// XY is a place in local metres, x east and y north.
type XY [2]float64

// UnmarshalJSON takes two or three numbers and nothing else.
func (p *Position) UnmarshalJSON(b []byte) error {
	v, err := numbers(b)
	if err != nil {
		return err
	}
	if len(v) != 2 && len(v) != 3 {
		return errors.New("a position has longitude, latitude and perhaps a height")
	}
	*p = v
	return nil
}

// UnmarshalJSON takes two numbers and nothing else.
func (p *XY) UnmarshalJSON(b []byte) error {
	v, err := numbers(b)
	if err != nil {
		return err
	}
	if len(v) != 2 {
		return errors.New("a local place has x and y")
	}
	*p = XY(v)
	return nil
}

// numbers reads an array of numbers that the decoder has found to be JSON; it
// refuses null, which the standard decoder would take for 0.
func numbers(b []byte) ([]float64, error) {
	text := strings.TrimSpace(string(b))
	if len(text) < 2 || text[0] != '[' {
		return nil, errors.New("a place is a list of numbers")
	}
	if text = strings.TrimSpace(text[1 : len(text)-1]); text == "" {
		return nil, nil
	}
	v := make([]float64, 0, 3)
	for part := range strings.SplitSeq(text, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		if err != nil {
			return nil, fmt.Errorf("%s where a number must stand", strings.TrimSpace(part))
		}
		v = append(v, x)
	}
	return v, nil
}
