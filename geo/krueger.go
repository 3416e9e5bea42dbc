package geo

import "math"

// The transverse Mercator series of Krüger to sixth order in the third
// flattening n, after C. F. F. Karney, "Transverse Mercator with an accuracy
// of a few nanometers", J. Geodesy 85 (2011) 475-485, equations 7 to 12 and
// 35, 36. All coefficients are untyped constants: the compiler evaluates them
// exactly and rounds once.
const (
	radPerDeg = math.Pi / 180

	ecc2 = wgs84F * (2 - wgs84F)
	n1   = wgs84F / (2 - wgs84F)
	n2   = n1 * n1
	n3   = n2 * n1
	n4   = n3 * n1
	n5   = n4 * n1
	n6   = n5 * n1

	rectifyingAM = wgs84AM / (1 + n1) * (1 + n2/4 + n4/64 + n6/256)

	al1 = n1/2 - 2*n2/3 + 5*n3/16 + 41*n4/180 - 127*n5/288 + 7891*n6/37800
	al2 = 13*n2/48 - 3*n3/5 + 557*n4/1440 + 281*n5/630 - 1983433*n6/1935360
	al3 = 61*n3/240 - 103*n4/140 + 15061*n5/26880 + 167603*n6/181440
	al4 = 49561*n4/161280 - 179*n5/168 + 6601661*n6/7257600
	al5 = 34729*n5/80640 - 3418889*n6/1995840
	al6 = 212378941 * n6 / 319334400

	be1 = n1/2 - 2*n2/3 + 37*n3/96 - n4/360 - 81*n5/512 + 96199*n6/604800
	be2 = n2/48 + n3/15 - 437*n4/1440 + 46*n5/105 - 1118711*n6/3870720
	be3 = 17*n3/480 - 37*n4/840 - 209*n5/4480 + 5569*n6/90720
	be4 = 4397*n4/161280 - 11*n5/504 - 830251*n6/7257600
	be5 = 4583*n5/161280 - 108847*n6/3991680
	be6 = 20648693 * n6 / 638668800
)

// sinhPsi is sinh(e·atanh(e·s)) for the sine s of a latitude, by the series of
// both functions. With e² = 0.0067 the first terms left out are below
// e¹⁶/15 = 3e-19 and (e²)⁹/9! = 7e-26, under half a unit in the last place.
func sinhPsi(s float64) float64 {
	const e2, e4, e6, e8, e10, e12 = ecc2, ecc2 * ecc2, ecc2 * ecc2 * ecc2,
		ecc2 * ecc2 * ecc2 * ecc2, ecc2 * ecc2 * ecc2 * ecc2 * ecc2,
		ecc2 * ecc2 * ecc2 * ecc2 * ecc2 * ecc2
	q := s * s
	x := e2 * s * (1 + q*(e2/3+q*(e4/5+q*(e6/7+q*(e8/9+q*(e10/11+q*(e12/13)))))))
	y := x * x
	return x * (1 + y*(1.0/6+y*(1.0/120+y*(1.0/5040))))
}

// asinh is math.Asinh, by its series where the argument is small, as it is
// for every place of a field: below 0.03 (190 km from the central meridian)
// the first term left out is 63/2816 x¹¹, 4e-19 in 0.03.
func asinh(x float64) float64 {
	if math.Abs(x) > 0.03 {
		return math.Asinh(x)
	}
	y := x * x
	return x * (1 - y*(1.0/6-y*(3.0/40-y*(15.0/336-y*(105.0/3456)))))
}

// conformalTan is τ' = tan of the conformal latitude, from τ = tan of the
// geographic one (Karney 2011, equations 7 to 9).
func conformalTan(tau float64) float64 {
	t1 := math.Sqrt(1 + tau*tau)
	sig := sinhPsi(tau / t1)
	return math.Sqrt(1+sig*sig)*tau - sig*t1
}

// newtonStop: a step below half a unit in the last place changes nothing.
const newtonStop = 1e-16

// geographicTan inverts conformalTan by Newton's method (equations 19 to 21);
// three steps reach rounding for any latitude below 89.9 degrees.
func geographicTan(taup float64) float64 {
	const e2m = 1 - ecc2
	tau := taup / e2m
	for range 5 {
		tp := conformalTan(tau)
		d := (taup - tp) * (1 + e2m*tau*tau) / (e2m * math.Sqrt(1+tau*tau) * math.Sqrt(1+tp*tp))
		tau += d
		if math.Abs(d) <= newtonStop*math.Max(1, math.Abs(tau)) {
			break
		}
	}
	return tau
}

// tmForward projects longitude from the central meridian and latitude (both
// radians) to easting and northing from the equator in metres.
func tmForward(lam, phi float64) (xM, yM float64) {
	sphi, cphi := math.Sincos(phi)
	sig := sinhPsi(sphi)
	taup := (math.Sqrt(1+sig*sig)*sphi - sig) / cphi // conformalTan of sphi/cphi
	s, c := math.Sincos(lam)
	h2 := taup*taup + c*c
	sh := s / math.Sqrt(h2)
	xi, eta := math.Atan2(taup, c), asinh(sh)
	// sin and cos of 2ξ', sinh and cosh of 2η' without another call
	s2, c2 := 2*taup*c/h2, (c*c-taup*taup)/h2
	sh2, ch2 := 2*sh*math.Sqrt(1+sh*sh), 1+2*sh*sh
	dxi, deta := sinSeries(s2, c2, sh2, ch2, al1, al2, al3, al4, al5, al6)
	return rectifyingAM * (eta + deta), rectifyingAM * (xi + dxi)
}

// tmInverse is the inverse of tmForward.
func tmInverse(xM, yM float64) (lam, phi float64) {
	xi, eta := yM/rectifyingAM, xM/rectifyingAM
	s2, c2 := math.Sincos(2 * xi)
	sh2, ch2 := math.Sinh(2*eta), math.Cosh(2*eta)
	dxi, deta := sinSeries(s2, c2, sh2, ch2, be1, be2, be3, be4, be5, be6)
	xi, eta = xi-dxi, eta-deta
	sh := math.Sinh(eta)
	s, c := math.Sincos(xi)
	taup := s / math.Sqrt(sh*sh+c*c)
	return math.Atan2(sh, c), math.Atan(geographicTan(taup))
}

// sinSeries is Clenshaw's sum of aⱼ sin 2jζ over complex ζ = ξ + iη, given the
// circular and hyperbolic functions of 2ξ and 2η.
func sinSeries(s2, c2, sh2, ch2, a1, a2, a3, a4, a5, a6 float64) (re, im float64) {
	cr, ci := 2*c2*ch2, -2*s2*sh2 // 2 cos 2ζ
	b5r, b5i := a5+cr*a6, ci*a6
	b4r, b4i := a4+cr*b5r-ci*b5i-a6, cr*b5i+ci*b5r
	b3r, b3i := a3+cr*b4r-ci*b4i-b5r, cr*b4i+ci*b4r-b5i
	b2r, b2i := a2+cr*b3r-ci*b3i-b4r, cr*b3i+ci*b3r-b4i
	b1r, b1i := a1+cr*b2r-ci*b2i-b3r, cr*b2i+ci*b2r-b3i
	sr, si := s2*ch2, c2*sh2 // sin 2ζ
	return sr*b1r - si*b1i, sr*b1i + si*b1r
}

// tmConvergence is the meridian convergence in radians, positive where frame
// north points east of true north (Karney 2011, equations 23 to 26).
func tmConvergence(lam, phi float64) float64 {
	taup := conformalTan(math.Tan(phi))
	s, c := math.Sincos(lam)
	xi, eta := math.Atan2(taup, c), math.Asinh(s/math.Hypot(taup, c))
	p, q := 1.0, 0.0
	for j, a := range [...]float64{al1, al2, al3, al4, al5, al6} {
		k := 2 * float64(j+1)
		sj, cj := math.Sincos(k * xi)
		p += k * a * cj * math.Cosh(k*eta)
		q += k * a * sj * math.Sinh(k*eta)
	}
	return math.Atan2(taup*s, c*math.Hypot(1, taup)) + math.Atan2(q, p)
}
