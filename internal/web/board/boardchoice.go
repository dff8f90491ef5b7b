package board

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/ui"
)

// BoardChoice is which tanks the board shows, and how they are grouped. It is
// the query of the board's address, so that a view can be kept and sent on.
type BoardChoice struct {
	Site, Lot logbook.ID
	Species   logbook.Species
	Stage     logbook.Stage
	Status    rules.Status
	Text      string // part of the name of a tank or school, or of a lot's code
	Group     string // "", groupSite or groupLot
}

// What the tanks are grouped by.
const (
	GroupSite = "site"
	GroupLot  = "lot"
)

// maxBoardText bounds the text that tanks are looked for by.
const maxBoardText = 60

func readBoardChoice(q url.Values) BoardChoice {
	c := BoardChoice{Site: logbook.ID(q.Get("site")), Lot: logbook.ID(q.Get("lot")),
		Species: logbook.Species(q.Get("species")),
		Stage:   logbook.Stage(q.Get("stage")), Status: rules.Status(q.Get("status")),
		Text: strings.TrimSpace(q.Get("find")), Group: q.Get("group")}
	if r := []rune(c.Text); len(r) > maxBoardText {
		c.Text = string(r[:maxBoardText])
	}
	if c.Group != GroupSite && c.Group != GroupLot {
		c.Group = ""
	}
	return c
}

// query writes the choice as the query of an address.
func (c BoardChoice) query() url.Values {
	q := url.Values{}
	for k, v := range map[string]string{"site": string(c.Site), "lot": string(c.Lot), "species": string(c.Species),
		"stage":  string(c.Stage),
		"status": string(c.Status), "find": c.Text, "group": c.Group} {
		if v != "" {
			q.Set(k, v)
		}
	}
	return q
}

func (c BoardChoice) fits(e *assess.BoardEntry) bool {
	switch {
	case c.Site != "" && e.Site.ID != c.Site, c.Lot != "" && e.Lot.ID != c.Lot, c.Species != "" &&
		e.Lot.Species != c.Species:
		return false
	case c.Stage != "" && e.Assessment.Stage.Stage != c.Stage, c.Status != "" && e.Assessment.Status != c.Status:
		return false
	}
	if c.Text == "" {
		return true
	}
	text := strings.ToLower(c.Text)
	for _, name := range []string{e.Tank.Name, e.Site.Name, e.Lot.Code} {
		if strings.Contains(strings.ToLower(name), text) {
			return true
		}
	}
	return false
}

func (c BoardChoice) Filter(all []*assess.BoardEntry) []*assess.BoardEntry {
	out := make([]*assess.BoardEntry, 0, len(all))
	for _, e := range all {
		if c.fits(e) {
			out = append(out, e)
		}
	}
	return out
}

// GroupOf is the school or lot that an entry is grouped by.
func (c BoardChoice) GroupOf(e *assess.BoardEntry) logbook.ID {
	switch c.Group {
	case GroupSite:
		return e.Site.ID
	case GroupLot:
		return e.Lot.ID
	}
	return ""
}

// Sort puts the worst first, among equals by harm, then by name, so that a tank
// keeps its place while nothing changes. Groups stand together, the one with the
// worst tank first, then that with more such tanks.
func (c BoardChoice) Sort(entries []*assess.BoardEntry) {
	type rank struct {
		worst, n int
		name     string
	}
	ranks := map[logbook.ID]rank{}
	if c.Group != "" {
		for _, e := range entries {
			id, order := c.GroupOf(e), e.Assessment.Status.Order()
			r, known := ranks[id]
			switch {
			case !known || order < r.worst:
				r = rank{worst: order, n: 1, name: e.Site.Name}
			case order == r.worst:
				r.n++
			}
			if c.Group == GroupLot {
				r.name = e.Lot.Code
			}
			ranks[id] = r
		}
	}
	slices.SortStableFunc(entries, func(a, b *assess.BoardEntry) int {
		ga, gb := c.GroupOf(a), c.GroupOf(b)
		ra, rb := ranks[ga], ranks[gb]
		if ga != gb {
			return cmp.Or(cmp.Compare(ra.worst, rb.worst), cmp.Compare(rb.n, ra.n),
				logbook.NaturalCompare(ra.name, rb.name), cmp.Compare(ga, gb))
		}
		return a.Compare(b)
	})
}

// boardOptions are the choices that the tanks of a reader offer.
func boardOptions(p *i18n.Printer, all []*assess.BoardEntry, c BoardChoice) BoardFilters {
	sites, lots, species, stages := map[string]string{}, map[string]string{}, map[string]string{},
		map[logbook.Stage]bool{}
	for _, e := range all {
		sites[string(e.Site.ID)] = e.Site.Name
		lots[string(e.Lot.ID)] = e.Lot.Code
		species[string(e.Lot.Species)] = p.T(e.Lot.Species.MessageKey())
		stages[e.Assessment.Stage.Stage] = true
	}
	f := BoardFilters{Site: string(c.Site), Lot: string(c.Lot), Species: string(c.Species), Stage: string(c.Stage),
		Status: string(c.Status),
		Find:   c.Text, Group: c.Group, Sites: byName(sites), Lots: byName(lots), AllSpecies: byName(species)}
	for _, st := range logbook.Stages() {
		if stages[st] {
			f.Stages = append(f.Stages, ui.Option{Value: string(st), Label: p.T(st.MessageKey())})
		}
	}
	named := func(label string, list []ui.Option, chosen string) {
		for _, o := range list {
			if o.Value == chosen && chosen != "" {
				f.Active = append(f.Active, p.T("board.active", logbook.Args{"What": p.T(label), "Value": o.Label}))
			}
		}
	}
	named("board.lot", f.Lots, f.Lot)
	named("board.species", f.AllSpecies, f.Species)
	named("board.col.stage", f.Stages, f.Stage)
	if c.Text != "" {
		f.Active = append(f.Active, p.T("board.active", logbook.Args{"What": p.T("board.find"), "Value": c.Text}))
	}
	return f
}

func byName(names map[string]string) []ui.Option {
	out := make([]ui.Option, 0, len(names))
	for id, name := range names {
		out = append(out, ui.Option{Value: id, Label: name})
	}
	slices.SortFunc(out, func(a, b ui.Option) int {
		return cmp.Or(logbook.NaturalCompare(a.Label, b.Label), cmp.Compare(a.Value, b.Value))
	})
	return out
}

// boardGroups puts the rows of a page under the heading of their group; all
// counts every tank of a group, on other pages too.
func (c BoardChoice) boardGroups(p *i18n.Printer, all, shown []*assess.BoardEntry, rows []BoardRow) []BoardGroup {
	if c.Group == "" {
		return []BoardGroup{{Rows: rows}}
	}
	counts := map[logbook.ID]map[rules.Status]int{}
	for _, e := range all {
		id := c.GroupOf(e)
		if counts[id] == nil {
			counts[id] = map[rules.Status]int{}
		}
		counts[id][e.Assessment.Status]++
	}
	var out []BoardGroup
	var last logbook.ID
	for i, e := range shown {
		if id := c.GroupOf(e); i == 0 || id != last {
			g := BoardGroup{Name: e.Site.Name}
			if c.Group == GroupLot {
				g.Name = p.T("board.lot_name",
					logbook.Args{"Lot": e.Lot.Code, "Species": p.T(e.Lot.Species.MessageKey())})
			}
			for _, st := range BoardStatuses() {
				if n := counts[id][st]; n > 0 {
					g.Counts = append(g.Counts, StatusCount{Status: st, N: n})
				}
			}
			out, last = append(out, g), id
		}
		g := &out[len(out)-1]
		g.Rows = append(g.Rows, rows[i])
	}
	return out
}

// BoardStatuses lists the statuses, the worst first.
func BoardStatuses() []rules.Status {
	return []rules.Status{rules.StatusAct, rules.StatusWatch, rules.StatusNoCheck, rules.StatusDue, rules.StatusFine}
}
