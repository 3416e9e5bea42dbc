// Package field turns the raw features of files into a checked [geo.Field]:
// it chooses the outline, judges its coordinates, centres the metre frame on
// it, repairs rings with a note for each change, and brings blocks and
// obstacles together.
//
// # Coordinates
//
// In come longitude and latitude as written; out go metres of the field's own
// frame. This is the only place where the two meet.
//
// # What this package does not do
//
// It reads no file (see geo/format), converts no national grid, and guesses
// nothing that would move the field: swapped axes, open lines and bow-ties are
// refused with the place unless the Spec asks for the cure.
package field
