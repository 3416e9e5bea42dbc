package taskdata

import "strconv"

// The words for the types of areas, lines, points and guidance patterns, by
// their numbers from 1. Source: ISO 11783-10 XML schema 4.3 (2018),
// enumerations of PLN A, LSG A, PNT A and GPN C.
var (
	areaKinds = [...]string{
		"field", "treatment zone", "water surface", "building", "road", "obstacle", "flag", "other",
		"main field", "headland", "buffer zone", "windbreak",
	}
	lineKinds = [...]string{
		"outer ring", "hole", "tram line", "sampling route", "guidance", "drainage", "fence", "flag", "obstacle",
	}
	pointKinds = [...]string{
		"flag", "other", "field access", "storage", "obstacle", "guidance A", "guidance B", "guidance centre",
		"guidance point", "field reference", "home base",
	}
	patterns = [...]string{"AB", "A+", "curve", "pivot", "spiral"}
)

// obstacleKinds is ground that rows keep clear of. Such features carry the
// property keep=clear, by which plans know obstacles.
var obstacleKinds = [...]string{"water surface", "building", "road", "obstacle", "windbreak", "fence"}

// Types that are decided upon.
const (
	boundaryArea = 1
	outerLine    = 1
	holeLine     = 2
	guidanceLine = 5
	aPlus        = 2
	pivot        = 4
)

// typeOf is the number that an attribute holds, 0 for none.
func typeOf(attr string) int {
	n, err := strconv.Atoi(attr)
	if err != nil || n < 0 {
		return 0
	}
	return n
}

// word is the word of a type, "other" for one that is not known.
func word(words []string, n int) string {
	if n < 1 || n > len(words) {
		return "other"
	}
	return words[n-1]
}
