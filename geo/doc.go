// Package geo is the vocabulary of hemrow's geometry: places on the earth, the
// local metre frame of one field, lines that carry height and chainage, the
// checked field itself, and the notes and errors that speak of places.
//
// # Coordinates
//
// Degrees live in one type only, [LonLat] (WGS84 longitude and latitude).
// Everything else is local metres of one field's [Frame]: x east, y north of
// the frame's origin, as orb.Point. The two never share a type, so a line that
// mixes them does not compile.
//
// # Lengths
//
// A plan length is horizontal, on the ellipsoid. A ground length lies on the
// slope at the height of the ground. A [Line] carries its ground chainage in M.
//
// # What this package does not do
//
// It reads no file, repairs no outline and lays no row: see geo/format,
// geo/polygon, geo/field and rows.
package geo
