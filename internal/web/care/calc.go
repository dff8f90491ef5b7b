package care

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/calc"
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
			[]careOutput{{"saturation_mg_l", "mg/L", 2}, {"percent", "%", 1}, {"pressure_kpa", "kPa", 1}},
			"temperature_c=10&pressure_kpa=101.325&measured_mg_l=9"},
		{"ammonia", calc.CalcAmmonia, need("tan_mg_l", "temperature_c", "ph"),
			[]careOutput{{"nh3_mg_l", "mg/L", 4}, {"nh3_n_mg_l", "mg/L", 5}, {"fraction", "", 5}},
			"tan_mg_l=0.5&temperature_c=10&ph=7.4"},
		{"water-change", calc.CalcWaterChange, need("volume_l", "now_mg_l", "new_water_mg_l", "target_mg_l"),
			[]careOutput{{"step_litres", "L", 1}, {"changes", "", 0}, {"litres", "L", 1}, {"fraction", "", 3}},
			"volume_l=189&now_mg_l=1&new_water_mg_l=0&target_mg_l=0.4"},
		{"dechlorination", calc.CalcDechlorination, need("litres", "chlorine_mg_l"),
			[]careOutput{{"sodium_thiosulfate_pentahydrate_g", "g", 3}, {"stock_10_g_per_l_ml", "mL", 1},
				{"sodium_thiosulfate_anhydrous_g", "g", 3}}, "litres=40&chlorine_mg_l=1"},
		{"alkalinity", calc.CalcAlkalinity, need("volume_l", "alkalinity_mg_l"), []careOutput{{"bicarbonate_g", "g", 1},
			{"raise_mg_l", "mg/L", 0}},
			"volume_l=200&alkalinity_mg_l=10"},
		{"warming", calc.CalcWarming, need("volume_l", "ua_w_per_k", "tank_c", "room_c", "limit_c", "heat_w?",
			"hours?"),
			[]careOutput{{"hours_to_limit", "h", 1}, {"temperature_c", "°C", 2}, {"time_constant_h", "h", 1}},
			"volume_l=189&ua_w_per_k=15.645&tank_c=10&room_c=22&limit_c=15&hours=12"},
		{"ice", calc.CalcIce, need("volume_l", "from_c", "to_c", "ice_c?"), []careOutput{{"ice_kg", "kg", 2}},
			"volume_l=189&from_c=14&to_c=10&ice_c=-18"},
		{"tempering", calc.CalcTempering, need("from_c", "to_c", "fraction_per_step", "within_c"),
			[]careOutput{{"steps", "", 0}}, "from_c=14&to_c=8&fraction_per_step=0.2&within_c=1"},
		{"development", calc.CalcDevelopment, need("species", "temperature_c"),
			[]careOutput{{"events.eyed.days", "d", 1}, {"events.hatch.days", "d", 1}, {"events.swim_up.days", "d", 1}},
			"species=atlantic_salmon&temperature_c=6"},
		{"survival", calc.CalcSurvival, need("alive", "total", "level"),
			[]careOutput{{"estimate", "", 4}, {"lower", "", 4}, {"upper", "", 4}}, "alive=81&total=263&level=0.95"},
		{"condition", calc.CalcCondition, need("weight_g", "length_mm"), []careOutput{{"k", "", 3}},
			"weight_g=0.45&length_mm=38"},
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
		part.Links = append(part.Links, ui.CareLink{Href: "/calculators/" + c.ID,
			Label: page.T("care_calc." + c.ID + ".title")})
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
			Links: []ui.CareLink{{Href: "/calculators/" + c.ID + "?asked=yes&" + c.Example,
				Label: p.T("care_calc.try")}}},
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
