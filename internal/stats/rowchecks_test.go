package stats

import (
	"math"
	"strings"
	"testing"
)

type rowCheck func(*testing.T, refRow)

var rowChecks = map[string]rowCheck{
	"clopper_pearson": intervalRow(ClopperPearson),
	"wilson":          intervalRow(Wilson),
	"jeffreys":        intervalRow(Jeffreys),
	"poisson_exact_interval": func(t *testing.T, r refRow) {
		iv, err := Garwood(r.whole(t, "x"), r.num(t, "level"))
		r.pair(t, iv, err)
	},
	"wilson_overdispersed": func(t *testing.T, r refRow) {
		iv, err := WilsonEffective(r.whole(t, "alive"), r.whole(t, "start"), r.num(t, "phi"), r.num(t, "level"))
		r.pair(t, iv, err)
	},
	"shrunk_survival": func(t *testing.T, r refRow) {
		mean, iv, err := Shrunk(r.whole(t, "x"), r.whole(t, "n"), r.num(t, "a"), r.num(t, "b"), 0.90)
		must(t, err)
		r.close(t, []float64{mean, iv.Lower, iv.Upper}, numbers(t, r.expected))
	},
	"poisson_tail_P(X>=x)": func(t *testing.T, r refRow) {
		r.close(t, []float64{PoissonTail(r.whole(t, "x"), r.num(t, "mu"))}, numbers(t, r.expected))
	},
	"nb_predictive_tail_P(X>=x)": func(t *testing.T, r refRow) {
		got := PredictiveTail(r.whole(t, "x"), r.num(t, "mu"), r.num(t, "phi"), r.num(t, "a"))
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"smallest_dead_count_that_flags": func(t *testing.T, r refRow) {
		got := SmallestUnusual(r.num(t, "mu"), r.num(t, "phi"), r.num(t, "a"), r.num(t, "alpha"), r.whole(t, "mindead"))
		r.close(t, []float64{float64(got)}, numbers(t, r.expected))
	},
	"gamma_poisson_posterior": func(t *testing.T, r refRow) {
		a, b, mean, iv, err := MultiplierPosterior(r.num(t, "a0"), r.num(t, "b0"),
			r.num(t, "sum_dead"), r.num(t, "sum_expected"), r.num(t, "phi"), 0.90)
		must(t, err)
		r.close(t, []float64{a, b, mean, iv.Lower, iv.Upper}, numbers(t, r.expected))
	},
	"cusum_tabular_high": func(t *testing.T, r refRow) {
		high, _ := CUSUM(r.list(t, "x"), r.num(t, "target"), r.num(t, "k"), 0)
		r.close(t, high, numbers(t, r.expected))
		// The row's source: h = 4.1959 is first exceeded at group 14 (from 1).
		if got := FirstBeyond(high, 4.1959); got != 14-1 {
			t.Errorf("first beyond h: position %d", got)
		}
	},
	"cusum_tabular_low": func(t *testing.T, r refRow) {
		_, low := CUSUM(r.list(t, "x"), r.num(t, "target"), r.num(t, "k"), 0)
		r.close(t, low, numbers(t, r.expected))
	},
	"ewma_series": func(t *testing.T, r refRow) {
		r.close(t, EWMA(r.list(t, "x"), r.num(t, "start"), r.num(t, "lambda")), numbers(t, r.expected))
	},
	"ewma_limits_steady": func(t *testing.T, r refRow) {
		c := EWMALimits(r.num(t, "target"), r.num(t, "s"), r.num(t, "lambda"), r.num(t, "L"))
		r.close(t, []float64{c.Upper, c.Lower}, numbers(t, r.expected))
	},
	"c_chart":           cChartRow,
	"p_chart":           pChartRow,
	"individuals_chart": individualsRow,
	"cusum_arl_two_sided_normal": func(t *testing.T, r refRow) {
		got, err := CUSUMARL(r.num(t, "k"), r.num(t, "h"), r.num(t, "shift"), 0)
		must(t, err)
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"cusum_arl_FIR_two_sided_normal": func(t *testing.T, r refRow) {
		got, err := CUSUMARL(r.num(t, "k"), r.num(t, "h"), r.num(t, "shift"), r.num(t, "headstart"))
		must(t, err)
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"ewma_arl_two_sided_normal": func(t *testing.T, r refRow) {
		got, err := EWMAARL(r.num(t, "lambda"), r.num(t, "L"), r.num(t, "shift"))
		must(t, err)
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"poisson_cusum_arl": func(t *testing.T, r refRow) {
		h, k, lambda := r.whole(t, "h"), r.whole(t, "k"), r.num(t, "lambda")
		zero, err := PoissonCUSUMARL(h, k, lambda, 0)
		must(t, err)
		head, err := PoissonCUSUMARL(h, k, lambda, h/2)
		must(t, err)
		r.close(t, []float64{zero, head}, numbers(t, r.expected))
	},
	"benjamini_hochberg": bhRow,
	"kaplan_meier":       kmRow,
	"pearson_dispersion": func(t *testing.T, r refRow) {
		got, err := PearsonDispersion(ints(r.list(t, "x")), r.list(t, "mu"))
		must(t, err)
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"funnel_betabinomial":          funnelRow,
	"funnel_exact_binomial_limits": binomialLimitsRow,
	"winsor_consistency_factor":    winsorRow,
	"crps_normal": func(t *testing.T, r refRow) {
		got := CRPSNormal(r.num(t, "mu"), r.num(t, "sd"), r.num(t, "y"))
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
	"interval_score": func(t *testing.T, r refRow) {
		iv := Interval{Lower: r.num(t, "lower"), Upper: r.num(t, "upper")}
		r.close(t, []float64{IntervalScore(iv, r.num(t, "y"), r.num(t, "alpha"))}, numbers(t, r.expected))
	},
	"student_t_quantile": func(t *testing.T, r refRow) {
		r.close(t, []float64{StudentTQuantile(r.num(t, "p"), r.num(t, "df"))}, numbers(t, r.expected))
	},
	"split_conformal_rank": func(t *testing.T, r refRow) {
		rank, ok := ConformalRank(r.whole(t, "n"), r.num(t, "level"))
		if want := r.expected != "not available"; ok != want {
			t.Fatalf("available %v, want %v", ok, want)
		}
		if ok {
			r.close(t, []float64{float64(rank)}, numbers(t, r.expected))
		}
	},
	"hatch_forecast_delta": hatchRow,
	"stuck_run_score": func(t *testing.T, r refRow) {
		u, score := StuckScore(r.whole(t, "earlier_pairs"), r.whole(t, "repeats"), r.whole(t, "run"))
		r.close(t, []float64{u, score}, numbers(t, r.expected))
	},
	"dead_egg_rule_trace": deadTraceRow,
	"theil_sen": func(t *testing.T, r refRow) {
		got, err := TheilSen(r.list(t, "t"), r.list(t, "y"), r.num(t, "level"))
		must(t, err)
		r.close(t, []float64{got.PerUnit, got.Intercept, got.Interval.Lower, got.Interval.Upper},
			numbers(t, r.expected))
	},
	"temperature_drift_trace": driftTraceRow,
	"median_mad": func(t *testing.T, r refRow) {
		x := r.list(t, "x")
		r.close(t, []float64{Median(x), MAD(x), MADToSigma * MAD(x)}, numbers(t, r.expected))
	},
	"beta_binomial_cdf": func(t *testing.T, r refRow) {
		var x int
		if _, err := fmtSscan(r.inputs, &x); err != nil {
			t.Fatal(err)
		}
		got := BetaBinomialCDF(x, r.whole(t, "n"), r.num(t, "a"), r.num(t, "b"))
		r.close(t, []float64{got}, numbers(t, r.expected))
	},
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (r refRow) pair(t *testing.T, iv Interval, err error) {
	t.Helper()
	must(t, err)
	r.close(t, []float64{iv.Lower, iv.Upper}, numbers(t, r.expected))
}

func intervalRow(f func(x, n int, level float64) (Interval, error)) rowCheck {
	return func(t *testing.T, r refRow) {
		iv, err := f(r.whole(t, "x"), r.whole(t, "n"), r.num(t, "level"))
		r.pair(t, iv, err)
	}
}

func cChartRow(t *testing.T, r refRow) {
	x := r.list(t, "counts")
	c, err := CChart(ints(x))
	must(t, err)
	nums, tail, ok := strings.Cut(r.expected, ";above UCL: point(s) ")
	if !ok {
		t.Fatalf("expected %q", r.expected)
	}
	r.close(t, []float64{c.Centre, c.Upper, c.Lower}, numbers(t, nums))
	want := numbers(t, tail)
	var got []float64
	for _, i := range c.Outside(x) {
		if x[i] > c.Upper {
			got = append(got, float64(i+1))
		}
	}
	r.close(t, got, want)
}

func pChartRow(t *testing.T, r refRow) {
	c, err := PChart(ints(r.list(t, "defective")), r.whole(t, "n"))
	must(t, err)
	r.close(t, []float64{c.Centre, c.Upper, c.Lower}, numbers(t, r.expected))
}

func individualsRow(t *testing.T, r refRow) {
	x := r.list(t, "x")
	c, err := IndividualsChart(x)
	must(t, err)
	mr, _, err := MovingRange(x)
	must(t, err)
	r.close(t, []float64{c.Centre, mr, c.Upper, c.Lower}, numbers(t, r.expected))
}

func winsorRow(t *testing.T, r refRow) {
	// The definition, integrated here by the midpoint rule.
	z9, h, sum := 1.2815515655446004, 1e-4, 0.0
	for z := -9 + h/2; z < 9; z += h {
		m := math.Min(math.Abs(z), z9)
		sum += m * m * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) * h
	}
	r.close(t, []float64{WinsorFactor, sum}, []float64{numbers(t, r.expected)[0], numbers(t, r.expected)[0]})
}
