// Package points reads surveyed points from delimited text: CSV (RFC 4180,
// 2005), semicolons, tabs, bars or blanks between the columns, with a header
// line or without.
//
// # Coordinates
//
// They come out as written, in the units of the file: X is the easting or the
// longitude, Y the northing or the latitude, Z the height or NaN. Only columns
// that call themselves longitude and latitude, or angles that end in N, S, E or
// W, are taken for WGS84 degrees; all else leaves the reference silent. Angles
// may be written as 46.95, 46.95N, 46 57 00.2 N, 46°57'00.2"N, 46:57:00.2,
// 4657.003N (degrees and minutes) and 465700.2N (degrees, minutes, seconds).
//
// # Reading
//
// [Read] works out by itself: byte order mark, UTF-16, separator, decimal mark,
// header and the meaning of the columns; a note says what was taken for what.
// What can be read in two ways is refused, with the first line shown both ways
// and the option that decides. Without a header,
//
//	two or three numbers      easting, northing, height
//	the same and a text       easting, northing, height, code
//	five columns, the first
//	a point number            point, northing, easting, height, code
//
// All points of a file make one feature, in the order of the file or of a
// column seq; a column line, string, block or part makes one feature for each of
// its values. Names and codes of the points are lists of texts beside them, see
// [PropNames] and [PropCodes]. A column wkt or geom makes each row a feature of
// that shape, with the other columns as its properties.
//
// Lines that start with # and blank lines are passed over.
//
// # What this package does not do
//
// It joins no points to an outline and knows no reference system: see
// geo/field.
package points
