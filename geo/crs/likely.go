package crs

import "math"

// likelyShiftM is about how far a position moves by the shift of a datum on a
// figure, and how far at most: the median and the greatest over the datums of
// the EPSG table on figures of the family, each at the middle of the area of
// its set (testdata/likely.csv), rounded.
func likelyShiftM(e Ellipsoid) (sizeM, mostM float64) {
	for _, f := range likelyShifts {
		if math.Abs(e.SemiMajorM-f.semiMajorM) <= f.withinM {
			return f.sizeM, f.mostM
		}
	}
	return 200, 2200 // as on International 1924, on which most are
}

// likelyShifts by families of figures, which differ by up to withinM.
var likelyShifts = []struct{ semiMajorM, withinM, sizeM, mostM float64 }{
	{6377563.396, 1, 70, 90},    // Airy 1830
	{6377340.189, 1, 60, 60},    // Airy modified 1849
	{6377397.155, 10, 170, 480}, // Bessel 1841
	{6377290, 20, 260, 600},     // Everest
	{6378206.4, 1, 210, 570},    // Clarke 1866
	{6378249.2, 0.2, 200, 1050}, // Clarke 1880
	{6378388, 1, 220, 2200},     // International 1924
	{6378245, 0.5, 100, 140},    // Krassowsky 1940
	{6378160, 2, 90, 660},       // GRS 1967 and Australian National
	{6378137, 2, 5, 320},        // made for the whole earth, where a set is published at all
}
