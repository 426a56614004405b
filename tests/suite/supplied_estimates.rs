//! Estimators on replicate weights that come with the data, against R.

use std::collections::BTreeMap;
use std::sync::Arc;

use cutspan::stats::mean::{geometric_mean, mean, ratio};
use cutspan::stats::proportion::share;
use cutspan::stats::quantile::{QuantileRule, WoodruffScale, woodruff};
use cutspan::stats::{Design, Replicates, Sample, Scaling, ScalingMethod, roc, scan};

use crate::expected::{Expected, Row, Rows, number, optional};
use crate::supplied::FOLDER;

const CONFIDENCE: f64 = 0.95;

/// How the weights of a case were made, by a row of the expected values.
fn scaling(row: &Row) -> Scaling {
    let method = match row["type"].as_str() {
        "brr" => ScalingMethod::Brr,
        "fay" => ScalingMethod::Fay(number(row, "fay")),
        "jk1" => ScalingMethod::Jk1,
        "jkn" => ScalingMethod::Jkn,
        "bootstrap" => ScalingMethod::Bootstrap,
        other => panic!("type {other}"),
    };
    let scales = row["scales"].split_whitespace().map(|s| s.parse().unwrap()).collect();
    Scaling { method, scale: None, scales }
}

/// The design of a case: everybody with the same factors is a unit.
fn design(frame: &Rows, row: &Row) -> (Design, Arc<Replicates>, Vec<u32>) {
    let count = number(row, "replicates") as usize;
    let mut known: BTreeMap<Vec<u64>, u32> = BTreeMap::new();
    let (mut factors, mut units) = (Vec::new(), Vec::new());
    for person in frame.iter() {
        let one = |r: usize| number(person, &format!("rw_{r}")) / number(person, "w");
        let own: Vec<f64> = (1..=count).map(one).collect();
        let next = known.len() as u32;
        units.push(*known.entry(own.iter().map(|f| (f * 1e9) as u64).collect()).or_insert_with(|| {
            factors.extend(&own);
            next
        }));
    }
    let replicates = Arc::new(Replicates::supplied(count, factors, &scaling(row)).unwrap());
    (Design::supplied(Arc::clone(&replicates), None).unwrap(), replicates, units)
}

/// People of a domain in the order of `y`, with `x` and the event beside them.
fn people(frame: &Rows, units: &[u32], domain: &str) -> (Sample, Vec<f64>, Vec<bool>) {
    let mut rows: Vec<(f64, &Row, u32)> =
        frame.iter().zip(units).map(|(row, unit)| (number(row, "y"), row, *unit)).collect();
    rows.retain(|(_, row, _)| domain == "all" || row["domain"] == "1");
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let column = |name: &str| rows.iter().map(|(_, row, _)| number(row, name)).collect::<Vec<_>>();
    let unit: Vec<u32> = rows.iter().map(|row| row.2).collect();
    let sample = Sample::from_people(&column("y"), &column("w"), &unit).unwrap();
    (sample, column("x"), column("event").iter().map(|e| *e == 1.0).collect())
}

#[test]
fn estimates_on_supplied_replicates_are_those_of_r() {
    let expected = Expected::read(FOLDER);
    let input = Rows::read(FOLDER, "input.csv");
    for row in expected.rows.iter() {
        let frame = input.only("case", &row["case"]);
        let (design, replicates, units) = design(&frame, row);
        let (sample, x, event) = people(&frame, &units, &row["domain"]);
        let p = optional(row, "p").unwrap_or(0.5);
        let quantile = |scale| {
            let got = woodruff(&design, &sample, p, QuantileRule::Step, scale, CONFIDENCE).unwrap();
            (got.value, got.standard_error.unwrap(), got.interval, got.df)
        };
        let all = |_: usize| true;
        let of_mean = |m: cutspan::stats::mean::MeanEstimate| (m.value, m.standard_error, m.interval, m.df);
        let (value, se, interval, df) = match row["statistic"].as_str() {
            "mean" => of_mean(mean(&design, &sample, CONFIDENCE).unwrap()),
            "geometric_mean" => of_mean(geometric_mean(&design, &sample, CONFIDENCE).unwrap()),
            "ratio" => of_mean(ratio(&design, &sample, &|i| sample.value[i], &|i| x[i], CONFIDENCE).unwrap()),
            "share" => {
                let got = share(&design, &sample, &all, &|i| event[i]).unwrap();
                (got.p, got.standard_error(), got.korn_graubard_uncapped(CONFIDENCE).ok(), got.df)
            }
            "quantile" => quantile(WoodruffScale::Linear),
            "quantile_logit" => quantile(WoodruffScale::Logit),
            "auc" => {
                let full = roc::auc(&sample, &event).unwrap();
                let scan = scan::scan(&sample, &event, &[], &replicates);
                let df = design.degrees_of_freedom(&sample, &all);
                (full, replicates.variance(full, &scan.auc).variance.sqrt(), None, df)
            }
            other => panic!("statistic {other}"),
        };
        expected.assert(row, "value", value);
        expected.assert(row, "se", se);
        assert_eq!(df, number(row, "df"), "{row:?}");
        if optional(row, "lower").is_some() {
            let interval = interval.unwrap();
            expected.assert(row, "lower", interval.lower);
            expected.assert(row, "upper", interval.upper);
        }
    }
}
