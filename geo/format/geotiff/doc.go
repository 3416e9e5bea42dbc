// Package geotiff reads rasters of heights from GeoTIFF files: TIFF revision
// 6.0 (Aldus, 1992) and BigTIFF, placed by OGC GeoTIFF 1.1 (19-008r4, 2019).
//
// # Coordinates
//
// What is read is in the file's own coordinates and its own unit of height:
// metres, feet or degrees, as the file says in [format.Reference] and
// HeightUnitM. Positions are those of cell centres, whether the file counts
// from corners (pixel is area) or from centres (pixel is point).
//
// # Reading
//
// [Open] reads the header only. [Raster.Window] reads the strips or tiles that
// the window touches and no others:
//
//	r, err := geotiff.Open("hill.tif", file, size)
//	...
//	grid, err := r.Window(100, 200, 700, 800)
//
// Read are: strips and tiles; one band, or the first of several; whole numbers
// of 8 to 64 bits, with or without sign, and floats of 32 and 64 bits; no
// compression, LZW, deflate, PackBits; predictors 1, 2 and 3; both byte
// orders. Anything else is refused by its name with the command that turns it
// into something that is read.
//
// The first image of full resolution counts; overviews are passed over. A cell
// without height is NaN: nodata by the GDAL_NODATA tag, a block the file leaves
// out, an infinity or a number beyond 1e30. SCALE and OFFSET of the
// GDAL_METADATA tag are applied.
//
// # What this package does not do
//
// It does not interpolate, does not resolve the reference system and does not
// turn heights into metres: those are for geo/terrain and geo/crs.
package geotiff
