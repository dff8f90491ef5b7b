package browser

import "reddside/internal/logbook"

// place is a main page of the demonstration.
type place struct {
	name, path string
	charts     bool
}

// places are the main pages, as a coordinator sees them.
func places(s *site) []place {
	hatching, sick, logged := s.season("Room 12", true), s.season("Wet lab", true), s.season("Atelier", true)
	closed, corrected := s.season("Greenhouse", false), s.season("Room 21", true)
	var check logbook.ID
	for i := range corrected.Checks {
		if corrected.Checks[i].Revision > 1 {
			check = corrected.Checks[i].ID
		}
	}
	if check == "" {
		s.t.Fatal("the demonstration has no corrected check in Room 21")
	}
	id := func(x logbook.ID) string { return string(x) }
	return []place{
		{name: "board", path: "/board"},
		{name: "tank", path: seasonPath(hatching, ""), charts: true},
		{name: "tank-charts", path: seasonPath(hatching, "/charts"), charts: true},
		{name: "tank-log", path: seasonPath(hatching, "/log")},
		{name: "tank-facts", path: seasonPath(hatching, "/facts")},
		{name: "tank-deaths", path: seasonPath(sick, ""), charts: true},
		{name: "tank-logger", path: seasonPath(logged, ""), charts: true},
		{name: "tank-closed", path: seasonPath(closed, ""), charts: true},
		{name: "check-form", path: seasonPath(hatching, "/checks/new")},
		{name: "check", path: "/checks/" + id(check)},
		{name: "check-correct", path: "/checks/" + id(check) + "/correct"},
		{name: "check-void", path: "/checks/" + id(check) + "/void"},
		{name: "event-form", path: seasonPath(hatching, "/events/new")},
		{name: "import", path: seasonPath(logged, "/import")},
		{name: "delivery-form", path: seasonPath(hatching, "/deliveries/new")},
		{name: "schools", path: "/sites"},
		{name: "school-edit", path: "/sites/" + id(hatching.Site.ID) + "/edit"},
		{name: "closed-days-new", path: "/sites/" + id(hatching.Site.ID) + "/closed-days/new"},
		{name: "school-new", path: "/sites/new"},
		{name: "school", path: "/sites/" + id(hatching.Site.ID)},
		{name: "tablets", path: "/sites/" + id(hatching.Site.ID) + "/tablets"},
		{name: "today", path: "/today"},
		{name: "pair", path: "/pair"},
		{name: "tank-new", path: "/sites/" + id(hatching.Site.ID) + "/tanks/new"},
		{name: "tank-edit", path: "/tanks/" + id(hatching.Tank.ID) + "/edit"},
		{name: "lots", path: "/lots"},
		{name: "lot-new", path: "/lots/new"},
		{name: "lot-edit", path: "/lots/" + id(hatching.Lot.ID) + "/edit"},
		{name: "people", path: "/people"},
		{name: "computer", path: "/computer"},
		{name: "help", path: "/help"},
		{name: "rules", path: "/rules"},
		{name: "thresholds", path: "/rules/thresholds"},
		{name: "recalibration", path: "/rules/recalibration"},
		{name: "flags", path: "/flags"},
		{name: "flag-load", path: "/flags/load"},
		{name: "forecast", path: seasonPath(hatching, "/forecast")},
		{name: "guess", path: seasonPath(hatching, "/guess")},
		{name: "plan", path: seasonPath(hatching, "/plan")},
		{name: "release", path: seasonPath(hatching, "/release")},
		{name: "release-permit", path: seasonPath(hatching, "/release?step=permit")},
		{name: "release-finish", path: seasonPath(hatching, "/release?step=finish")},
		{name: "release-correct", path: "/releases/" + id(closed.Releases[0].ID) + "/correct"},
		{name: "photos", path: seasonPath(hatching, "/photos")},
		{name: "families", path: seasonPath(hatching, "/families")},
		{name: "copies", path: "/copies"},
		{name: "releases", path: "/releases"},
		{name: "permits", path: "/permits"},
		{name: "before-eggs", path: "/tanks/" + id(hatching.Tank.ID) + "/before-eggs"},
		{name: "delivery-day", path: "/tanks/" + id(hatching.Tank.ID) + "/delivery-day"},
		{name: "season-report", path: seasonPath(closed, "/report")},
		{name: "school-report", path: "/sites/" + id(hatching.Site.ID) + "/report"},
		{name: "programme-report", path: "/report"},
		{name: "calculators", path: "/calculators"},
		{name: "failure", path: seasonPath(hatching, "/failure")},
		{name: "failure-which-tank", path: "/failure"},
		{name: "calculator", path: "/calculators/ammonia"},
		{name: "water", path: seasonPath(hatching, "/water")},
		{name: "food", path: seasonPath(hatching, "/food")},
		{name: "sample-new", path: seasonPath(hatching, "/samples/new")},
		{name: "kit", path: "/sites/" + id(hatching.Site.ID) + "/kit"},
		{name: "water-limits", path: "/rules/water-limits"},
		{name: "survival", path: seasonPath(closed, "/survival")},
		{name: "forecast-how", path: seasonPath(hatching, "/forecast/how")},
		{name: "flag-history", path: seasonPath(sick, "/flags")},
		{name: "comparison", path: "/comparison"},
		{name: "replay", path: "/replay?run=yes&seasons=closed"},
		{name: "school-calendar", path: "/sites/" + id(hatching.Site.ID) + "/calendar"},
		{name: "morning", path: "/sites/" + id(hatching.Site.ID) + "/morning"},
		{name: "round", path: "/sites/" + id(hatching.Site.ID) + "/round"},
		{name: "board-in-groups", path: "/board?group=lot"},
		{name: "board-views", path: "/board/views?group=lot"},
		{name: "programme-calendar", path: "/programme/calendar"},
		{name: "new-year", path: "/programme/new-year"},
		{name: "threshold", path: "/rules/thresholds/dead_min"},
		{name: "person-new", path: "/people/new"},
		{name: "season-edit", path: seasonPath(hatching, "/edit")},
	}
}

// visit opens a page and waits until its charts are drawn.
func (b *tab) visit(p place) {
	b.t.Helper()
	b.open(p.path)
	if p.charts && !b.drawn() {
		b.t.Errorf("%s: the charts are not drawn", p.name)
	}
}

// drawn waits until every chart of the page holds a drawing.
func (b *tab) drawn() bool {
	b.t.Helper()
	return eval[bool](b, `new Promise(function (done) {
		var end = Date.now() + 20000;
		(function look() {
			var all = document.querySelectorAll("[data-chart]");
			var ready = Array.prototype.every.call(all, function (x) { return x.querySelector("svg path"); });
			if (all.length && ready) { setTimeout(function () { done(true); }, 50); return; }
			if (Date.now() > end) { done(false); return; }
			setTimeout(look, 50);
		})();
	})`)
}
