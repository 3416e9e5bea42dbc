// Package kml reads KML (OGC 12-007r2, KML 2.3, 2015, and the versions before
// it) and KMZ, its zip archive.
//
// # Coordinates
//
// What is read is WGS84 longitude and latitude in degrees, by the rule of the
// format (OGC 12-007r2 annex B; from memory), as [format.Coord]: X is the
// longitude, Y the latitude. Heights are in metres above the EGM96 geoid where
// altitudeMode is absolute. In all other modes, the default among them, the
// number is no height of the ground, and Z is NaN.
//
// # What becomes a feature
//
// Every Placemark with a geometry, in any depth of documents and folders. Its
// name is the feature's name, its id the feature's ID; ExtendedData (Data,
// SimpleData) become properties, and so does the name of the folder around it,
// as "folder". Polygons become polygons; LineString, LinearRing and tracks
// become lines, a closed line staying one. Pictures laid over the ground and
// models are left out with a note. What is linked is never fetched.
//
// A position is longitude,latitude or longitude,latitude,height, and blanks
// stand between positions only. Blanks after commas, or commas between
// positions, are read with a note when only one reading makes positions of two
// or three numbers, and are refused otherwise.
//
// Whether a ring is closed or crosses itself is for geo/polygon, whether a
// number can be a longitude for geo/field.
package kml
