package flags

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// listDays is how far back the list of flags and its journal reach, in days;
// flags that are open or that nobody has seen are always in the list.
const listDays = 400

// States that the list of flags is filtered by.
const (
	stateOpen   = "open"
	stateUnseen = "unseen"
	stateAside  = "aside"
	stateEnded  = "ended_unseen"
	// stateUnjudged is over, and nobody has said what was behind it.
	stateUnjudged = "unjudged"
	stateAll      = "all"
)

func flagStates() []string {
	return []string{stateOpen, stateUnseen, stateAside, stateEnded, stateUnjudged, stateAll}
}

// inState reports whether a flag is in a state on the day of its site.
func inState(f *store.PlacedFlag, found assess.Findings, state string, today civil.Date) bool {
	switch state {
	case stateUnseen:
		return f.Open() && f.ToSee()
	case stateAside:
		return f.ShelvedOn(today)
	case stateEnded:
		return assess.Waits(&f.Flag)
	case stateUnjudged:
		return !f.Open() && f.AskFinding() && found[f.ID] == nil
	case stateAll:
		return true
	}
	return f.Open()
}

// flagList lists the flags of the programme, or of the keeper's school.
func (s *Service) flagList(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.DB.PlacedFlags(r.Context(), store.FlagFilter{SiteID: v.Actor.SiteID,
		From: v.Now.AddDate(0, 0, -listDays)})
	if err != nil {
		return err
	}
	told, err := s.DB.Findings(r.Context(), "")
	if err != nil {
		return err
	}
	found := assess.NewestFindings(told)
	spoken, err := s.Assess.Spoken(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	m := FlagList{Page: s.NewPage(r, "flag.list_title", "flags"), State: q.Get("state"), Site: q.Get("site"),
		Kind: q.Get("kind"),
		Rule: q.Get("rule"), Load: v.Actor.Role == logbook.Coordinator, CSV: "/flags.csv"}
	m.Styles = []string{"pieces.css", "board.css", "tank.css", "flags.css"}
	if !slices.Contains(flagStates(), m.State) {
		m.State = stateOpen
	}
	for _, st := range flagStates() {
		m.States = append(m.States, ui.Option{Value: st, Label: v.P.T("flag.state." + st)})
	}
	m.Sites, m.Rules = flagChoices(v.P, all)
	days := assess.ZoneDays{Now: v.Now, Days: map[string]civil.Date{}}
	for i := range all {
		f := &all[i]
		today := days.Today(f.Zone)
		if !inState(f, found, m.State, today) || m.Site != "" && m.Site != string(f.Site) || m.Kind != "" &&
			m.Kind != f.Kind || m.Rule != "" && m.Rule != f.Rule {
			continue
		}
		m.Rows = append(m.Rows, flagRow(v.P, f, found, spoken, today))
	}
	slices.SortStableFunc(m.Rows, func(a, b FlagRow) int { return a.Kind.Order() - b.Kind.Order() })
	m.Total = len(m.Rows)
	m.turn(v.P, q)
	return s.Render(w, r, http.StatusOK, FlagListPage(m))
}

// maxListed bounds the rows of one page.
const maxListed = 300

// turn keeps the rows of the page that is asked for, says which they are and
// leads to the others.
func (m *FlagList) turn(p *i18n.Printer, q url.Values) {
	pages := max(1, (m.Total+maxListed-1)/maxListed)
	asked, err := strconv.Atoi(q.Get("page"))
	if err != nil {
		asked = 1
	}
	page := min(max(asked, 1), pages)
	first, last := (page-1)*maxListed, min(page*maxListed, m.Total)
	m.Rows = m.Rows[first:last]
	if pages == 1 {
		return
	}
	m.Range = p.T("flag.range", logbook.Args{"From": first + 1, "To": last, "Count": m.Total})
	link := func(n int) string {
		if n < 1 || n > pages {
			return ""
		}
		q.Set("page", strconv.Itoa(n))
		return "/flags?" + q.Encode()
	}
	m.Prev, m.Next = link(page-1), link(page+1)
}

func flagRow(p *i18n.Printer, f *store.PlacedFlag, found assess.Findings, spoken assess.Spoken,
	today civil.Date) FlagRow {
	site := logbook.Site{Zone: f.Zone}
	row := FlagRow{ID: string(f.ID), Href: ui.SeasonPath(f.SeasonID, "#flag-") + string(f.ID), Tank: f.TankName,
		Site: f.SiteName,
		Kind: rules.Kind(f.Kind), Text: words.SaidNow(p, spoken, &f.Flag), Lines: words.LifeLines(p, &f.Flag, site,
			today), CanSee: f.ToSee()}
	if !f.Open() {
		row.Lines = append(row.Lines, p.T("flag.cleared", logbook.Args{"At": words.AtSite(p, site, f.ClearedAt)}))
	}
	row.CanFind = f.AskFinding()
	if line, ok := words.FindingLine(found, p, f.ID, site); ok {
		row.Lines = append(row.Lines, line)
	}
	return row
}

// flagChoices lists the schools and rules that flags are of.
func flagChoices(p *i18n.Printer, all []store.PlacedFlag) (sites, named []ui.Option) {
	site, rule := map[logbook.ID]bool{}, map[string]bool{}
	for i := range all {
		f := &all[i]
		if !site[f.Site] {
			site[f.Site] = true
			sites = append(sites, ui.Option{Value: string(f.Site), Label: f.SiteName})
		}
		if !rule[f.Rule] {
			rule[f.Rule] = true
			named = append(named, ui.Option{Value: f.Rule, Label: words.RuleName(p, f.Rule)})
		}
	}
	byLabel := func(a, b ui.Option) int { return logbook.NaturalCompare(a.Label, b.Label) }
	slices.SortFunc(sites, byLabel)
	slices.SortFunc(named, byLabel)
	return sites, named
}

// flagHistoryShow lists every step of the flags of a season, and when its logger
// was outside the range.
func (s *Service) flagHistoryShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	steps, err := s.DB.FlagSteps(r.Context(), v.Actor, season.ID, time.Time{})
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	page := s.NewPage(r, "flag.history_title", "board")
	page.Styles = []string{"pieces.css", "tank.css", "flags.css"}
	m := FlagHistory{Page: page, Back: ui.SeasonPath(season.ID), Tank: season.Tank.Name + ", " + season.Site.Name,
		CSV: ui.SeasonPath(season.ID, "/flags.csv")}
	told, err := s.DB.Findings(r.Context(), season.ID)
	if err != nil {
		return err
	}
	m.Steps = flagStepRows(page.P, withRests(steps, v.Now), told, season.Site)
	out := rules.Excursions(season, a.Today, &a.Forecast, profile)
	m.Excursions = excursionTable(page.P, season.Site, out)
	switch {
	case len(season.Readings) == 0:
		m.NoLogger = page.P.T("flag.excursions_no_logger")
	case len(out) == 0:
		m.NoLogger = page.P.T("flag.excursions_none")
	}
	return s.Render(w, r, http.StatusOK, FlagHistoryPage(m))
}

// flagStepRows lists the steps and what was found, newest first.
func flagStepRows(p *i18n.Printer, steps []store.FlagStep, told []store.FlagFinding, site logbook.Site) []FlagStep {
	said := map[logbook.ID]*store.FlagStep{}
	for i := range steps {
		said[steps[i].FlagID] = &steps[i]
	}
	var out []FlagStep
	finding := func(f *store.FlagFinding) {
		row := FlagStep{When: words.AtSite(p, site, f.At), What: p.T("flag.step.finding"), By: f.By,
			Note: p.T("flag.finding." + string(f.What))}
		if st := said[f.FlagID]; st != nil {
			row.Text, row.Kind = words.SaidThen(p, st.Rule, st.Args), rules.Kind(st.Kind)
		}
		if f.Note != "" {
			row.Note += p.T("care_calc.colon") + f.Note
		}
		out = append(out, row)
	}
	n := len(told) - 1
	for i := len(steps) - 1; i >= 0; i-- {
		for ; n >= 0 && !told[n].At.Before(steps[i].At); n-- {
			finding(&told[n])
		}
		out = append(out, flagStepRow(p, &steps[i], site))
	}
	return out
}

func flagStepRow(p *i18n.Printer, st *store.FlagStep, site logbook.Site) FlagStep {
	row := FlagStep{When: words.AtSite(p, site, st.At), What: p.T("flag.step." + st.Step),
		Text: words.SaidThen(p, st.Rule, st.Args),
		Kind: rules.Kind(st.Kind), By: st.By}
	if st.Step == "set_aside" || st.Step == "aside_goes_on" {
		key := "flag.step_until"
		if st.Once {
			key = "flag.step_once"
		}
		row.Note = p.T(key, logbook.Args{"Until": p.DateShort(st.Until), "Reason": st.Reason})
	}
	if st.Step == "cleared" {
		row.Note = words.EndText(p, st.EndWhy, st.EndIn)
	}
	return row
}

// excursionTable writes when the water was outside, in degree-hours: Celsius
// degrees, whatever unit the reader has, because limits of the trade are.
func excursionTable(p *i18n.Printer, site logbook.Site, all []rules.Excursion) ui.DataTable {
	t := ui.DataTable{Caption: p.T("flag.excursions"), Columns: []ui.DataColumn{{Label: p.T("flag.col.from")},
		{Label: p.T("flag.col.to")},
		{Label: p.T("flag.col.side")}, {Label: p.T("flag.col.limit"), Number: true},
		{Label: p.T("flag.col.extreme"), Number: true},
		{Label: p.T("flag.col.hours"), Number: true}, {Label: p.T("flag.col.degree_hours"), Number: true}}}
	for i := range all {
		e := &all[i]
		when := func(at time.Time, day civil.Date) string {
			if at.IsZero() {
				return p.DateShort(day)
			}
			return words.AtSite(p, site, at)
		}
		side := "flag.too_cold"
		if e.High {
			side = "flag.too_warm"
		}
		t.Rows = append(t.Rows, []string{when(e.From, e.Days[0]), when(e.To, e.Days[1]), p.T(side), p.Temp(e.Limit),
			p.Temp(e.Extreme),
			p.Num(e.Hours, 1), p.Num(e.DegreeHours, 1)})
	}
	return t
}

func (s *Service) flagHistoryCSV(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	steps, err := s.DB.FlagSteps(r.Context(), req.Of(r).Actor, season.ID, time.Time{})
	if err != nil {
		return err
	}
	return req.WriteCSV(w, "flags", season.Label, journal(withRests(steps, req.Of(r).Now)))
}

// flagListCSV is the journal of all flags that the reader may see.
func (s *Service) flagListCSV(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	steps, err := s.DB.FlagSteps(r.Context(), v.Actor, "", v.Now.AddDate(0, 0, -listDays))
	if err != nil {
		return err
	}
	return req.WriteCSV(w, "flags", v.Programme.Name, journal(withRests(steps, v.Now)))
}

// journal is every step as rows of a CSV file, instants in UTC.
func journal(steps []store.FlagStep) [][]string {
	rows := [][]string{{"at", "step", "flag_id", "season_id", "rule", "subject", "kind", "role", "by",
		"set_aside_until", "until_it_clears", "reason", "end_why", "end_in"}}
	for i := range steps {
		st := &steps[i]
		until, once := "", ""
		if !st.Until.IsZero() {
			until, once = st.Until.String(), "no"
			if st.Once {
				once = "yes"
			}
		}
		role := string(st.Role)
		if st.By == assess.Program.Label {
			role = "program"
		}
		rows = append(rows, []string{st.At.UTC().Format(time.RFC3339), st.Step, string(st.FlagID), string(st.SeasonID),
			st.Rule, st.Subject,
			st.Kind, role, st.By, until, once, st.Reason, st.EndWhy, st.EndIn})
	}
	return rows
}
