package care

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// careCalc is one calculation on the page of calculators. It is the same
// calculator as that of the JSON interface.
type careCalc struct {
	ID      string
	run     calc.Calculator
	In      []careInput
	out     []careOutput
	Example string // inputs of a row of the reference values, as a query
}

type careInput struct {
	Name     string
	Optional bool
}

// careOutput is a number of the answer: its path, unit and decimals (-1: three
// significant digits).
type careOutput struct {
	path, unit string
	decimals   int
}

// CareCalcs lists the calculators in the order of the page.
func CareCalcs() []careCalc {
	need := careInputs
	return append([]careCalc{
		{"oxygen", calc.CalcOxygen, need("temperature_c", "pressure_kpa?", "altitude_m?", "measured_mg_l?"),
			[]careOutput{{"saturation_mg_l", "mg/L", 2}, {"percent", "%", 1}, {"pressure_kpa", "kPa", 1}}, "temperature_c=10&pressure_kpa=101.325&measured_mg_l=9"},
		{"ammonia", calc.CalcAmmonia, need("tan_mg_l", "temperature_c", "ph"),
			[]careOutput{{"nh3_mg_l", "mg/L", 4}, {"nh3_n_mg_l", "mg/L", 5}, {"fraction", "", 5}}, "tan_mg_l=0.5&temperature_c=10&ph=7.4"},
		{"water-change", calc.CalcWaterChange, need("volume_l", "now_mg_l", "new_water_mg_l", "target_mg_l"),
			[]careOutput{{"step_litres", "L", 1}, {"changes", "", 0}, {"litres", "L", 1}, {"fraction", "", 3}}, "volume_l=189&now_mg_l=1&new_water_mg_l=0&target_mg_l=0.4"},
		{"dechlorination", calc.CalcDechlorination, need("litres", "chlorine_mg_l"),
			[]careOutput{{"sodium_thiosulfate_pentahydrate_g", "g", 3}, {"stock_10_g_per_l_ml", "mL", 1}, {"sodium_thiosulfate_anhydrous_g", "g", 3}}, "litres=40&chlorine_mg_l=1"},
		{"alkalinity", calc.CalcAlkalinity, need("volume_l", "alkalinity_mg_l"), []careOutput{{"bicarbonate_g", "g", 1}, {"raise_mg_l", "mg/L", 0}},
			"volume_l=200&alkalinity_mg_l=10"},
		{"warming", calc.CalcWarming, need("volume_l", "ua_w_per_k", "tank_c", "room_c", "limit_c", "heat_w?", "hours?"),
			[]careOutput{{"hours_to_limit", "h", 1}, {"temperature_c", "°C", 2}, {"time_constant_h", "h", 1}},
			"volume_l=189&ua_w_per_k=15.645&tank_c=10&room_c=22&limit_c=15&hours=12"},
		{"ice", calc.CalcIce, need("volume_l", "from_c", "to_c", "ice_c?"), []careOutput{{"ice_kg", "kg", 2}}, "volume_l=189&from_c=14&to_c=10&ice_c=-18"},
		{"tempering", calc.CalcTempering, need("from_c", "to_c", "fraction_per_step", "within_c"), []careOutput{{"steps", "", 0}}, "from_c=14&to_c=8&fraction_per_step=0.2&within_c=1"},
		{"development", calc.CalcDevelopment, need("species", "temperature_c"),
			[]careOutput{{"events.eyed.days", "d", 1}, {"events.hatch.days", "d", 1}, {"events.swim_up.days", "d", 1}}, "species=atlantic_salmon&temperature_c=6"},
		{"survival", calc.CalcSurvival, need("alive", "total", "level"),
			[]careOutput{{"estimate", "", 4}, {"lower", "", 4}, {"upper", "", 4}}, "alive=81&total=263&level=0.95"},
		{"condition", calc.CalcCondition, need("weight_g", "length_mm"), []careOutput{{"k", "", 3}}, "weight_g=0.45&length_mm=38"},
	}, careSeasonCalcs()...)
}

// careInputs names inputs; one with a question mark may be left out.
func careInputs(names ...string) []careInput {
	var out []careInput
	for _, n := range names {
		name, optional := strings.CutSuffix(n, "?")
		out = append(out, careInput{name, optional})
	}
	return out
}

// careKind is how an input is asked and read.
func careKind(name string) string {
	switch name {
	case "species", "stage":
		return "choice"
	case "start_on", "on", "swim_up_by":
		return "date"
	case "history":
		return "words"
	}
	return "number"
}

// calculatorRoutes are the calculators, for everybody.
func (s *Service) calculatorRoutes(r chi.Router) {
	r.Get("/calculators", s.Page(s.calculatorList))
	r.With(s.OneByOne).Get("/calculators/{calc}", s.Page(s.calculatorShow))
}

func (s *Service) calculatorList(w http.ResponseWriter, r *http.Request) error {
	page := s.NewPage(r, "care_calc.title", "calculators")
	page.Styles = []string{"care.css"}
	part := ui.CarePart{ID: "list", Title: page.T("care_calc.which"), Lines: []string{page.T("care_calc.intro")}}
	for _, c := range CareCalcs() {
		part.Links = append(part.Links, ui.CareLink{Href: "/calculators/" + c.ID, Label: page.T("care_calc." + c.ID + ".title")})
	}
	return s.Render(w, r, http.StatusOK, ui.CarePageView(ui.CarePage{Page: page, Parts: []ui.CarePart{part}}))
}

// calculatorShow is one calculation: its answer when it was asked, its form, its
// formula with source and range, and a worked example.
func (s *Service) calculatorShow(w http.ResponseWriter, r *http.Request) error {
	c, ok := CareCalcOf(chi.URLParam(r, "calc"))
	if !ok {
		return logbook.Missing("page")
	}
	page := s.NewPage(r, "care_calc."+c.ID+".title", "calculators")
	page.Styles = []string{"care.css"}
	p := page.P.In(units.Cel) // the inputs are in °C, and so are ranges
	m := ui.CarePage{Page: page, Links: []ui.CareLink{{Href: "/calculators", Label: p.T("care_calc.all")}}}
	f, asked := careAsked(r)
	status := http.StatusOK
	if asked {
		answer, err := c.ask(p, f)
		if err != nil {
			return err
		}
		m.Answer = answer
		m.Problems = form.ShowProblems(p, f.Problems, func(field string) string { return p.T("care_calc.in." + field) })
		if m.Error = len(m.Problems) > 0; m.Error {
			status, m.Answer = http.StatusUnprocessableEntity, nil
		}
	}
	example, err := c.worked(p)
	if err != nil {
		return err
	}
	m.Parts = []ui.CarePart{
		{ID: "ask", Title: p.T("care_calc.ask"), Form: s.calculatorForm(p, c, f, m.Problems)},
		{ID: "how", Title: p.T("care_calc.how"), Lines: []string{p.T("care_calc." + c.ID + ".formula")},
			Facts: []ui.Fact{{Label: p.T("care_calc.range"), Value: p.T("care_calc." + c.ID + ".range")},
				{Label: p.T("care_calc.source"), Value: p.T("care_calc." + c.ID + ".source")}}},
		{ID: "example", Title: p.T("care_calc.example"), Facts: example,
			Links: []ui.CareLink{{Href: "/calculators/" + c.ID + "?asked=yes&" + c.Example, Label: p.T("care_calc.try")}}},
	}
	return s.Render(w, r, status, ui.CarePageView(m))
}

func CareCalcOf(id string) (careCalc, bool) {
	for _, c := range CareCalcs() {
		if c.ID == id {
			return c, true
		}
	}
	return careCalc{}, false
}

func (s *Service) calculatorForm(p *i18n.Printer, c careCalc, f *form.Form, problems ui.Problems) *ui.CareForm {
	b := form.FormItems(s.Cat, p, "care_calc.in")
	for _, in := range c.In {
		switch careKind(in.Name) {
		case "choice":
			b.Pick(in.Name, f.Raw(in.Name), careOptions(p, in.Name))
		case "date":
			b.Date(in.Name, f.Raw(in.Name), in.Optional)
		case "words":
			b.OptionalText(in.Name, f.Raw(in.Name))
		default:
			b.Number(in.Name, f.Raw(in.Name), "decimal", in.Optional)
		}
	}
	return &ui.CareForm{Method: "get", Action: "/calculators/" + c.ID, Submit: p.T("care_calc.submit"),
		Hidden: []ui.Option{{Value: "asked", Label: "yes"}}, Items: b.List, Problems: problems}
}

func careOptions(p *i18n.Printer, name string) []ui.Option {
	if name == "species" {
		return words.KeyedOptions(p, logbook.AllSpecies())
	}
	var out []ui.Option
	for _, x := range careDeadStages {
		out = append(out, ui.Option{Value: x, Label: p.T("care_calc.stage." + x)})
	}
	return out
}

// query turns what was typed, with either decimal mark, into the parameters of
// the JSON interface. Blank fields are not sent.
func (c careCalc) query(f *form.Form) *form.Query {
	q := &form.Query{Values: url.Values{}}
	for _, in := range c.In {
		text, kind := f.Text(in.Name), careKind(in.Name)
		switch {
		case kind == "choice" && text == "":
			f.Fail(in.Name, "choice.empty", nil)
		case kind == "date" && text == "":
			f.Fail(in.Name, "date.empty", nil)
		case kind != "number" && text != "":
			q.Values.Set(in.Name, text)
		case text == "" && !in.Optional:
			f.Fail(in.Name, "number.not", nil)
		case text != "":
			if v, key := logbook.ParseDecimal(text); key != "" {
				f.Fail(in.Name, key, nil)
			} else {
				q.Values.Set(in.Name, strconv.FormatFloat(v, 'f', -1, 64))
			}
		}
	}
	return q
}

// ask computes what was typed. Problems are left in the form.
func (c careCalc) ask(p *i18n.Printer, f *form.Form) (*ui.CareAnswer, error) {
	q := c.query(f)
	if len(f.Problems) > 0 {
		return nil, nil
	}
	values, cautions, err := c.values(q, p, f)
	if err != nil || len(f.Problems) > 0 {
		return nil, err
	}
	a := &ui.CareAnswer{Cautions: cautions}
	a.Headline, _ = values["headline"].(string)
	for _, fact := range c.facts(p, values) {
		line := fact.Label + p.T("care_calc.colon") + fact.Value
		if a.Headline == "" {
			a.Headline = line
			continue
		}
		a.Lines = append(a.Lines, line)
	}
	return a, nil
}

// values runs the calculator and reads its answer as the JSON interface gives it.
func (c careCalc) values(q *form.Query, p *i18n.Printer, f *form.Form) (values map[string]any, cautions []string, err error) {
	answer, fields, err := c.run(q, p)
	if err != nil {
		var refused *logbook.Error
		if !errors.As(calc.OutOfRange(err, fields, p), &refused) || len(refused.Problems) == 0 {
			return nil, nil, err
		}
		for _, x := range refused.Problems {
			switch x.Key { // on a page the inputs have names in words
			case "calc.pressure_or_altitude", "calc.temperature_or_percent":
				x.Key = "care_" + x.Key
			}
			f.Add([]logbook.Problem{x})
		}
		return nil, nil, nil
	}
	b, err := json.Marshal(answer)
	if err != nil {
		return nil, nil, fmt.Errorf("calculator %s: %w", c.ID, err)
	}
	if err := json.Unmarshal(b, &values); err != nil {
		return nil, nil, fmt.Errorf("calculator %s: %w", c.ID, err)
	}
	list, _ := values["cautions"].([]any)
	for _, x := range list {
		if text, ok := x.(string); ok {
			cautions = append(cautions, text)
		}
	}
	return values, cautions, nil
}

func (c careCalc) facts(p *i18n.Printer, values map[string]any) []ui.Fact {
	var out []ui.Fact
	for _, o := range c.out {
		if value := o.value(p, careAt(values, o.path)); value != "" {
			out = append(out, ui.Fact{Label: p.T("care_calc.out." + o.path), Value: value})
		}
	}
	if list, ok := values["steps"].([]any); ok && len(list) > 0 {
		out = append(out, ui.Fact{Label: p.T("care_calc.out.setpoint_steps"), Value: careSteps(p, list)})
	}
	if list, ok := values["temperatures_c"].([]any); ok {
		var each []string
		for _, x := range list {
			if v, ok := x.(float64); ok {
				each = append(each, p.Num(v, 2))
			}
		}
		out = append(out, ui.Fact{Label: p.T("care_calc.out.temperatures_c"), Value: strings.Join(each, "; ")})
	}
	return out
}

// value writes one part of an answer; "" when it was not asked.
func (o careOutput) value(p *i18n.Printer, v any) string {
	switch v := v.(type) {
	case float64:
		text := p.Num(v, o.decimals)
		switch o.unit {
		case "":
		case "d":
			text += "\u00a0" + p.T("care_calc.day_unit")
		default:
			text += "\u00a0" + o.unit
		}
		return text
	case string:
		return careDay(p, v)
	case map[string]any:
		if v["p50"] != nil {
			return p.T("care_calc.window", logbook.Args{"P50": careDay(p, v["p50"]), "P10": careDay(p, v["p10"]), "P90": careDay(p, v["p90"])})
		}
		return map[bool]string{true: p.T("care_calc.no_window")}[o.path == "events.swim_up"]
	}
	switch o.path {
	case "percent", "temperature_c", "particle_low_mm", "particle_high_mm":
		return ""
	}
	return p.T("care_calc.none")
}

// careDay writes a day of an answer.
func careDay(p *i18n.Printer, v any) string {
	text, _ := v.(string)
	d, err := civil.Parse(text)
	if err != nil {
		return p.T("care_calc.none")
	}
	return p.Date(d)
}

// careSteps writes the setpoints to set, each with its day.
func careSteps(p *i18n.Printer, list []any) string {
	var each []string
	for _, x := range list {
		if m, ok := x.(map[string]any); ok {
			c, _ := m["setpoint_c"].(float64)
			each = append(each, careDay(p, m["on"])+p.T("care_calc.colon")+p.Num(c, 1)+"\u00a0°C")
		}
	}
	return strings.Join(each, "; ")
}

func careAt(values map[string]any, path string) any {
	var at any = values
	for _, step := range strings.Split(path, ".") {
		m, ok := at.(map[string]any)
		if !ok {
			return nil
		}
		at = m[step]
	}
	return at
}

// worked is the worked example: what goes in, and what comes out.
func (c careCalc) worked(p *i18n.Printer) ([]ui.Fact, error) {
	q, err := url.ParseQuery(c.Example)
	if err != nil {
		return nil, fmt.Errorf("calculator %s: %w", c.ID, err)
	}
	var out []ui.Fact
	for _, in := range c.In {
		v := q.Get(in.Name)
		if v == "" {
			continue
		}
		switch careKind(in.Name) {
		case "choice":
			for _, o := range careOptions(p, in.Name) {
				if o.Value == v {
					v = o.Label
				}
			}
		case "date":
			v = careDay(p, v)
		case "number":
			n, _ := form.ParsePlain(v)
			v = p.Sig(n)
		}
		out = append(out, ui.Fact{Label: p.T("care_calc.in." + in.Name), Value: v})
	}
	f := form.NewForm()
	values, _, err := c.values(&form.Query{Values: q}, p, f)
	if err != nil || len(f.Problems) > 0 {
		return nil, fmt.Errorf("calculator %s: its example is refused: %v %w", c.ID, f.Problems, err)
	}
	return append(out, c.facts(p, values)...), nil
}
