package crs

import "math"

const degPerRad = 180 / math.Pi

// ellipsoid is a figure of the earth with what the projections need of it.
type ellipsoid struct {
	aM  float64 // semi-major axis
	n   float64 // third flattening, (a-b)/(a+b)
	e2  float64 // eccentricity squared
	e   float64
	geo series // from conformal to geographic latitude
}

func newEllipsoid(el Ellipsoid) ellipsoid {
	f := 0.0
	if el.InvFlatteningRatio != 0 {
		f = 1 / el.InvFlatteningRatio
	}
	e := ellipsoid{aM: el.SemiMajorM, n: f / (2 - f), e2: f * (2 - f)}
	e.e = math.Sqrt(e.e2)
	e.geo = conformalToGeographic(e.n)
	return e
}

// atanhRatio is atanh(e·s)/e for the sine s of a latitude, by its series. With
// e² = 0.0068 the first term left out is below e¹⁸/19 = 1e-21.
func (el *ellipsoid) atanhRatio(s float64) float64 {
	w := el.e2 * s * s
	return s * (1 + w*(1.0/3+w*(1.0/5+w*(1.0/7+w*(1.0/9+w*(1.0/11+w*(1.0/13+w*(1.0/15))))))))
}

// conformalTan is the tangent of the conformal latitude from sine and cosine
// of the geographic one (Karney 2011, equations 7 to 9). The hyperbolic sine
// is summed as a series: its argument is below 0.0068, and the first term left
// out below 0.0068⁹/9! = 9e-26.
func (el *ellipsoid) conformalTan(s, c float64) float64 {
	x := el.e2 * el.atanhRatio(s)
	y := x * x
	sig := x * (1 + y*(1.0/6+y*(1.0/120+y*(1.0/5040))))
	return (math.Sqrt(1+sig*sig)*s - sig) / c
}

// asinh and sinh are those of package math to 2e-16 of 1, not of themselves,
// in a third of the time: as radians that is a nanometre.
func asinh(x float64) float64 {
	return math.Copysign(math.Log(math.Abs(x)+math.Sqrt(1+x*x)), x)
}

func sinh(x float64) float64 {
	t := math.Exp(x)
	return (t - 1/t) / 2
}

// isometric is the isometric latitude, the ordinate of Mercator's projection
// on the unit ellipsoid.
func (el *ellipsoid) isometric(phi float64) float64 {
	s, c := math.Sincos(phi)
	return asinh(el.conformalTan(s, c))
}

// latitude is the geographic latitude from the tangent of the conformal one.
func (el *ellipsoid) latitude(t float64) float64 {
	c2 := 1 / (1 + t*t) // its cosine squared
	return math.Atan(t) + el.geo.sum(2*t*c2, 2*c2-1)
}

// latitudeOf is the geographic latitude from the isometric one.
func (el *ellipsoid) latitudeOf(psi float64) float64 {
	return el.latitude(sinh(psi))
}

// parallelRatio is the radius of the parallel of latitude phi, in semi-major
// axes.
func (el *ellipsoid) parallelRatio(phi float64) float64 {
	s, c := math.Sincos(phi)
	return c / math.Sqrt(1-el.e2*s*s)
}

// authalic is q of Snyder's equation 3-12 over 1 - e²: 2 at the pole of a
// sphere.
func (el *ellipsoid) authalic(s float64) float64 {
	return s/(1-el.e2*s*s) + el.atanhRatio(s)
}

// series are the coefficients of a difference of two kinds of latitude as
// Σ cⱼ sin 2jφ.
type series [6]float64

// sum is Clenshaw's summation, given sine and cosine of twice the latitude.
func (c *series) sum(s2, c2 float64) float64 {
	k := 2 * c2
	b6 := c[5]
	b5 := c[4] + k*b6
	b4 := c[3] + k*b5 - b6
	b3 := c[2] + k*b4 - b5
	b2 := c[1] + k*b3 - b4
	return s2 * (c[0] + k*b2 - b3)
}

// complexSum is the same over a complex latitude ξ + iη, given the circular
// functions of 2ξ and the hyperbolic ones of 2η.
func (c *series) complexSum(s2, c2, sh2, ch2 float64) (re, im float64) {
	cr, ci := 2*c2*ch2, -2*s2*sh2 // 2 cos 2ζ
	b5r, b5i := c[4]+cr*c[5], ci*c[5]
	b4r, b4i := c[3]+cr*b5r-ci*b5i-c[5], cr*b5i+ci*b5r
	b3r, b3i := c[2]+cr*b4r-ci*b4i-b5r, cr*b4i+ci*b4r-b5i
	b2r, b2i := c[1]+cr*b3r-ci*b3i-b4r, cr*b3i+ci*b3r-b4i
	b1r, b1i := c[0]+cr*b2r-ci*b2i-b3r, cr*b2i+ci*b2r-b3i
	sr, si := s2*ch2, c2*sh2 // sin 2ζ
	return sr*b1r - si*b1i, sr*b1i + si*b1r
}

// polynomials is a table of the coefficients of n to n⁶ for each sin 2jφ.
type polynomials [6][6]float64

func (p *polynomials) at(n float64) (c series) {
	for j, row := range p {
		for k := len(row) - 1; k >= 0; k-- {
			c[j] = (c[j] + row[k]) * n
		}
	}
	return c
}

// The series below go to the sixth power of the third flattening n; with
// n = 0.0017 the next term is below 60 n⁷ = 2e-18. Source: C. F. F. Karney, "On
// auxiliary latitudes", Survey Review 56 (2024), section 5 and appendix (from
// memory; the tests compare each with its closed form).

// conformalToGeographic turns a conformal latitude into a geographic one.
func conformalToGeographic(n float64) series {
	return (&polynomials{
		{2, -2.0 / 3, -2, 116.0 / 45, 26.0 / 45, -2854.0 / 675},
		{0, 7.0 / 3, -8.0 / 5, -227.0 / 45, 2704.0 / 315, 2323.0 / 945},
		{0, 0, 56.0 / 15, -136.0 / 35, -1262.0 / 105, 73814.0 / 2835},
		{0, 0, 0, 4279.0 / 630, -332.0 / 35, -399572.0 / 14175},
		{0, 0, 0, 0, 4174.0 / 315, -144838.0 / 6237},
		{0, 0, 0, 0, 0, 601676.0 / 22275},
	}).at(n)
}

// geographicToAuthalic turns a geographic latitude into the authalic one, that
// of a sphere with equal areas.
func geographicToAuthalic(n float64) series {
	return (&polynomials{
		{-4.0 / 3, -4.0 / 45, 88.0 / 315, 538.0 / 4725, 20824.0 / 467775, -44732.0 / 2837835},
		{0, 34.0 / 45, 8.0 / 105, -2482.0 / 14175, -37192.0 / 467775, -12467764.0 / 212837625},
		{0, 0, -1532.0 / 2835, -898.0 / 14175, 54968.0 / 467775, 100320856.0 / 1915538625},
		{0, 0, 0, 6007.0 / 14175, 24496.0 / 467775, -5884124.0 / 70945875},
		{0, 0, 0, 0, -23356.0 / 66825, -839792.0 / 19348875},
		{0, 0, 0, 0, 0, 570284222.0 / 1915538625},
	}).at(n)
}

// authalicToGeographic is the inverse of geographicToAuthalic.
func authalicToGeographic(n float64) series {
	return (&polynomials{
		{4.0 / 3, 4.0 / 45, -16.0 / 35, -2582.0 / 14175, 60136.0 / 467775, 28112932.0 / 212837625},
		{0, 46.0 / 45, 152.0 / 945, -11966.0 / 14175, -21016.0 / 51975, 251310128.0 / 638512875},
		{0, 0, 3044.0 / 2835, 3802.0 / 14175, -94388.0 / 66825, -8797648.0 / 10945935},
		{0, 0, 0, 6059.0 / 4725, 41072.0 / 93555, -1472637812.0 / 638512875},
		{0, 0, 0, 0, 768272.0 / 467775, 455935736.0 / 638512875},
		{0, 0, 0, 0, 0, 4210684958.0 / 1915538625},
	}).at(n)
}

// geographicToRectifying turns a geographic latitude into the rectifying one,
// which is proportional to the distance from the equator.
func geographicToRectifying(n float64) series {
	return (&polynomials{
		{-3.0 / 2, 0, 9.0 / 16, 0, -3.0 / 32, 0},
		{0, 15.0 / 16, 0, -15.0 / 32, 0, 135.0 / 2048},
		{0, 0, -35.0 / 48, 0, 105.0 / 256, 0},
		{0, 0, 0, 315.0 / 512, 0, -189.0 / 512},
		{0, 0, 0, 0, -693.0 / 1280, 0},
		{0, 0, 0, 0, 0, 1001.0 / 2048},
	}).at(n)
}

// rectifyingToGeographic is the inverse of geographicToRectifying.
func rectifyingToGeographic(n float64) series {
	return (&polynomials{
		{3.0 / 2, 0, -27.0 / 32, 0, 269.0 / 512, 0},
		{0, 21.0 / 16, 0, -55.0 / 32, 0, 6759.0 / 4096},
		{0, 0, 151.0 / 96, 0, -417.0 / 128, 0},
		{0, 0, 0, 1097.0 / 512, 0, -15543.0 / 2560},
		{0, 0, 0, 0, 8011.0 / 2560, 0},
		{0, 0, 0, 0, 0, 293393.0 / 61440},
	}).at(n)
}

// conformalToRectifying are Krüger's α (Karney 2011, equation 35), which carry
// the conformal latitude, complex, to the rectifying one.
func conformalToRectifying(n float64) series {
	return (&polynomials{
		{1.0 / 2, -2.0 / 3, 5.0 / 16, 41.0 / 180, -127.0 / 288, 7891.0 / 37800},
		{0, 13.0 / 48, -3.0 / 5, 557.0 / 1440, 281.0 / 630, -1983433.0 / 1935360},
		{0, 0, 61.0 / 240, -103.0 / 140, 15061.0 / 26880, 167603.0 / 181440},
		{0, 0, 0, 49561.0 / 161280, -179.0 / 168, 6601661.0 / 7257600},
		{0, 0, 0, 0, 34729.0 / 80640, -3418889.0 / 1995840},
		{0, 0, 0, 0, 0, 212378941.0 / 319334400},
	}).at(n)
}

// rectifyingToConformal are Krüger's β (equation 36), signs as in the sum
// that goes back.
func rectifyingToConformal(n float64) series {
	return (&polynomials{
		{-1.0 / 2, 2.0 / 3, -37.0 / 96, 1.0 / 360, 81.0 / 512, -96199.0 / 604800},
		{0, -1.0 / 48, -1.0 / 15, 437.0 / 1440, -46.0 / 105, 1118711.0 / 3870720},
		{0, 0, -17.0 / 480, 37.0 / 840, 209.0 / 4480, -5569.0 / 90720},
		{0, 0, 0, -4397.0 / 161280, 11.0 / 504, 830251.0 / 7257600},
		{0, 0, 0, 0, -4583.0 / 161280, 108847.0 / 3991680},
		{0, 0, 0, 0, 0, -20648693.0 / 638668800},
	}).at(n)
}

// rectifyingRadius is the radius of the sphere whose meridian is as long as
// the ellipsoid's (Karney 2011, equation 14).
func (el *ellipsoid) rectifyingRadius() float64 {
	n2 := el.n * el.n
	return el.aM / (1 + el.n) * (1 + n2*(1.0/4+n2*(1.0/64+n2*(1.0/256))))
}
