// Package result is the one document that comes out of a run: the plan as it
// was understood, the files it was made from, where every row runs, what they
// take, and what the reader must know. Everything else that hemrow writes is a
// function of this document.
//
// Places stand in it twice: as longitude and latitude in degrees (WGS84, that
// order) and as local metres of the frame it describes (x east, y north of the
// frame's origin). Names of fields say which, and every number's unit; a plan
// length is horizontal, a ground length is at the height of the ground.
//
// Numbers are rounded once, when [New] makes the document: lengths to 1 mm,
// longitude and latitude to 1e-9 degrees, areas to 0.1 m2. Totals are summed
// before rounding. Lines of longitude and latitude carry as many vertices as
// it takes to stray at most 2 mm from the row they stand for.
//
// Where rows may follow the land, a block also holds how every way of laying
// them did, and why one was taken. Figures that have no number, such as the
// radius of a straight row, are null.
//
// The package computes no layout and counts no material; a document of
// another version is refused, not guessed at.
package result
