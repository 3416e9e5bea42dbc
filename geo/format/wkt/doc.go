// Package wkt reads geometries written as well-known text (OGC 06-103r4,
// Simple feature access part 1, 2011, section 7.2), one or more in a file, and
// the common extension that puts SRID=25832; before a geometry.
//
// # Coordinates
//
// They come out as written, in the order of the text: first number X, second Y,
// third the height (NaN where there is none). Well-known text says nothing of
// units; only an SRID names the system, as its code in the EPSG list.
//
// # Reading
//
// [Read] takes a whole file: geometries follow each other on one line or many,
// with or without semicolons between them; lines that start with # are passed
// over. [Parse] takes one geometry, as from a column of a table:
//
//	f, err := wkt.Parse("POLYGON ((0 0, 9 0, 9 5, 0 0))")
//
// The tags Z, M and ZM are read with and without a blank before them; a third
// number without a tag is a height. Measures are dropped and counted. Points,
// lines, polygons, their MULTI forms and GEOMETRYCOLLECTION are read; curves and
// surfaces are refused by name.
//
// Every fault names line and column (counted in bytes), feature, part, hole and
// vertex, and the value.
//
// # What this package does not do
//
// It judges numbers and structure only. Whether a ring is closed or crosses
// itself is for geo/polygon, what the numbers mean for geo/field.
package wkt
