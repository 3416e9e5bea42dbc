// Package contour lays rows that follow the land.
//
// Rows are level sets of one scalar field phi over a block, in metres: row k
// runs where phi = k s + phase for the spacing s. The field is a cubic
// B-spline fitted so that three things hold as far as the ground lets them:
// rows run near level, neighbours keep their distance, and no row bends tighter
// than the machine can follow. [Fit] finds the field, [Peel] keeps what is good
// of its rows and starts anew in what is left, [Judge] scores the rows of any
// method on the terrain as surveyed, and [Break] takes out what is too tight.
//
// All coordinates are metres of the field's frame, x east and y north; grades
// are ratios. Areas must be sound (see geo/polygon). The package knows no
// files, no notes and no headlands: the area given is the ground that rows may
// use.
package contour
