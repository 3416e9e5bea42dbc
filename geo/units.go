package geo

// Units of other systems in SI, for reading and showing them. All are exact:
// the definitions are those of NIST SP 811 (2008), appendix B, and the ratios
// derived from them; the survey foot is that of 85 Fed. Reg. 62698 (2020).
// They are untyped, so that they are computed without rounding until used.
const (
	// Lengths. The foot is the international one; the US survey foot has its
	// own name and is met only in older survey data.
	FootM       = 0.3048
	InchM       = FootM / 12
	MilM        = InchM / 1000
	MilUm       = 25.4
	YardM       = 3 * FootM
	ChainM      = 66 * FootM
	MileM       = 5280 * FootM
	SurveyFootM = 1200.0 / 3937.0

	// Areas and volumes. An acre is ten square chains.
	SquareFootM2 = FootM * FootM
	AcreM2       = 10 * ChainM * ChainM
	SurveyAcreM2 = 43560 * SurveyFootM * SurveyFootM
	HectareM2    = 10000
	CubicFootM3  = FootM * FootM * FootM
	CubicYardM3  = 27 * CubicFootM3
	CubicInchL   = InchM * InchM * InchM * 1000
	USGallonL    = 231 * CubicInchL
	AcreInchM3   = AcreM2 * InchM

	// Mass, force and pressure. GravityMS2 is standard gravity, which turns a
	// pound of mass into a pound of force.
	PoundKg         = 0.45359237
	OunceKg         = PoundKg / 16
	ShortTonKg      = 2000 * PoundKg
	TonneKg         = 1000
	GravityMS2      = 9.80665
	PSIPa           = PoundKg * GravityMS2 / (InchM * InchM)
	PSFPa           = PoundKg * GravityMS2 / SquareFootM2
	BarPa           = 100000
	WaterColumnPa   = 1000 * GravityMS2 // one metre of water at 1000 kg/m3
	PoundPerYd3KgM3 = PoundKg / CubicYardM3

	// Flow and speed.
	USGallonPerMinuteLPH = 60 * USGallonL
	USGallonPerHourLPH   = USGallonL
	MilePerHourMS        = MileM / 3600
	KnotMS               = 1852.0 / 3600.0
	KilometrePerHourMS   = 1 / 3.6

	// FahrenheitStepK is one step of the Fahrenheit scale.
	FahrenheitStepK = 5.0 / 9.0
)
