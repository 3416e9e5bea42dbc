// Package gpx reads GPX 1.0 and 1.1 (topografix schemas, 2002 and 2004).
//
// # Coordinates
//
// What is read is WGS84 longitude and latitude in degrees, by the rule of the
// format (attributes lat and lon of wptType in the schema of 1.1), as
// [format.Coord]: X is the longitude, Y the latitude, Z the ele element in
// metres or NaN. The schema leaves open what ele is above; receivers write
// heights above mean sea level (common practice, no source).
//
// # What becomes a feature
//
// Every track and every route, by its name, or "track 2", "route 1" without
// one; and all waypoints together as one feature of points. The property kind
// is track, route or waypoints; number is the place of the track or route
// among its kind; names are those of the waypoints. Each segment of a track is
// a line of its own.
//
// A log that begins before the receiver knows where it is begins with
// positions at 0, 0; these are dropped with a note. Later ones are refused.
//
// Whether a line closes is for geo/field.
package gpx
