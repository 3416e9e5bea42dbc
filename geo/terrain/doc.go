// Package terrain makes surfaces of surveyed heights and lays rows on them.
//
// A [Grid] interpolates between the cell centres of a raster, a [TIN] consists
// of plane triangles between points. Both live in the metres of one field's
// frame, x east and y north, with heights in metres; both answer only where
// there are data and never extrapolate or smooth.
//
// # Accuracy
//
// Heights are those of the stated interpolation. A grid's cells are placed
// within 0.1 mm of the exact chain of projections (geo.MapErrorM; where a
// datum is known by a grid of shifts, within 5 mm, which a note then says).
// Triangles pass through their points, which are kept to the nanometre; points
// within 5 mm of each other become one. How well data stand for the ground
// between them is the survey's affair: against a sphere of 500 m radius, rows
// of 270 m on bilinear cells of 8, 4 and 2 m were wrong by 4.0, 1.0 and
// 0.25 mm, on bicubic cells of 32, 16 and 8 m by 0.7, 0.08 and 0.01 mm.
//
// [Drape] integrates the length of a row on the surface as it is: exactly for
// triangles, to 1e-9 for planes on a grid. Heights with noise of 5 cm make the
// grade over a chord of 10 m uncertain by 0.7 % (one sigma) whatever the
// method.
//
// # What this package does not do
//
// It reads no file (see geo/format) and knows no limits of slope (see rows).
package terrain
