// Package crs turns the coordinates in which surveys are delivered, national
// grids and their datums, into WGS84 longitude and latitude, and back.
//
// # Coordinates
//
// [XY] holds easting and northing, or longitude and latitude, in the units of
// its own system and in the order in which files store them, whatever order
// the authority lists. [geo.LonLat] is in degrees from Greenwich.
//
// # From a text to a place
//
// A [Definition] says what a system is. It comes from a code ([ByCode]), from
// what a user types ([Parse]) or from the well-known text beside a file
// ([ParseWKT]). [New] checks it and works out the constants; the [System] then
// turns points one by one, without allocating. The projection alone is exact
// to micrometres; the step between datums, where there is one, is as good as
// its publisher says, mostly a metre or two, and [Definition.DatumNotes] says
// so to the reader.
//
// Formulas are cited by the sections of IOGP Publication 373-7-2 (Geomatics
// Guidance Note 7, part 2, 2019) and of the papers named, from memory; the
// tests hold them against the note's worked examples and against PROJ.
//
// # What this package does not do
//
// It measures nothing: lengths and areas belong to the local frame of the
// field, see package geo. It knows no heights, no motion of plates and no grids
// but those the user hands over.
package crs
