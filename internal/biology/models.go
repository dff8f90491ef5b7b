package biology

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"reddside/internal/units"
)

//go:embed models.csv
var modelsCSV string

// Model is one published or fitted development model, as data: what it
// predicts, its equation and constants, the range it was made for, and how it
// is known. Models come from the embedded models.csv; Models lists them all.
type Model struct {
	ID       string
	Species  string // as the source names it, like "Atlantic salmon"
	Event    string // what the days lead to: hatch50, eyed50, swimup50, ...
	Equation string // as written in the table
	Low      units.Optional[units.Celsius]
	High     units.Optional[units.Celsius]
	Unit     string
	Source   string
	How      string // read, memory, derived, assumption: how the row is known
	Doubt    string // what is known of its accuracy
	Use      string // default, alternative, do not use, ...
	Note     string

	form    form
	a, b, c float64 // constants of the form
	base    *Model  // the model that a ratio is taken of
}

// form is the family of equation of a model.
type form int

const (
	formCrisp        form = iota // log10 D = a + b log10(T - c)
	formReciprocal               // D = a/(T - b)
	formHyperbola                // D = a/(T + c)^b
	formExponential              // ln D = a + b T
	formLogPower                 // ln D = a + b ln(T + c)
	formLinearRate               // 1/D = a + b T
	formPower                    // D = a T^b
	formThermalTotal             // D = a/T
	formRatio                    // D = a base + c
	formInverseRatio             // D = base/a
)

// eggWeightMG is the egg weight at which a model that needs one is worked out.
// Source: science table, "evaluated at 300 mg".
const eggWeightMG = 300

// catalogue holds the parsed table; it is read only.
var catalogue = sync.OnceValues(func() (map[string]*Model, error) { return parseModels(modelsCSV) })

// ModelByID returns a model of the table.
func ModelByID(id string) (*Model, bool) {
	all, err := catalogue()
	m := all[id]
	return m, err == nil && m != nil
}

// Days returns the days from the model's start (fertilisation, or hatch for the
// models named "hatch_to_...") to its event at a constant temperature. It is
// +Inf where development stands still. Temperatures below 0 count as 0 (common
// practice, no source); NaN gives NaN.
func (m *Model) Days(t units.Celsius) float64 {
	r, _ := m.Rate(t)
	return 1 / r
}

// Rate returns the part of the way covered in one day, 1/Days, and its slope by
// temperature (per Celsius degree). Below 0 C both are those of 0 C and a slope
// of zero.
func (m *Model) Rate(t units.Celsius) (rate, slope float64) {
	x := float64(t)
	if x < 0 {
		r, _ := m.rate(0)
		return r, 0
	}
	return m.rate(x)
}

func (m *Model) rate(t float64) (r, slope float64) {
	switch m.form {
	case formCrisp:
		d := t - m.c
		r = m.a * math.Pow(d, -m.b) // a holds 10^-log_a
		return r, -m.b * r / d
	case formReciprocal:
		if t <= m.b {
			return 0, 0
		}
		return (t - m.b) / m.a, 1 / m.a
	case formHyperbola:
		r = math.Pow(t+m.c, m.b) / m.a
		return r, m.b * r / (t + m.c)
	case formExponential:
		r = math.Exp(-m.a - m.b*t)
		return r, -m.b * r
	case formLogPower:
		r = math.Exp(-m.a) * math.Pow(t+m.c, -m.b)
		return r, -m.b * r / (t + m.c)
	case formLinearRate:
		return m.a + m.b*t, m.b
	case formPower:
		if t == 0 {
			return 0, 0
		}
		r = math.Pow(t, -m.b) / m.a
		return r, -m.b * r / t
	case formThermalTotal:
		return t / m.a, 1 / m.a
	case formRatio:
		r2, s2 := m.base.rate(t)
		if r2 == 0 {
			return 0, 0
		}
		r = 1 / (m.a/r2 + m.c)
		return r, m.a * s2 * (r / r2) * (r / r2)
	case formInverseRatio:
		r2, s2 := m.base.rate(t)
		return r2 * m.a, s2 * m.a
	}
	return math.NaN(), math.NaN()
}

// InRange reports whether the model was made for temperature t. A model without
// a stated range is in range nowhere.
func (m *Model) InRange(t units.Celsius) bool {
	const touch = 1e-9
	return m.Low.OK && m.High.OK && t >= m.Low.V-touch && t <= m.High.V+touch
}

// IsThermalTotal reports whether the model is a fixed sum of thermal units, and
// that sum. Then accumulated thermal units alone give the state.
func (m *Model) IsThermalTotal() (units.ThermalUnits, bool) {
	switch m.form {
	case formThermalTotal:
		return units.ThermalUnits(m.a), true
	case formInverseRatio:
		u, ok := m.base.IsThermalTotal()
		return u / units.ThermalUnits(m.a), ok
	case formRatio:
		if m.c == 0 {
			u, ok := m.base.IsThermalTotal()
			return u * units.ThermalUnits(m.a), ok
		}
	}
	return 0, false
}

// RatioTo returns k when the model is k times the days of base.
func (m *Model) RatioTo(base *Model) (float64, bool) {
	if m.form == formRatio && m.c == 0 && m.base == base {
		return m.a, true
	}
	if base.form == formInverseRatio && base.base == m {
		return base.a, true
	}
	return 0, false
}

func parseModels(text string) (map[string]*Model, error) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("biology: models.csv: %w", err)
	}
	all := map[string]*Model{}
	params := map[string]map[string]string{}
	for _, r := range rows[1:] {
		m := &Model{ID: r[0], Species: r[1], Event: r[2], Equation: r[3], Low: optionalCelsius(r[5]),
			High: optionalCelsius(r[6]),
			Unit: r[7], Source: r[8], How: r[9], Doubt: r[10], Use: r[11], Note: r[12]}
		p := map[string]string{}
		for _, kv := range strings.Split(r[4], ";") {
			k, v, _ := strings.Cut(strings.TrimSpace(kv), "=")
			p[k] = v
		}
		all[m.ID], params[m.ID] = m, p
	}
	for id, m := range all {
		if err := m.fill(params[id], all); err != nil {
			return nil, fmt.Errorf("biology: models.csv: %s: %w", id, err)
		}
	}
	return all, nil
}

func optionalCelsius(s string) units.Optional[units.Celsius] {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return units.None[units.Celsius]()
	}
	return units.Some(units.Celsius(v))
}

// fill takes the constants from the table's text.
func (m *Model) fill(p map[string]string, all map[string]*Model) error {
	var missing error
	get := func(k string) float64 {
		v, err := strconv.ParseFloat(p[k], 64)
		if err != nil {
			missing = fmt.Errorf("constant %s: %w", k, err)
		}
		return v
	}
	of := func(k string) *Model {
		b := all[p[k]]
		if b == nil {
			missing = fmt.Errorf("base model %s=%q is not in the table", k, p[k])
		}
		return b
	}
	switch m.Equation {
	case "log10 D = log_a + b*log10(T - alpha)":
		m.form, m.a, m.b, m.c = formCrisp, math.Pow(10, -get("log_a")), get("b"), get("alpha")
	case "D = K/(T - T0)":
		m.form, m.a, m.b = formReciprocal, get("K"), get("T0")
	case "D = a/(T + c)^b":
		m.form, m.a, m.b, m.c = formHyperbola, get("a"), get("b"), get("c")
	case "ln D = a + b*T":
		m.form, m.a, m.b = formExponential, get("a"), get("b")
	case "ln D = a + b*T + c*W":
		m.form, m.a, m.b = formExponential, get("a")+get("c")*eggWeightMG, get("b")
	case "ln D = a + b*ln(T + c)":
		m.form, m.a, m.b, m.c = formLogPower, get("a"), get("b"), get("c")
	case "1/D = a + b*T":
		m.form, m.a, m.b = formLinearRate, get("a"), get("b")
	case "D = a*T^b":
		m.form, m.a, m.b = formPower, get("a"), get("b")
	case "degree-days":
		m.form, m.a = formThermalTotal, get("DD")
	case "start=F0; end=F1-s*T": // the days lead to the start of the window
		m.form, m.a = formThermalTotal, get("F0")
	case "D1 = k*D2", "D3 = k*D2":
		m.form, m.a, m.base = formRatio, get("k"), of("D2")
	case "D3 = k*D2 + c":
		m.form, m.a, m.c, m.base = formRatio, get("k"), get("c"), of("D2")
	case "D2 = D3/k":
		m.form, m.a, m.base = formInverseRatio, get("k"), of("D3")
	default:
		return fmt.Errorf("unknown equation %q", m.Equation)
	}
	return missing
}
