package water

import (
	_ "embed"
	"math"

	"reddside/internal/units"
)

// Ranges of the oxygen calculators.
const (
	OxygenLowC      = 0.0  // Benson & Krause 1984, read in a public model file
	OxygenHighC     = 40.0 // same
	SalinityHigh    = 40.0 // g/kg, same
	PressureLowKPa  = 65.0 // a storm at 3 km; the pressure term holds to about 3 km (from memory)
	PressureHighKPa = 110.0
	AltitudeLowM    = -500.0
	AltitudeHighM   = 3000.0
	// MeasuredOxygenHigh is about the solubility of pure oxygen in water at
	// 0 C and 1 atm, in mg/L: no reading can be above it.
	MeasuredOxygenHigh = 70.0
)

const kelvinOffset = 273.15

// Saturation returns the oxygen that fresh water holds in balance with air, in
// mg/L, at a temperature from 0 to 40 C and a station pressure (the true local
// pressure, not the one reduced to sea level) from 65 to 110 kPa.
//
// Benson & Krause 1984, Limnology and Oceanography 29:620-632, in the mg/L
// form of Standard Methods 4500-O; constants read in public model files that
// cite them.
func Saturation(t units.Celsius, p units.Kilopascal) (units.MgPerL, error) {
	return SaturationInSalt(t, p, 0)
}

// SaturationInSalt is Saturation for water with salt in it, from 0 to 40 g/kg.
func SaturationInSalt(t units.Celsius, p units.Kilopascal, salinity float64) (units.MgPerL, error) {
	err := firstOutside(
		check{"temperature", float64(t), OxygenLowC, OxygenHighC, "Cel"},
		check{"pressure", float64(p), PressureLowKPa, PressureHighKPa, "kPa"},
		check{"salinity", salinity, 0, SalinityHigh, "g/kg"},
	)
	if err != nil {
		return 0, err
	}
	k := float64(t) + kelvinOffset
	atOneAtm := math.Exp(-139.34411 + 1.575701e5/k - 6.642308e7/(k*k) +
		1.243800e10/(k*k*k) - 8.621949e11/(k*k*k*k) -
		salinity*(0.017674-10.754/k+2140.7/(k*k)))
	return units.MgPerL(atOneAtm * pressureFactor(t, p)), nil
}

// pressureFactor scales the 1 atm saturation to pressure p.
func pressureFactor(t units.Celsius, p units.Kilopascal) float64 {
	c := float64(t)
	k := c + kelvinOffset
	atm := float64(p) / units.KilopascalPerAtmosphere
	vapour := math.Exp(11.8571 - 3840.70/k - 216961/(k*k)) // atm
	// This polynomial takes Celsius; fed with kelvin it is wrong without
	// looking wrong.
	theta := 0.000975 - 1.426e-5*c + 6.436e-8*c*c
	return (atm - vapour) * (1 - theta*atm) / ((1 - vapour) * (1 - theta))
}

// PercentSaturation returns a measured oxygen content as a percentage of
// Saturation. The measurement may be from 0 to 70 mg/L.
func PercentSaturation(measured units.MgPerL, t units.Celsius, p units.Kilopascal) (float64, error) {
	if err := units.CheckRange("oxygen", measured, 0, MeasuredOxygenHigh, "mg/L"); err != nil {
		return 0, err
	}
	full, err := Saturation(t, p)
	if err != nil {
		return 0, err
	}
	return 100 * float64(measured) / float64(full), nil
}

// PressureAtAltitude returns the pressure of the ICAO standard atmosphere at an
// altitude from -500 to 3000 m (formula from memory). Weather moves the true
// pressure by up to about 3 kPa either way.
func PressureAtAltitude(h units.Metres) (units.Kilopascal, error) {
	return StationPressure(units.KilopascalPerAtmosphere, h)
}

// StationPressure turns a weather report's pressure, which is reduced to sea
// level, into the pressure at an altitude from -500 to 3000 m.
func StationPressure(seaLevel units.Kilopascal, h units.Metres) (units.Kilopascal, error) {
	err := firstOutside(
		check{"sea_level_pressure", float64(seaLevel), 85, PressureHighKPa, "kPa"},
		check{"altitude", float64(h), AltitudeLowM, AltitudeHighM, "m"},
	)
	if err != nil {
		return 0, err
	}
	return seaLevel * units.Kilopascal(math.Pow(1-2.25577e-5*float64(h), 5.25588)), nil
}
