// Package taskdata reads fields, obstacles and guidance lines from the task
// files of ISO 11783-10 (2015), versions 3 and 4: TASKDATA.XML, with the
// external files beside it, in a folder or a zip archive.
//
// # Coordinates
//
// What is read is WGS84 longitude and latitude in degrees, by the rule of the
// format (ISO 11783-10:2015 annex D, PNT attributes C and D), as
// [format.Coord]: X is the longitude (D), Y the latitude (C), Z the height
// above the WGS84 ellipsoid in metres (E, written in millimetres) or NaN.
//
// # What becomes a feature
//
// Every PFD with a boundary: its ID is the PFD's, its name the designator, its
// property kind is field. Further properties are code, customer, farm, part_of
// (the parent field), area_m2 and area_ha as stated. All PLN of type 1 make
// the boundary together; holes belong to the outer ring they lie in.
//
// Everything else in a PFD becomes a feature of its own with the property
// field, the name of the PFD, and a kind: water surface, building, road,
// obstacle and so on for areas; guidance, fence, drainage and so on for lines;
// field access, obstacle and so on for points. Guidance lines also carry group,
// pattern, and spacing_m and heading_deg where stated; patterns that are no
// course, A+ and pivot, become points.
//
// Readings are liberal: rings open or closed in any version, points of any type
// in a guidance line, identifiers with a minus, any number of decimals, text
// that the standard forbids.
//
// # What this package does not do
//
// Points kept in binary files (PNT attribute J) are not read: a boundary of
// them is refused, anything else left out with a note. Tasks, products, zones
// and logged positions are passed over.
package taskdata
