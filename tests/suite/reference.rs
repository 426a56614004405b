//! Estimators against other programs: one test per folder of `tests/reference/`.

use cutspan::stats::delong::delong;
use cutspan::stats::interval::{Interval, t_on_logit, t_plain};
use cutspan::stats::mean::{MeanEstimate, geometric_mean, mean, ratio};
use cutspan::stats::plan_area::area_variance;
use cutspan::stats::proportion::share;
use cutspan::stats::quantile::{QuantileRule, WoodruffScale, quantile, weighted_quantile, woodruff};
use cutspan::stats::reference_limit::{LIMIT_CONFIDENCE, rank_interval, rank_limit};
use cutspan::stats::replicate::{self, Replicates};
use cutspan::stats::roc;
use cutspan::stats::rule::{Rule, choose};
use cutspan::stats::{Design, LonelyPsu, Sample, StatError};

use super::expected::{Expected, Row, Rows, number, optional};

const CONFIDENCE: f64 = 0.95;

fn quantile_rule(row: &Row) -> QuantileRule {
    match row["rule"].as_str() {
        "math" => QuantileRule::Step,
        "hf6" => QuantileRule::HyndmanFan6,
        "hf7" => QuantileRule::HyndmanFan7,
        other => panic!("rule {other}"),
    }
}

#[test]
fn weighted_quantiles() {
    let expected = Expected::read("weighted_quantile");
    let input = Rows::read("weighted_quantile", "input.csv");
    for row in expected.rows.iter() {
        let people = input.only("case", &row["case"]);
        let got = quantile(&people.numbers("x"), &people.numbers("w"), number(row, "p"), quantile_rule(row));
        expected.assert(row, "q", got.expect("usable rows"));
    }
}

#[test]
fn woodruff_intervals_of_domains() {
    let expected = Expected::read("woodruff_interval");
    let input = Rows::read("woodruff_interval", "input.csv");
    for row in expected.rows.iter() {
        let frame = input.only("case", &row["case"]);
        let design = frame.design(LonelyPsu::Fail);
        let domain = &row["domain"];
        let sample = frame.sample(&row["column"], |person| domain == "all" || person["domain"] == *domain);
        let scale = if row["scale"] == "mean" { WoodruffScale::Linear } else { WoodruffScale::Logit };
        let got = woodruff(&design, &sample, number(row, "p"), quantile_rule(row), scale, CONFIDENCE);
        let got = got.expect("usable rows");
        expected.assert(row, "q", got.value);
        if optional(row, "se").is_some() {
            assert_interval(&expected, row, got.interval);
            expected.assert(row, "se", got.standard_error.expect("an interval"));
        } else {
            assert_eq!(got.interval, None, "an end that the other program does not give either");
        }
        assert_eq!(got.df, number(row, "df"));
    }
}

#[track_caller]
fn assert_interval(expected: &Expected, row: &Row, got: Option<Interval>) {
    let got = got.unwrap_or_else(|| panic!("no interval: {row:?}"));
    expected.assert(row, "lower", got.lower);
    expected.assert(row, "upper", got.upper);
}

fn assert_mean(expected: &Expected, row: &Row, got: &MeanEstimate) {
    expected.assert(row, "value", got.value);
    expected.assert(row, "se", got.standard_error);
    assert_eq!(got.df, number(row, "df"), "{row:?}");
    assert_interval(expected, row, got.interval);
}

#[test]
fn means_and_a_ratio_by_design() {
    let expected = Expected::read("design_mean");
    let input = Rows::read("design_mean", "input.csv");
    for row in expected.rows.iter() {
        let frame = input.only("case", &row["case"]);
        let design = frame.design(match row["case"].as_str() {
            "lonely_adjust" => LonelyPsu::Adjust,
            "lonely_certainty" => LonelyPsu::Certainty,
            _ => LonelyPsu::Fail,
        });
        let sample = frame.sample("y", |person| person["domain"] == "1");
        let got = if row["case"] == "ambulances" {
            // One row per unit, so the unit leads back to the denominator.
            let arrests = frame.numbers("x");
            let denominator = |i: usize| arrests[sample.unit[i] as usize];
            ratio(&design, &sample, &|i| sample.value[i], &denominator, CONFIDENCE)
        } else {
            mean(&design, &sample, CONFIDENCE)
        };
        assert_mean(&expected, row, &got.expect("usable rows"));
    }
}

#[test]
fn geometric_means() {
    let expected = Expected::read("geometric_mean");
    let input = Rows::read("geometric_mean", "input.csv");
    for row in expected.rows.iter() {
        let people = input.only("case", &row["case"]);
        let design = people.design(LonelyPsu::Fail);
        let got = geometric_mean(&design, &people.sample("x", |_| true), CONFIDENCE);
        assert_mean(&expected, row, &got.expect("positive values"));
    }
}

#[test]
fn shares_of_people_and_schools() {
    let expected = Expected::read("design_share");
    let input = Rows::read("design_share", "input.csv");
    let frames = ["people", "schools"].map(|case| (case, input.only("case", case)));
    for row in expected.rows.iter() {
        let (_, frame) = frames.iter().find(|(case, _)| *case == row["case"]).expect("a case of the input");
        let design = frame.design(LonelyPsu::Fail);
        let in_group = |person: &Row| match row["by"].as_str() {
            "everybody" => true,
            "race_and_age" => format!("{}{}", person["race"], person["age"]) == row["level"],
            by => person[by] == row["level"],
        };
        // Unknown answers leave the domain and stay in the design.
        let sample = frame.sample("event", |person| !person["event"].is_empty() && in_group(person));
        let got = share(&design, &sample, &|_| true, &|i| sample.value[i] == 1.0).expect("somebody");
        expected.assert(row, "p", got.p);
        expected.assert(row, "se", got.standard_error());
        assert_eq!((got.people as f64, got.df), (number(row, "people"), number(row, "df")));
        assert_interval(&expected, row, got.korn_graubard_uncapped(CONFIDENCE).ok());
        let on_logit = got.standard_error() / (got.p * (1.0 - got.p));
        let logit = t_on_logit(got.p, on_logit, got.df, CONFIDENCE).expect("inside");
        let plain = t_plain(got.p, got.standard_error(), got.df, CONFIDENCE).expect("an error");
        for (interval, lower, upper) in
            [(logit, "lower_logit", "upper_logit"), (plain, "lower_plain", "upper_plain")]
        {
            expected.assert(row, lower, interval.lower);
            expected.assert(row, upper, interval.upper);
        }
        let wider = got.korn_graubard(CONFIDENCE).expect("defined").width();
        assert!(wider >= number(row, "upper") - number(row, "lower") - 1e-9, "the cap only widens: {row:?}");
    }
}

/// People with weight 1 in a single unit: for statistics that need no design.
fn unweighted(value: &[f64]) -> Sample {
    Sample::from_people(value, &vec![1.0; value.len()], &vec![0; value.len()]).expect("usable rows")
}

/// Classes in the order of a sample sorted by value, as [`Sample::from_people`] sorts.
fn sorted_classes(value: &[f64], outcome: &[f64]) -> Vec<bool> {
    let mut order: Vec<usize> = (0..value.len()).collect();
    order.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
    order.iter().map(|&i| outcome[i] == 1.0).collect()
}

#[test]
fn weighted_roc_points_and_areas() {
    let expected = Expected::read("weighted_roc_auc");
    let input = Rows::read("weighted_roc_auc", "input.csv");
    for row in expected.rows.iter() {
        let people = input.only("case", &row["case"]);
        let (value, weight) = (people.numbers("value"), people.numbers("weight"));
        let sample = Sample::from_people(&value, &weight, &vec![0; value.len()]).expect("usable rows");
        let class = sorted_classes(&value, &people.numbers("outcome"));
        let point = || {
            let points = roc::curve(&sample, &class).expect("both classes");
            let of_case = expected.rows.only("case", &row["case"]).only("quantity", "sensitivity");
            assert_eq!(points.len(), of_case.iter().count(), "one point per distinct value");
            *points.iter().find(|point| point.cutoff == number(row, "cutoff")).expect("a point at the cutoff")
        };
        let got = match row["quantity"].as_str() {
            "auc" => roc::auc(&sample, &class).expect("both classes"),
            "sensitivity" => point().sensitivity,
            "specificity" => point().specificity,
            other => panic!("quantity {other}"),
        };
        expected.assert(row, "value", got);
    }
}

#[test]
fn delong_on_two_published_data_sets() {
    let expected = Expected::read("delong");
    let input = Rows::read("delong", "input.csv");
    for row in expected.rows.iter() {
        let people = input.only("case", &row["case"]);
        let markers = ["a", "b", "c"].map(|name| people.numbers(name));
        let class: Vec<bool> = people.numbers("outcome").iter().map(|y| *y == 1.0).collect();
        let got = delong(&markers.each_ref().map(Vec::as_slice), &class).expect("both classes");
        let (a, b) = (number(row, "a") as usize - 1, number(row, "b") as usize - 1);
        let paired = || got.paired_test(a, b).expect("different markers");
        let got = match row["quantity"].as_str() {
            "auc" => got.auc[a],
            "covariance" => got.covariance[a][b],
            "z" => paired().z,
            "p_value" => paired().p_value,
            other => panic!("quantity {other}"),
        };
        expected.assert(row, "value", got);
    }
}

#[test]
fn cutoffs_by_six_rules() {
    let expected = Expected::read("cut_points");
    let input = Rows::read("cut_points", "input.csv");
    for row in expected.rows.iter() {
        let value = input.numbers(&row["marker"]);
        let class = sorted_classes(&value, &input.numbers("outcome"));
        let sample = unweighted(&value);
        let points = roc::curve(&sample, &class).expect("both classes");
        let demands = row["rule"].ends_with("at_least");
        let parameters: &[(&str, f64)] = if demands { &[("value", 0.8)] } else { &[] };
        let rule = Rule::from_name(&row["rule"], parameters).expect("a rule");
        let chosen = choose(&points, rule, roc::prevalence(&sample, &class)).expect("a point");
        // The other program reports the midpoint to the next less resistant value.
        expected.assert(row, "threshold", f64::midpoint(points[chosen - 1].cutoff, points[chosen].cutoff));
        expected.assert(row, "sensitivity", points[chosen].sensitivity);
        expected.assert(row, "specificity", points[chosen].specificity);
    }
}

#[test]
fn replicate_standard_errors() {
    let expected = Expected::read("replicate_se");
    let input = Rows::read("replicate_se", "input.csv");
    for row in expected.rows.iter() {
        let people = input.only("case", &row["case"]);
        let design = people.design(LonelyPsu::Fail);
        let replicates = match row["kind"].as_str() {
            "jackknife" => Replicates::jackknife(&design).expect("several units"),
            "balanced" => Replicates::brr(&design, number(row, "fay")).expect("pairs"),
            _ => supplied(&design, number(row, "scale")),
        };
        // Sorted by y, as the sample is; x follows by its weight-free sample on the same order.
        let sample = people.sample("y", |_| true);
        let mut x: Vec<(f64, f64)> = people.numbers("y").into_iter().zip(people.numbers("x")).collect();
        x.sort_by(|a, b| a.0.total_cmp(&b.0));
        let total = |w: &[f64], of: &dyn Fn(usize) -> f64| (0..w.len()).map(|i| w[i] * of(i)).sum::<f64>();
        let statistic = |w: &[f64]| -> Result<f64, StatError> {
            match row["statistic"].as_str() {
                "ratio" => Ok(total(w, &|i| sample.value[i]) / total(w, &|i| x[i].1)),
                "mean" => Ok(total(w, &|i| sample.value[i]) / total(w, &|_| 1.0)),
                _ => weighted_quantile(&sample.value, w, 0.5),
            }
        };
        let got = replicate::estimate(&replicates, &sample, statistic).expect("a value");
        expected.assert(row, "value", got.value);
        expected.assert(row, "se", got.standard_error);
        assert_eq!(got.failed, 0);
    }
}

/// Factors that another program drew, one column per replicate.
fn supplied(design: &Design, scale: f64) -> Replicates {
    let rows = Rows::read("replicate_se", "factors.csv");
    let count = rows.iter().next().expect("a unit").len() - 1;
    let names: Vec<String> = (1..=count).map(|r| format!("X{r}")).collect();
    let factors: Vec<f64> = rows.iter().flat_map(|row| names.iter().map(|name| number(row, name))).collect();
    assert_eq!(factors.len(), design.units() * count);
    Replicates { count, factors, scale, rscales: vec![1.0; count], kind: "supplied" }
}

#[test]
fn variances_of_planned_areas() {
    let expected = Expected::read("planned_area");
    for row in expected.rows.iter() {
        let (with, without) = (number(row, "with") as u64, number(row, "without") as u64);
        let got = area_variance(number(row, "auc"), with, without).expect("two classes");
        expected.assert(row, "variance", got);
    }
}

#[test]
fn ranks_and_values_of_reference_limits() {
    let expected = Expected::read("reference_limit");
    let value = Rows::read("reference_limit", "input.csv").numbers("value");
    for row in expected.rows.iter() {
        let (n, p) = (number(row, "n") as usize, number(row, "p"));
        let ranks = rank_interval(n as u64, p, LIMIT_CONFIDENCE).expect("valid");
        let wanted = optional(row, "lower_rank").zip(optional(row, "upper_rank"));
        assert_eq!(ranks.map(|(lower, upper)| (lower as f64, upper as f64)), wanted, "{row:?}");
        if optional(row, "limit").is_some() {
            let got = rank_limit(&unweighted(&value[..n]), p, LIMIT_CONFIDENCE).expect("enough people");
            expected.assert(row, "limit", got.value);
        }
    }
}
