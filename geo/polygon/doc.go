// Package polygon is the planar kernel of hemrow's geometry: what is wrong
// with a ring and where, how it is put right and what that changed, areas and
// distances, and the ground that is left inside a clearance.
//
// # Coordinates
//
// Everything is metres of one frame, as orb.Polygon: the first ring is the
// outline, the others are holes, every ring ends on its first vertex. Rings
// and vertices are counted from 0 here, as in the slices; what speaks to the
// user adds one.
//
// # How it decides
//
// Left or right of a line is decided exactly ([Orient]), so whether two edges
// meet never depends on rounding. Only the place of a crossing is constructed
// in floats. Overlays and buffers come from a general library and are checked
// against the input on every call; what cannot be confirmed is an error.
//
// # What this package does not do
//
// It knows no degrees, no files and no notes (see geo/field), and rows are not
// clipped here: they use exact intervals instead of overlays (see rows).
package polygon
