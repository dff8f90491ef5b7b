package care

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/url"
	"strings"

	"reddside/internal/calc"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
)

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
func (c careCalc) values(q *form.Query, p *i18n.Printer, f *form.Form) (values map[string]any, cautions []string,
	err error) {
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
			return p.T("care_calc.window", logbook.Args{"P50": careDay(p, v["p50"]), "P10": careDay(p, v["p10"]),
				"P90": careDay(p, v["p90"])})
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
