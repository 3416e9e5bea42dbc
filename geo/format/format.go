// Package format holds what a file says, before anybody decides what it means:
// features with their coordinates as written, in whatever reference system the
// file uses. One subpackage reads and writes each format.
//
// Coordinates here are neither metres nor degrees until geo/field resolves the
// file's reference system; that is why they have a type of their own.
package format

import (
	"math"

	"hemrow/geo"
	"hemrow/geo/crs"
)

// Coord is one position as the file writes it: X first (easting or
// longitude), then Y (northing or latitude), then height in metres, NaN where
// the file gives none.
type Coord struct{ X, Y, Z float64 } //unit:the file's

// HasZ reports whether the position has a height.
func (c Coord) HasZ() bool { return !math.IsNaN(c.Z) }

// At reports whether both positions are the same place in plan. Coords are not
// compared with ==, since a missing height is equal to nothing.
func (c Coord) At(d Coord) bool { return c.X == d.X && c.Y == d.Y }

// Ring is the vertices of a ring as written: maybe unclosed, in any direction.
type Ring []Coord

// Polygon is one outer ring followed by its holes.
type Polygon []Ring

// Feature is one thing in a file. A feature may hold several kinds of
// geometry at once (a GeometryCollection); each list keeps file order.
type Feature struct {
	Number     int    // from 1, in file order
	Line       int    // of the file where the feature starts, from 1; 0 unknown
	ID         string // as text, "" if none
	IDNumber   bool   // the file writes the ID as a number
	Name       string // best guess at a name from the properties, "" if none
	Properties map[string]any
	Polygons   []Polygon
	Lines      [][]Coord
	Points     []Coord
}

// Reference says which coordinate reference system a file declares.
type Reference struct {
	// WGS84 is true when coordinates are WGS84 longitude and latitude, by the
	// rule of the format or because the file says so.
	WGS84 bool
	// Declared is the file's own words for its system, "" if it is silent.
	Declared string
	// At most one of these says the system itself: its EPSG code, a text in
	// well-known text form 1 (a .prj file), or a definition the reader made
	// from the file's parameters.
	Code       int
	WKT        string
	Definition *crs.Definition
}

// Silent reports whether the file says nothing about its system.
func (r Reference) Silent() bool {
	return !r.WGS84 && r.Code == 0 && r.WKT == "" && r.Definition == nil
}

// Formats of which geo/field must know more than what is in the file: GPX knows
// no areas, so closed tracks and routes are outlines unasked; task data says of
// each area whether it is a field (property kind); GeoJSON alone says which way
// rings turn and means it.
const (
	GeoJSON  = "GeoJSON"
	GPX      = "GPX"
	TaskData = "ISO 11783-10 task data"
)

// File is everything read from one file.
type File struct {
	Name      string // as the user named it
	Format    string // GeoJSON, …
	Reference Reference
	Features  []Feature
	Notes     geo.Notes
	// Turned says that positions were brought to longitude and latitude from
	// another system, by geo/field.Locate.
	Turned bool
}
