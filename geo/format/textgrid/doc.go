// Package textgrid reads rasters of heights written as text: the ESRI ASCII
// grid, and lists of X, Y and Z whose points lie on a regular grid.
//
// # Coordinates
//
// Neither format knows its reference system or its unit of height. A caller
// that has a .prj file beside the grid gives it by [Raster.SetReference];
// HeightUnitM is 0. Positions are those of cell centres, X first.
//
// # Reading
//
//	r, err := textgrid.OpenASCII("hill.asc", file, size)
//	...
//	r.SetReference(format.Reference{WKT: prj})
//	grid, err := r.Window(100, 200, 700, 800)
//
// [OpenASCII] reads the header only. The first window passes through the whole
// file once, counts its numbers and remembers where each row begins; later
// windows read only their rows.
//
// [OpenXYZ] passes through the file to find the grid; points that lie on none
// are [ErrScattered], and the caller may take them for survey points. A window
// passes through the file again.
//
// Memory is that of the window, and a few bytes for each row or a bit for each
// cell. Numbers may have a decimal point or a decimal comma. A cell without
// height is NaN: the nodata value, nan or inf, or a number beyond 1e30.
package textgrid
