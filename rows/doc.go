// Package rows decides where every row of a field runs: heading, first row,
// headlands and clearances, pieces between obstacles and cross alleys, numbers,
// the order of laying with its turns, and the place of every plant.
//
// All coordinates are metres of the field's frame; plan lengths are horizontal
// on the ellipsoid, ground lengths at the height of the ground.
//
// Rows never go through a general polygon overlay. A row is a line; what is
// left of it after clearances is found exactly, one closed-form interval per
// edge (clip.go), and a heading search counts the same thing by arithmetic on
// the exact inset (count.go) before it materialises the winner.
package rows
