// Package contour lays rows that follow the land, and says whether it is worth
// it.
//
// Rows are level sets of one scalar field phi over a block, in metres: row k
// runs where phi = k s + phase for the spacing s. The ways to such a field:
//
//   - [Follow]: the distance to a guide, a smoothed contour or a straight. Rows
//     keep their distance exactly and let the grade drift; where it leaves the
//     limit they end, and another guide begins. What a receiver that repeats one
//     curve can do is such a field, see [Repeatability].
//   - [Fit]: a cubic B-spline fitted so that three things hold as far as the
//     ground lets them: rows run near level, or with the fall asked for towards
//     a side, neighbours keep their distance, and no row bends tighter than the
//     machine can follow. It does not know up from down, so that flat ground,
//     tops and saddles need no care. Where the survey of heights ends, rows run on
//     straight.
//   - [Peel]: keeps what is good of the rows of a field and starts anew in what
//     is left, where that pays.
//
// None of them holds limits as such. [Break] takes out what is too tight and
// parts what comes too near; the caller opens rows to its headlands before that
// (see [Site]). [Judge] scores the rows of any method, straight ones too, on the
// terrain as surveyed: the area served inside every limit, less the price of the
// pieces. Grade is judged over a chord, against a limit that may depend on the
// slope of the land (see [Limits]), as [Places] measures both along a row.
// [Best] does all of this for one block, beside straight rows that are given,
// and takes what scores best above its hard floors; straight rows win ties. It
// says why in words, and where rows restart how deep a block one guide could
// serve ([DepthM]).
//
//	area, design, raw ──┬─ Follow ────────────┐
//	                    └─ Fit ──┬────────────┤
//	                             └─ Peel ─────┤
//	                       straight rows      ├─ Open ─ Break ─ Judge ─ choose
//	                             └────────────┘ (straight rows: Judge alone)
//
// All coordinates are metres of the field's frame, x east and y north; grades
// are ratios. Areas must be sound (see geo/polygon). The same input gives the
// same rows for any number of processors. The package knows no files, no notes
// and no headlands: the area given is the ground that rows may use.
package contour
