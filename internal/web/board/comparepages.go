package board

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/stats"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// compareRoutes put tanks side by side, for coordinators only.
func (s *Service) compareRoutes(r chi.Router) { r.Get("/comparison", s.Page(s.compareShow)) }

// compareLabels is how many seasons of the year are compared, newest first.
const compareLabels = 2

func (s *Service) compareShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{})
	if err != nil {
		return err
	}
	var all report.Comparison
	if err := s.DB.LoadSeasons(r.Context(), newestLabels(heads, compareLabels), func(season *logbook.Season) error {
		all.Add(season, s.Assess.Today(season.Site, v.Now))
		return nil
	}); err != nil {
		return err
	}
	m := ComparePage{Page: s.NewPage(r, "compare.title", "board")}
	m.Styles = []string{"tank.css", "compare.css"}
	for i, c := range all.Groups() {
		if c.Tanks > 1 {
			m.Groups = append(m.Groups, CompareTanks(v.P, c, i))
		}
	}
	return s.Render(w, r, http.StatusOK, ComparePageView(m))
}

// newestLabels lists the seasons of the newest labels; labels begin with the
// year.
func newestLabels(heads []store.SeasonHead, n int) []logbook.ID {
	newest := map[string]bool{}
	for range n {
		best := ""
		for _, h := range heads {
			if !newest[h.Label] && h.Label > best {
				best = h.Label
			}
		}
		newest[best] = true
	}
	var ids []logbook.ID
	for _, h := range heads {
		if newest[h.Label] {
			ids = append(ids, h.ID)
		}
	}
	return ids
}

func CompareTanks(p *i18n.Printer, c report.Compared, i int) CompareGroup {
	source := strings.Join(strings.Fields(c.Supplier+" "+c.Stock), " ")
	if source == "" {
		source = p.T("compare.no_source")
	}
	g := CompareGroup{ID: fmt.Sprint("group-", i)}
	g.Title = p.T("compare.group", logbook.Args{"Label": c.Label, "Species": c.Species, "Source": source})
	g.Sentence = p.T("compare.group_tanks", logbook.Args{"Count": c.Tanks, "Stage": c.Stage})
	if c.Stage == "" {
		g.Sentence = p.T("compare.group_tanks_unknown", logbook.Args{"Count": c.Tanks})
	}
	if len(c.Gates) == 0 {
		g.Sentence += " " + p.T("compare.no_gate")
	}
	for _, k := range c.Gates {
		g.Gates = append(g.Gates, compareGateView(p, k, g.ID))
	}
	return g
}

func compareGateView(p *i18n.Printer, k report.GateResult, group string) CompareGate {
	out := CompareGate{ID: group + "-" + string(k.Gate), Title: p.T(k.Gate.MessageKey())}
	out.Sentences = []string{p.T("compare.middle", logbook.Args{"Count": len(k.Tanks),
		"Percent": p.Num(100*k.Funnel.Centre, 0)})}
	switch {
	case !k.Named:
		out.Sentences = append(out.Sentences,
			p.T("compare.too_few", logbook.Args{"Tanks": stats.FunnelMinTanks, "Eggs": stats.FunnelMinAnimals}))
	case k.Low == 0:
		out.Sentences = append(out.Sentences, p.T("compare.all_inside"))
	default:
		out.Sentences = append(out.Sentences, p.T("compare.some_low", logbook.Args{"Count": k.Low}), p.T("compare.ask"))
	}
	out.Plot = funnelPlotView(p, k)
	out.Table = compareTable(p, k)
	return out
}

func compareTable(p *i18n.Printer, k report.GateResult) ui.DataTable {
	t := ui.DataTable{Caption: p.T("compare.table", logbook.Args{"Gate": k.Gate})}
	for i, c := range []string{"tank", "on", "start", "alive", "share", "shrunk", "likely", "says"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("compare.col." + c), Number: i > 1 && i < 7})
	}
	for _, x := range k.Tanks {
		// A few tanks do not tell how much tanks differ: nothing is evened out.
		says, shrunk, likely := "", "–", "–"
		if k.Named {
			shrunk = words.InHundred(p, x.Shrunk)
			likely = p.T("survival.stage.between", logbook.Args{"Lower": words.InHundred(p, x.ShrunkBetween.Lower),
				"Upper": words.InHundred(p, x.ShrunkBetween.Upper)})
			says = p.T("compare.inside")
			if x.Low {
				says = p.T("compare.low")
			}
		}
		t.Rows = append(t.Rows, []string{x.Tank + ", " + x.Site, p.DateShort(x.On), p.Count(x.Start), p.Count(x.Alive),
			words.InHundred(p, x.Share),
			shrunk, likely, says})
	}
	return t
}

// funnelScale places shares and sizes in the drawing.
type funnelScale struct {
	xLow, xHigh float64
	yLow        float64
}

func (s funnelScale) x(n int) string {
	return fixed(60 + 646*(float64(n)-s.xLow)/math.Max(1, s.xHigh-s.xLow))
}
func (s funnelScale) yAt(share float64) float64 { return 20 + 330*(1-share)/(1-s.yLow) }
func (s funnelScale) y(share float64) string    { return fixed(s.yAt(share)) }

func fixed(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

func funnelPlotView(p *i18n.Printer, k report.GateResult) FunnelPlot {
	first, last := k.Bands[0], k.Bands[len(k.Bands)-1]
	least := math.Min(first.Low998, 0.9)
	for _, t := range k.Tanks {
		least = math.Min(least, t.Share)
	}
	pad := math.Max(2, 0.04*float64(last.Start-first.Start))
	sc := funnelScale{xLow: float64(first.Start) - pad, xHigh: float64(last.Start) + pad,
		yLow: math.Max(0, math.Floor(least*10)/10)}
	f := FunnelPlot{XName: p.T("compare.axis.eggs"), YName: p.T("compare.axis.alive"),
		Describe: p.T("compare.describe", logbook.Args{"Count": len(k.Tanks), "Low": k.Low,
			"Percent": p.Num(100*k.Funnel.Centre, 0)}),
		Centre: [2]string{sc.y(k.Funnel.Centre)}}
	line := func(of func(report.FunnelLimit) float64) string {
		var b strings.Builder
		for _, l := range k.Bands {
			fmt.Fprintf(&b, "%s,%s ", sc.x(l.Start), sc.y(math.Max(of(l), sc.yLow)))
		}
		return strings.TrimSpace(b.String())
	}
	f.Inner = [2]string{line(func(l report.FunnelLimit) float64 { return l.Low95 }),
		line(func(l report.FunnelLimit) float64 { return l.High95 })}
	f.Outer = [2]string{line(func(l report.FunnelLimit) float64 { return l.Low998 }),
		line(func(l report.FunnelLimit) float64 { return l.High998 })}
	for _, t := range k.Tanks {
		d := FunnelDot{X: sc.x(t.Start), Y: sc.y(t.Share), Low: t.Low,
			Name: p.T("compare.dot", logbook.Args{"Tank": t.Tank, "Site": t.Site, "Alive": t.Alive, "Of": t.Start})}
		if t.Low {
			d.Path = "M" + d.X + " " + fixed(sc.yAt(t.Share)-7) + "l7 12h-14z"
		}
		f.Dots = append(f.Dots, d)
	}
	for i := 0; i <= 5; i++ {
		share := sc.yLow + (1-sc.yLow)*float64(i)/5
		f.YTicks = append(f.YTicks, FunnelTick{At: sc.y(share), Text: p.Num(100*share, 0)})
	}
	for i := range 5 {
		n := first.Start + (last.Start-first.Start)*i/4
		if i > 0 && last.Start-first.Start < 4 {
			break
		}
		f.XTicks = append(f.XTicks, FunnelTick{At: sc.x(n), Text: p.Count(n)})
	}
	f.Keys = []ui.ChartKey{{Shape: "tank", Text: p.T("compare.key.tank")},
		{Shape: "inner", Text: p.T("compare.key.inner")},
		{Shape: "outer", Text: p.T("compare.key.outer")}}
	if k.Low > 0 {
		f.Keys = append(f.Keys, ui.ChartKey{Shape: "low", Text: p.T("compare.key.low")})
	}
	return f
}
