package api

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

// flagChangeOut is a flag that was raised, changed or cleared by a write.
type flagChangeOut struct {
	Op      store.FlagOp `json:"op"`
	Rule    string       `json:"rule"`
	Name    string       `json:"name"`
	Subject string       `json:"subject"`
	Kind    string       `json:"kind"`
	On      civil.Date   `json:"on"`
}

func flagChangesJSON(r *http.Request, changes []store.FlagChange) []flagChangeOut {
	names := map[string]rules.Message{}
	for _, rule := range rules.All() {
		names[rule.ID] = rule.Name
	}
	out := []flagChangeOut{}
	for _, c := range changes {
		n := names[c.Rule]
		out = append(out, flagChangeOut{Op: c.Op, Rule: c.Rule, Name: req.Of(r).P.T(n.Key, n.Args), Subject: c.Subject,
			Kind: c.Kind, On: c.On})
	}
	return out
}

// warningOut is something to know about a stored check.
type warningOut struct {
	Field   string `json:"field"`
	Message string `json:"message"`
}

func checkAnswer(r *http.Request, saved store.Saved[logbook.Check], season *logbook.Season) any {
	p, c := req.Of(r).P, &saved.Row
	warnings := []warningOut{}
	for _, f := range c.Confirmed {
		warnings = append(warnings, warningOut{Field: jsonName(logbook.CheckFields(), f),
			Message: p.T("api.warning.confirmed")})
	}
	if c.Late(season.Site.Location()) {
		warnings = append(warnings, warningOut{Field: "on", Message: p.T("api.warning.late")})
	}
	return object{"check": checkJSON(c), "flags": flagChangesJSON(r, saved.Changes), "warnings": warnings}
}

// createdStatus is 201, also when a key is sent again; 200 says that an equal
// entry was there before.
func createdStatus(key string, repeated bool) int {
	if repeated && key == "" {
		return http.StatusOK
	}
	return http.StatusCreated
}

// checkOf loads the check of the address with its season.
func (s *Service) checkOf(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	c, err := s.DB.Check(r.Context(), req.URLID(r, "checkID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, c.SeasonID, "check")
	return &c, season, err
}
