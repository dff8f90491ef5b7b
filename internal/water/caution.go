package water

import "reddside/internal/units"

// NewWaterNear is how near the temperature of new water comes to that of the tank;
// common practice, no source.
const NewWaterNear = units.CelsiusDelta(2)

// Caution is the key of a caution text that belongs beside a result. The
// catalogue holds the words; permit and local rules come before all of them.
type Caution string

// Cautions of the calculators.
const (
	CautionAdultChemicals Caution = "caution.adult_chemicals"  // adults only, gloves and goggles
	CautionTestAfter      Caution = "caution.test_after"       // test again before the water meets fish
	CautionChloramine     Caution = "caution.chloramine"       // ammonia stays behind; airing does not help
	CautionLargeChange    Caution = "caution.large_change"     // a big change moves temperature and pH too
	CautionTemperature    Caution = "caution.temperature_step" // new water is much warmer or colder
	CautionPHAmmonia      Caution = "caution.ph_ammonia"       // higher pH makes ammonia more toxic
	CautionNotHatching    Caution = "caution.not_hatching"     // never on hatching eggs
	CautionOnWord         Caution = "caution.on_word"          // only when the coordinator says so
	CautionRinse          Caution = "caution.rinse"            // rinse the eggs before the tank
	CautionSealedIce      Caution = "caution.sealed_ice"       // ice in sealed bottles, never loose
	CautionElectricity    Caution = "caution.electricity"      // unplug before hands go in
)
