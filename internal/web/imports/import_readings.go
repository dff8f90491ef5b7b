package imports

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Bounds of what a page shows of a file.
const (
	shownLines   = 50
	shownColumns = 10
)

// renderPreview shows how a file is understood with the answers so far.
func (s *Service) renderPreview(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, u *Upload,
	answers ingest.Answers, problems []logbook.Problem) error {
	p, err := ingest.Detect(u.Data, answers)
	if fp := fileProblem(err); fp != nil {
		return s.renderImport(w, r, http.StatusUnprocessableEntity, season,
			[]logbook.Problem{{Field: "file", Key: fp.Key, Args: fp.Args}})
	}
	if err != nil {
		return err
	}
	m := ImportPreview{ImportHead: s.importHead(r, "import.preview.title", season),
		File: fileLabel(req.Of(r).P, u.Name)}
	m.Action = m.BackHref + "/" + u.ID
	m.Error = len(problems) > 0
	var res ingest.Result
	var readErr error
	if offersTemperature(p) && p.Ready() {
		res, readErr = ingest.Read(u.Data, answers, season.Site.Location())
		p.Questions = append(p.Questions, res.Questions...)
	}
	shown := url.Values{}
	for _, q := range importQuestions(m.P, p, answers, season) {
		if q.Value != "" {
			shown.Set(q.Name, q.Value)
		}
		if q.asked {
			m.Asked = append(m.Asked, q.ImportQuestion)
		} else {
			m.Found = append(m.Found, q.ImportQuestion)
		}
	}
	m.Shown = shown.Encode()
	m.Problems = form.ShowProblems(m.P, problems, func(field string) string { return questionText(m.P, p, field) })
	sampleTable(&m, p)
	switch {
	case !offersTemperature(p):
		m.Block = m.T("import.no_temperature")
	case p.Ready():
		if fp := fileProblem(readErr); fp != nil {
			m.Block = m.T(fp.Key, fp.Args)
		} else if readErr != nil {
			return readErr
		} else if err := s.previewReadings(&m, r, season, res); err != nil {
			return err
		}
	}
	dialect, chosen := openDialect(p)
	m.Facts = dialectFacts(m.P, dialect, chosen.Label(), chosen.Unit)
	return s.Render(w, r, status, ImportPreviewView(m))
}

// previewReadings fills what would be stored.
func (s *Service) previewReadings(m *ImportPreview, r *http.Request, season *logbook.Season, res ingest.Result) error {
	if res.Series.Quantity != ingest.Temperature {
		m.Block = m.T("import.not_temperature", map[string]any{"Name": res.Series.Label()})
		return nil
	}
	plan := entries.PlanReadings(season, res, s.todayOf(r, season))
	m.Counts = planFacts(m.P, season, res, plan)
	m.Refused = refusedList(m.P, plan.Refused)
	if len(plan.Refused) > 0 {
		m.Refused.CSV = m.Action + "/refused.csv?" + m.Shown
	}
	for _, x := range plan.Marked[:min(len(plan.Marked), shownLines)] {
		m.Suspect.Rows = append(m.Suspect.Rows, ImportRow{Line: m.P.Count(x.Line), Text: m.T(x.Reason), Raw: x.Entered})
	}
	if more := len(plan.Marked) - shownLines; more > 0 {
		m.Suspect.More = m.T("import.more_lines", map[string]any{"Count": more})
	}
	if len(plan.Keep) == 0 {
		m.Block = m.T("import.nothing_to_store")
		return nil
	}
	asked, err := s.Entries.ReadingDoubts(r.Context(), season, plan)
	for _, x := range asked {
		m.Doubts = append(m.Doubts, m.T(x.Key, x.Args))
	}
	m.Store = m.T("import.store", map[string]any{"Count": len(plan.Keep)})
	return err
}

func sampleTable(m *ImportPreview, p ingest.Preview) {
	n := min(len(p.Columns), shownColumns)
	cut := func(text string) string {
		if r := []rune(text); len(r) > 60 {
			return string(r[:60]) + "…"
		}
		return text
	}
	for i, c := range p.Columns[:n] {
		if c == "" {
			c = "#" + strconv.Itoa(i+1)
		}
		m.Columns = append(m.Columns, cut(c))
	}
	for _, row := range p.Sample {
		cells := make([]string, n)
		for i := range cells {
			if i < len(row) {
				cells[i] = cut(row[i])
			}
		}
		m.Sample = append(m.Sample, cells)
	}
	if more := len(p.Columns) - n; more > 0 {
		m.Hidden = m.T("import.more_columns", map[string]any{"Count": more})
	}
}

// storeReadings stores what the page showed, and nothing else.
func (s *Service) storeReadings(w http.ResponseWriter, r *http.Request, season *logbook.Season, u *Upload,
	f *form.Form) error {
	v := req.Of(r)
	answers := entries.ImportAnswers(f.Text)
	p, err := ingest.Detect(u.Data, answers)
	if err != nil && fileProblem(err) == nil {
		return err
	}
	var open []logbook.Problem
	for _, q := range p.Questions {
		if q.Required {
			open = append(open, logbook.Problem{Field: q.ID, Key: "import.answer_needed"})
		}
	}
	if err != nil || len(open) > 0 {
		return s.renderPreview(w, r, http.StatusUnprocessableEntity, season, u, answers, open)
	}
	given := url.Values{}
	for _, name := range entries.ImportAnswerNames() {
		if x := f.Text(name); x != "" {
			given.Set(name, x)
		}
	}
	if f.Text("do") != "store" || f.Raw("shown") != given.Encode() {
		http.Redirect(w, r, r.URL.Path+"?"+given.Encode(), http.StatusSeeOther)
		return nil
	}
	res, err := ingest.Read(u.Data, answers, season.Site.Location())
	var qe *ingest.QuestionsError
	if fileProblem(err) != nil || errors.As(err, &qe) || res.Series.Quantity != ingest.Temperature && err == nil {
		return s.renderPreview(w, r, http.StatusUnprocessableEntity, season, u, answers, nil)
	}
	if err != nil {
		return err
	}
	plan := entries.PlanReadings(season, res, s.todayOf(r, season))
	if len(plan.Keep) == 0 {
		return s.renderPreview(w, r, http.StatusUnprocessableEntity, season, u, answers, nil)
	}
	im, err := s.Entries.StoreReadings(r.Context(), v.Actor, season, u.Name, res, answers, plan, v.Now,
		func(string) bool { return f.Text("confirm") == "yes" })
	var e *logbook.Error
	if errors.As(err, &e) && len(e.Problems) > 0 {
		return s.renderPreview(w, r, http.StatusUnprocessableEntity, season, u, answers,
			[]logbook.Problem{{Field: "confirm", Key: "import.doubt.look"}})
	}
	if err != nil {
		return err
	}
	to := ui.SeasonPath(season.ID, "/imports/") + string(im.ID)
	if im.ID == "" {
		to = ui.SeasonPath(season.ID, "/import")
		key := "import.again"
		if im.Other > 0 {
			key = "import.again_other"
		}
		s.SetNotice(r, v.P.T(key, logbook.Args{"Count": im.Known + im.Other, "Other": im.Other}))
	} else {
		s.SetNotice(r, v.P.T("import.stored", logbook.Args{"Count": im.Added}))
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// importRefusedNow gives the rows that a waiting file would not store.
func (s *Service) importRefusedNow(w http.ResponseWriter, r *http.Request) error {
	season, u, err := s.uploadOf(w, r)
	if err != nil || u == nil {
		return err
	}
	res, err := ingest.Read(u.Data, entries.ImportAnswers(r.URL.Query().Get), season.Site.Location())
	var qe *ingest.QuestionsError
	if fileProblem(err) != nil || errors.As(err, &qe) || u.Kind != uploadReadings {
		return logbook.Missing("table")
	}
	if err != nil {
		return err
	}
	plan := entries.PlanReadings(season, res, s.todayOf(r, season))
	return req.WriteCSV(w, "refused", u.Name, refusedRecords(s.InSite(req.Of(r), season.Site), plan.Refused))
}

// importOf finds a stored import of a season that the actor may see.
func (s *Service) importOf(r *http.Request) (*logbook.Season, store.Import, error) {
	season, err := s.SeasonOf(r)
	if err != nil {
		return nil, store.Import{}, err
	}
	list, err := s.DB.Imports(r.Context(), season.ID)
	if err != nil {
		return nil, store.Import{}, err
	}
	i := slices.IndexFunc(list, func(im store.Import) bool { return string(im.ID) == chi.URLParam(r, "importID") })
	if i < 0 {
		return nil, store.Import{}, logbook.Missing("import")
	}
	im := list[i]
	for k := range im.Refused {
		im.Refused[k] = entries.ReadBack(im.Refused[k])
	}
	return season, im, nil
}

// importResult shows what became of a file.
func (s *Service) importResult(w http.ResponseWriter, r *http.Request) error {
	season, im, err := s.importOf(r)
	if err != nil {
		return err
	}
	return s.renderResult(w, r, http.StatusOK, season, im, "", nil)
}

// importVoid takes a stored file back.
func (s *Service) importVoid(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, im, err := s.importOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	reason := f.Text("reason")
	_, err = s.Entries.VoidImport(r.Context(), v.Actor, season, im.ID, reason, v.Now)
	var e *logbook.Error
	if errors.As(err, &e) && len(e.Problems) > 0 {
		return s.renderResult(w, r, http.StatusUnprocessableEntity, season, im, reason, e.Problems)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("import.void.done", logbook.Args{"File": fileLabel(v.P, im.FileName)}))
	http.Redirect(w, r, ui.SeasonPath(season.ID, "/import"), http.StatusSeeOther)
	return nil
}

func (s *Service) renderResult(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	im store.Import,
	reason string, problems []logbook.Problem) error {
	title := "import.result.title"
	if im.Voided != nil {
		title = "import.result.voided"
	}
	m := ImportResult{ImportHead: s.importHead(r, title, season), Reason: reason}
	m.Error = len(problems) > 0
	m.Problems = form.ShowProblems(m.P, problems, func(string) string { return m.T("import.void.reason") })
	if x := im.Voided; x != nil {
		m.Voided = m.T("import.void.said",
			logbook.Args{"By": words.ByRole(m.P, logbook.Entry{By: x.By, ByLabel: x.ByLabel}),
				"At": longWhen(m.P, season, x.At), "Reason": x.Reason})
	} else {
		m.VoidAction = m.TankHref + ui.ImportPath(im.ID, "/void")
	}
	m.Counts = []ui.Fact{
		{Label: m.T("import.fact.file"), Value: fileLabel(m.P, im.FileName)},
		{Label: m.T("import.fact.stored_at"), Value: longWhen(m.P, season, im.ReceivedAt)},
		{Label: m.T("import.fact.added"), Value: m.P.Count(im.Added)},
		{Label: m.T("import.fact.known"), Value: m.P.Count(im.Known)},
	}
	if im.Other > 0 {
		m.Counts = append(m.Counts, ui.Fact{Label: m.T("import.fact.other"), Value: m.P.Count(im.Other)})
	}
	m.Counts = append(m.Counts, ui.Fact{Label: m.T("import.fact.refused"), Value: m.P.Count(RefusedRows(im.Refused))})
	d := storedDialect(im)
	m.Facts = dialectFacts(m.P, d.Dialect, d.Series, d.Unit)
	m.Refused = refusedList(m.P, im.Refused)
	if len(im.Refused) > 0 {
		m.Refused.CSV = m.TankHref + ui.ImportPath(im.ID, "/refused.csv")
	}
	return s.Render(w, r, status, ImportResultView(m))
}

func (s *Service) importRefused(w http.ResponseWriter, r *http.Request) error {
	season, im, err := s.importOf(r)
	if err != nil {
		return err
	}
	return req.WriteCSV(w, "refused", im.FileName, refusedRecords(s.InSite(req.Of(r), season.Site), im.Refused))
}
