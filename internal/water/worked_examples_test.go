package water_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/units"
	"reddside/internal/water"
)

// args are the inputs of a row, "t_c=10;ph=7.4".
type args struct {
	t testing.TB
	m map[string]string
}

func parseArgs(t testing.TB, s string) args {
	a := args{t, map[string]string{}}
	for _, part := range strings.Split(s, ";") {
		k, v, _ := strings.Cut(part, "=")
		a.m[strings.TrimSpace(k)] = strings.TrimSpace(v)
	}
	return a
}

func (a args) text(k string) string {
	a.t.Helper()
	v, ok := a.m[k]
	if !ok {
		a.t.Fatalf("the row has no input %q: %v", k, a.m)
	}
	return v
}

func (a args) f(k string) float64            { a.t.Helper(); return number(a.t, a.text(k)) }
func (a args) i(k string) int                { a.t.Helper(); return int(a.f(k)) }
func (a args) mg(k string) units.MgPerL      { a.t.Helper(); return units.MgPerL(a.f(k)) }
func (a args) c(k string) units.Celsius      { a.t.Helper(); return units.Celsius(a.f(k)) }
func (a args) degF(k string) units.Celsius   { a.t.Helper(); return units.Fahrenheit(a.f(k)).Celsius() }
func (a args) l(k string) units.Litres       { a.t.Helper(); return units.Litres(a.f(k)) }
func (a args) g(k string) units.Grams        { a.t.Helper(); return units.Grams(a.f(k)) }
func (a args) mm(k string) units.Millimetres { a.t.Helper(); return units.Millimetres(a.f(k)) }

// num turns a result into a float64 and keeps its error.
func num[T ~float64](v T, err error) (float64, error) { return float64(v), err }

// examples computes the rows of one topic.
var examples = map[string]func(a args) (float64, error){
	"1.do_saturation": func(a args) (float64, error) {
		return num(water.Saturation(a.c("t_c"), units.FromMMHg(a.f("p_mmhg"))))
	},
	"1.do_percent": func(a args) (float64, error) {
		return water.PercentSaturation(a.mg("do"), a.c("t_c"), units.FromMMHg(a.f("p_mmhg")))
	},
	"1.pressure_from_altitude": func(a args) (float64, error) {
		p, err := water.PressureAtAltitude(units.Metres(a.f("altitude_m")))
		return p.MMHg(), err
	},
	"1.station_from_sealevel": func(a args) (float64, error) {
		p, err := water.StationPressure(units.Kilopascal(a.f("slp_hpa")/10), units.Metres(a.f("altitude_m")))
		return p.MMHg(), err
	},
	"1.conversion": func(a args) (float64, error) { return water.InchesOfMercury(a.f("p_inhg")).MMHg(), nil },

	"2.nh3_n": func(a args) (float64, error) {
		r, err := water.UnionisedAmmonia(a.mg("tan_n"), a.c("t_c"), a.f("ph"))
		return float64(r.NH3N), err
	},
	"2.nh3_molar": func(a args) (float64, error) {
		f, err := water.AmmoniaFraction(a.c("t_c"), a.f("ph"))
		return a.f("total_mmol") * f, err
	},
	"2.nh3_cross": func(a args) (float64, error) {
		f, err := water.AmmoniaFraction(a.c("t_c"), a.f("ph"))
		return a.f("nh4_total") * f, err
	},
	"2.nh3_to_nh3_n": func(a args) (float64, error) { return float64(water.NH3.AsN(a.mg("nh3"))), nil },
	"2.no3_to_no3_n": func(a args) (float64, error) { return float64(water.NO3.AsN(a.mg("no3"))), nil },
	"2.max_tan_for_limit": func(a args) (float64, error) {
		return num(water.MaxTAN(a.mg("limit_nh3"), a.c("t_c"), a.f("ph")))
	},
	"2.epa2013_acute":   func(a args) (float64, error) { return num(water.EPAAcuteTAN(a.c("t_c"), a.f("ph"))) },
	"2.epa2013_chronic": func(a args) (float64, error) { return num(water.EPAChronicTAN(a.c("t_c"), a.f("ph"))) },
	"2.ccme_copper":     func(a args) (float64, error) { return water.CCMECopper(a.f("hardness")) },

	"3.thiosulfate": func(a args) (float64, error) {
		d, err := water.Dechlorination(1, a.mg("chlorine_mg"), false)
		return 1000 * float64(d.Pentahydrate), err
	},
	"3.thiosulfate_dose": func(a args) (float64, error) {
		d, err := water.Dechlorination(a.l("litres"), a.mg("cl2"), false)
		return float64(d.Pentahydrate), err
	},
	"3.stoich_tetrathionate": func(args) (float64, error) { return water.PentahydratePerChlorine, nil },
	"3.stoich_sulfate":       func(args) (float64, error) { return water.PentahydrateToSulfate, nil },
	"3.chloramine_nh3": func(a args) (float64, error) {
		return num(water.ChloramineNH3InTank(a.mg("nh2cl"), a.f("fraction")))
	},
	"3.dilution_repeat": func(a args) (float64, error) {
		return num(water.AfterChanges(a.mg("c0"), a.mg("c_in"), a.f("fraction"), a.i("n")))
	},
	"3.fraction_needed": func(a args) (float64, error) {
		return water.ChangeFraction(a.mg("c0"), a.mg("c_in"), a.mg("target"))
	},
	"3.continuous": func(a args) (float64, error) {
		return num(water.Continuous(a.mg("c0"), 0, a.l("v_l"), a.l("q_l_h"), a.f("h")))
	},
	"3.nitrification_rate": func(a args) (float64, error) { return water.NitrificationRate(a.c("t_c")) },
	"3.bicarbonate_exact": func(a args) (float64, error) {
		return num(water.Bicarbonate(a.l("litres"), a.mg("raise_mg_l")))
	},

	"4.iodophor": func(a args) (float64, error) {
		return water.IodophorStock(a.mg("target_mg_l"), a.l("water_l"), a.f("stock_pct"))
	},
	"4.von_bayer_table": func(a args) (float64, error) {
		d, err := water.EggDiameter(304.8, a.i("eggs_per_12in"))
		if err != nil {
			return 0, err
		}
		return water.EggsPerQuart(d)
	},
	"4.von_bayer_litre": func(a args) (float64, error) { return water.EggsPerLitre(a.mm("diameter_mm")) },
	"4.displacement": func(a args) (float64, error) {
		return water.EggsByDisplacement(a.f("displaced_ml"), a.mm("diameter_mm"))
	},

	"5.u_value": func(a args) (float64, error) {
		return water.SeriesU(1/a.f("h_air"), a.f("glass_mm")/1000/a.f("k_glass"), 1/a.f("h_water"))
	},
	"5.u_series": func(a args) (float64, error) {
		var rs []float64
		for _, s := range strings.Split(a.text("R"), ",") {
			rs = append(rs, number(a.t, s))
		}
		return water.SeriesU(rs...)
	},
	"5.heat_flow": func(a args) (float64, error) {
		return water.ChillerHold(a.f("U")*a.f("A"), 0, a.c("dT"), 0)
	},
	"5.time_constant": func(a args) (float64, error) {
		return water.Warming{Volume: a.l("litres"), UA: a.f("UA"), Tank: 10, Room: 20}.TimeConstant()
	},
	"5.newton": func(a args) (float64, error) {
		return num(water.Warming{Volume: a.l("litres"), UA: a.f("UA"), Tank: a.c("t0"),
			Room: a.c("t_room")}.After(a.f("hours")))
	},
	"5.newton_pump": func(a args) (float64, error) {
		return num(water.Warming{Volume: a.l("litres"), UA: a.f("UA"), Tank: a.c("t0"), Room: a.c("t_room"),
			HeatW: a.f("pump_w")}.After(a.f("hours")))
	},
	"5.ua_from_pump": func(a args) (float64, error) {
		return water.UAFromHeat(a.f("pump_w"), a.c("t_water"), a.c("t_room"))
	},
	"5.ice_lower": iceExample,
	"5.ice_hold": func(a args) (float64, error) {
		return water.IceToHold(a.f("UA"), a.c("t_hold"), a.c("t_hold")+a.c("dT"), 0)
	},
	"5.chiller_pulldown": func(a args) (float64, error) {
		w := water.Warming{Volume: a.l("litres"), UA: a.f("UA"), Tank: a.c("t0"), Room: a.c("t_room"),
			HeatW: a.f("pump_w")}
		return water.ChillerPulldown(w, a.c("t1"), a.f("hours"))
	},
	"5.ton": func(a args) (float64, error) { return a.f("tons") * water.WattsPerTon, nil },
	"5.o2_reserve_eggs": func(a args) (float64, error) {
		use, err := water.EggOxygenUse(a.i("eggs"), a.f("mg_per_egg_h"))
		if err != nil {
			return 0, err
		}
		return water.OxygenReserve(a.l("litres"), a.mg("do0"), a.mg("do_min"), use)
	},
	"5.o2_reserve_fry": func(a args) (float64, error) {
		use, err := water.FryOxygenUse(a.i("fish"), a.g("g_each"), a.f("mg_kg_h"))
		if err != nil {
			return 0, err
		}
		return water.OxygenReserve(a.l("litres"), a.mg("do0"), a.mg("do_min"), use)
	},
	"5.o2_liao": func(a args) (float64, error) {
		group := map[string]water.Group{"trout": water.Trout, "salmon": water.Salmon}[a.text("group")]
		return water.LiaoRate(group, a.degF("t_f"), a.g("g"))
	},

	"6.density_index": func(a args) (float64, error) {
		return water.DensityIndex(units.Grams(a.f("w_lb")*453.59237), units.Millimetres(a.f("l_in")*25.4),
			units.Litres(a.f("v_ft3")*28.316846592))
	},
	"6.fish_per_litre": func(a args) (float64, error) { return water.Load(a.i("fish"), a.g("g_each"), a.l("v_l")) },
	"6.condition_fulton": func(a args) (float64, error) {
		return biology.Condition(a.g("g"), a.mm("mm"))
	},
	"6.ration": func(a args) (float64, error) {
		return num(biology.Ration(a.i("fish"), a.g("g_each"), a.f("pct")))
	},
	"6.tan_from_feed": func(a args) (float64, error) {
		return num(water.TANFromFeedRate(a.g("feed_g"), a.f("g_tan_per_kg")))
	},
	"6.tan_from_protein": func(a args) (float64, error) {
		if a.f("coef") != water.TANPerFeedAndProtein {
			return 0, fmt.Errorf("coefficient %v, the program uses %v", a.f("coef"), water.TANPerFeedAndProtein)
		}
		return num(water.TANFromFeed(a.g("feed_g"), a.f("protein")))
	},
	"6.filter_area": func(a args) (float64, error) {
		return water.FilterArea(a.g("tan_g_day"), 10) // the row's rate is the table's at 10 C
	},
	"6.excretion": func(a args) (float64, error) {
		return water.Excretion(a.g("biomass_g"), a.f("mg_n_kg_h"))
	},

	"7.load_temperature": func(a args) (float64, error) {
		return water.LoadAtTemperature(a.f("load"), a.degF("t0_f"), a.degF("t1_f"))
	},
	"7.q10": func(a args) (float64, error) {
		return water.RateAtTemperature(a.f("rate"), a.degF("t0_f"), a.degF("t1_f"))
	},
	"7.temper_steps": func(a args) (float64, error) {
		steps, err := water.Tempering(10+a.c("dT0"), 10, a.f("fraction"), 0.01)
		if err != nil {
			return 0, err
		}
		return float64(steps[a.i("n")-1]) - 10, nil
	},
	"7.mix": func(a args) (float64, error) {
		return num(water.Mix(a.l("v1"), a.c("t1"), a.l("v2"), a.c("t2")))
	},
	"7.ice_transport": iceExample,
	"7.o2_bag": func(a args) (float64, error) {
		return num(water.BagOxygen(a.l("gas_l"), a.c("t_c"), a.f("frac_o2")))
	},
	"7.count_by_weight": func(a args) (float64, error) {
		return water.CountByWeight(a.g("lot_g"), a.i("sample_n"), a.g("sample_g"))
	},

	"9.f_to_c":      func(a args) (float64, error) { return float64(a.degF("f")), nil },
	"9.c_to_f":      func(a args) (float64, error) { return float64(a.c("c").Fahrenheit()), nil },
	"9.impgal_to_l": func(a args) (float64, error) { return a.f("impgal") * units.LitresPerImperialGallon, nil },
	"9.tank_volume": func(a args) (float64, error) {
		return num(water.Box{Length: 10 * a.mm("l_cm"), Width: 10 * a.mm("w_cm"),
			Depth: 10 * a.mm("water_cm")}.Volume())
	},
	"9.ph_step": func(a args) (float64, error) {
		low, err := water.AmmoniaFraction(10, 6.5)
		if err != nil {
			return 0, err
		}
		high, err := water.AmmoniaFraction(10, 6.5+a.f("dph"))
		return high / low, err
	},
}

func iceExample(a args) (float64, error) {
	return water.IceToLower(a.l("kg"), a.c("t0"), a.c("t1"), a.c("t_ice"))
}

// notComputed are the topics these two packages do not answer, and why.
var notComputed = map[string]string{
	"4.egg_survival":     "survival is counted by the season report, with its interval",
	"7.survival":         "survival is counted by the season report, with its interval",
	"7.length_sd":        "a standard deviation belongs to the statistics package",
	"9.bias_days":        "the effect of a thermometer's bias belongs to the forecast",
	"5.o2_egg_total":     "checks the read abstract against itself; the program has no such figure",
	"6.ammonia_factor":   "flow-through raceways; a school tank recirculates",
	"6.flow_index":       "flow-through raceways; a school tank recirculates",
	"6.flow_index_table": "flow-through raceways; a school tank recirculates",
	"9.ppm":              "the program shows mg/L only",
	"9.g_to_oz":          "the program shows grams only",
}

// Every row of worked_examples.csv is computed inside its tolerance or stands
// in notComputed with a reason. Each row names its own source.
func TestWorkedExamples(t *testing.T) {
	rows := referenceRows(t, "worked_examples.csv")
	if len(rows) != 110 {
		t.Fatalf("%d rows, want 110", len(rows))
	}
	computed, left := 0, map[string]int{}
	seen := map[string]bool{}
	for _, r := range rows {
		topic := r["topic"]
		seen[topic] = true
		calc, ok := examples[topic]
		if !ok {
			if notComputed[topic] == "" {
				t.Errorf("%s: neither computed nor listed with a reason", topic)
			}
			left[topic]++
			continue
		}
		computed++
		got, err := calc(parseArgs(t, r["inputs"]))
		if err != nil {
			t.Errorf("%s %s: %v", topic, r["inputs"], err)
			continue
		}
		want := number(t, r["expected"])
		// A tolerance of 0 asks for the printed figure itself.
		if tol := tolerance(t, r["tolerance"], want) + 1e-9; math.Abs(got-want) > tol {
			t.Errorf("%s %s: %.6g, want %s %s within %s (%s)", topic, r["inputs"], got, r["expected"], r["unit"],
				r["tolerance"], r["source"])
		}
	}
	for topic := range examples {
		if !seen[topic] {
			t.Errorf("%s is computed but has no row", topic)
		}
	}
	for topic, why := range notComputed {
		if left[topic] == 0 {
			t.Errorf("%s is listed as not computed but has no row", topic)
		}
		t.Logf("not computed: %s (%d rows): %s", topic, left[topic], why)
	}
	t.Logf("%d rows computed, %d not", computed, len(rows)-computed)
}
