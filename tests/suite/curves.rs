//! Smooth functions of age: equal to R and other tools on the same rows, and the laws they obey.

use std::fs;
use std::path::Path;

use cutspan::stats::covariate_roc::{Banded, CovariateModel, RocSettings, covariate_roc};
use cutspan::stats::interval::normal_quantile;
use cutspan::stats::percentile_curve::{CurveRows, CurveSettings, percentile_curves};
use cutspan::stats::quantile_regression::QuantileRegression;
use cutspan::stats::{Band, NaturalSpline, Replicates, least_squares, quantile_regression};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};

use crate::support::assert_close;

/// A CSV file of a reference folder by column, with the tolerance its header states.
struct Reference {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
    tolerance: f64,
}

impl Reference {
    /// Refuses an expected file without tool, call and tolerance, and any file without rows.
    fn read(folder: &str, file: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(folder).join(file);
        let text = fs::read_to_string(&path).expect("the reference file is there");
        let stated = |key: &str| text.lines().find_map(|line| line.strip_prefix(&format!("# {key}: ")));
        let tolerance = if file == "expected.csv" {
            assert!(stated("tool").is_some() && stated("call").is_some(), "{folder}: no tool or call");
            stated("tolerance").expect("a tolerance").parse().expect("a number")
        } else {
            f64::NAN
        };
        let mut lines = text.lines().filter(|line| !line.starts_with('#'));
        let split =
            |line: &str| line.split(',').map(|cell| cell.trim().trim_matches('"').to_owned()).collect();
        let header = split(lines.next().expect("a header"));
        let rows: Vec<Vec<String>> = lines.map(split).collect();
        assert!(!rows.is_empty(), "{folder}/{file} has no rows");
        Self { header, rows, tolerance }
    }

    fn texts(&self, column: &str) -> Vec<&str> {
        let at = self.header.iter().position(|name| name == column).expect("the column is there");
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    fn numbers(&self, column: &str) -> Vec<f64> {
        self.texts(column).iter().map(|text| text.parse().expect("a number")).collect()
    }
}

/// Knots as written in a reference file: numbers with spaces between.
fn spline(knots: &str) -> NaturalSpline {
    let knots: Vec<f64> = knots.split(' ').map(|knot| knot.parse().expect("a knot")).collect();
    NaturalSpline::new(&knots).expect("ascending knots")
}

fn logs(values: &[f64]) -> Vec<f64> {
    values.iter().map(|value| value.ln()).collect()
}

fn height(spline: &NaturalSpline, x: f64, coefficients: &[f64]) -> f64 {
    spline.row(x).iter().zip(coefficients).map(|(column, coefficient)| column * coefficient).sum()
}

#[test]
fn weighted_least_squares_on_splines_equal_r() {
    let input = Reference::read("spline_least_squares", "input.csv");
    let (age, index, weight) = (input.numbers("age"), input.numbers("index"), input.numbers("weight"));
    let expected = Reference::read("spline_least_squares", "expected.csv");
    let cases =
        expected.texts("knots").into_iter().zip(expected.numbers("x")).zip(expected.numbers("fitted"));
    for ((knots, x), want) in cases {
        let spline = spline(knots);
        let regressors = spline.regressors(&age).expect("finite ages");
        let fit = least_squares::fit(&regressors, &logs(&index), &weight).expect("determined");
        let got = height(&spline, x, &fit);
        assert_close(got, want, expected.tolerance, &format!("knots {knots} at {x}"));
    }
}

#[test]
fn weighted_quantile_regressions_equal_r() {
    let input = Reference::read("quantile_regression", "input.csv");
    let (age, index, weight) = (input.numbers("age"), input.numbers("index"), input.numbers("weight"));
    let in_replicate: Vec<f64> = weight
        .iter()
        .zip(input.numbers("unit"))
        .map(|(weight, unit)| {
            weight
                * if unit < 3.0 {
                    0.0
                } else if unit < 5.0 {
                    2.0
                } else {
                    1.0
                }
        })
        .collect();
    let expected = Reference::read("quantile_regression", "expected.csv");
    let (weights, knots) = (expected.texts("weights"), expected.texts("knots"));
    let (p, x, want) = (expected.numbers("p"), expected.numbers("x"), expected.numbers("fitted"));
    let y = logs(&index);
    for row in 0..want.len() {
        let spline = spline(knots[row]);
        let regressors = spline.regressors(&age).expect("finite ages");
        let full = QuantileRegression::new(&regressors, &y, &weight, p[row]).expect("determined");
        let from_full = full.replicate(&in_replicate).expect("determined");
        let from_scratch =
            quantile_regression::fit(&regressors, &y, &in_replicate, p[row]).expect("determined");
        let fits = if weights[row] == "full" {
            vec![full.coefficients()]
        } else {
            vec![&from_full[..], &from_scratch[..]]
        };
        for fit in fits {
            let what = format!("{} weights, knots {}, p {} at {}", weights[row], knots[row], p[row], x[row]);
            assert_close(height(&spline, x[row], fit), want[row], expected.tolerance, &what);
        }
    }
}

/// Replicates whose factors a reference folder lists, by unit within replicate.
fn replicates(folder: &str, units: usize) -> Replicates {
    let file = Reference::read(folder, "factors.csv");
    let (unit, replicate, factor) = (file.numbers("unit"), file.numbers("replicate"), file.numbers("factor"));
    let count = factor.len() / units;
    let mut factors = vec![f64::NAN; factor.len()];
    for row in 0..factor.len() {
        factors[unit[row] as usize * count + replicate[row] as usize] = factor[row];
    }
    assert!(factors.iter().all(|factor| !factor.is_nan()), "{folder}: a factor for every unit and replicate");
    Replicates { count, factors, scale: 1.0 / count as f64, rscales: vec![1.0; count], kind: "bootstrap" }
}

fn units(reference: &Reference) -> Vec<u32> {
    reference.numbers("unit").iter().map(|&unit| unit as u32).collect()
}

#[test]
fn percentile_curves_and_their_bands_equal_r() {
    let input = Reference::read("percentile_curve", "input.csv");
    let (age, index, weight) = (input.numbers("age"), input.numbers("index"), input.numbers("weight"));
    let rows = CurveRows { x: &age, value: &index, weight: &weight, unit: &units(&input) };
    let replicates = replicates("percentile_curve", 12);
    let settings = CurveSettings {
        spline: spline("20 35 50 65 79"),
        grid: vec![20.0, 28.0, 40.0, 55.0, 70.0, 79.0],
        probabilities: (1..10).map(|k| f64::from(k) / 10.0).collect(),
        reversed: false,
    };
    let expected = Reference::read("percentile_curve", "expected.csv");
    let (p, x) = (expected.numbers("p"), expected.numbers("x"));
    let band = Band { df: 6.0, confidence: 0.95 };
    let got = percentile_curves(&rows, settings, &replicates, band).expect("determined");
    assert_eq!((got.used, got.failed, got.logarithm), (25, 0, true));
    let [value, lower, upper] = ["value", "t_lower", "t_upper"].map(|column| expected.numbers(column));
    for row in 0..p.len() {
        let k = got.probabilities.iter().position(|&q| (q - p[row]).abs() < 1e-9).expect("a probability");
        let g = got.grid.iter().position(|&place| place == x[row]).expect("a place");
        let interval = got.interval[k][g].expect("an interval");
        let what = format!("p {} at {}", p[row], x[row]);
        assert_close(got.value[k][g], value[row], expected.tolerance, &what);
        assert_close(interval.lower, lower[row], expected.tolerance, &what);
        assert_close(interval.upper, upper[row], expected.tolerance, &what);
    }
}

#[test]
fn covariate_rocs_and_their_bands_equal_statsmodels() {
    let input = Reference::read("covariate_roc", "input.csv");
    let (bmi, index, weight) = (input.numbers("bmi"), input.numbers("index"), input.numbers("weight"));
    let rows = CurveRows { x: &bmi, value: &index, weight: &weight, unit: &units(&input) };
    let class: Vec<bool> = input.numbers("outcome").iter().map(|&outcome| outcome == 1.0).collect();
    let replicates = replicates("covariate_roc", 12);
    let expected = Reference::read("covariate_roc", "expected.csv");
    let columns = ["index", "what"].map(|column| expected.texts(column));
    let [at, value, lower, upper] =
        ["at", "value", "t_lower", "t_upper"].map(|column| expected.numbers(column));
    for (name, reversed) in [("as it is", false), ("reversed", true)] {
        let settings =
            RocSettings { spline: spline("18 25 31 42"), grid: vec![19.0, 24.5, 30.0, 38.0], reversed };
        let turned: Vec<f64> =
            index.iter().map(|value| if reversed { 1.0 / value } else { *value }).collect();
        let rows = CurveRows { value: &turned, ..rows };
        let band = Band { df: 6.0, confidence: 0.95 };
        let got = covariate_roc(&rows, &class, settings, &replicates, band).expect("determined");
        assert_eq!((got.used, got.failed), (25, 0));
        assert!(columns[0].contains(&name), "{name}");
        for row in (0..value.len()).filter(|&row| columns[0][row] == name) {
            let place = got.grid.iter().position(|&x| x == at[row]).expect("a place");
            let along: &[Banded] = match columns[1][row] {
                "cutoff" => &got.cutoff,
                "auc" => &got.auc,
                "sensitivity" => &got.sensitivity,
                "specificity" => &got.specificity,
                other => panic!("no such result: {other}"),
            };
            let what = format!("{name} {} at {}", columns[1][row], at[row]);
            let interval = along[place].interval.expect("an interval");
            assert_close(along[place].value, value[row], expected.tolerance, &what);
            assert_close(interval.lower, lower[row], expected.tolerance, &what);
            assert_close(interval.upper, upper[row], expected.tolerance, &what);
        }
    }
}

/// Of an AUC from 30,000 people a class: three standard errors of about 0.002.
const AREA_TOLERANCE: f64 = 0.007;

/// Of the logarithm of the empirical Youden cutoff, which converges with the cube root of the people.
const CUTOFF_TOLERANCE: f64 = 0.1;

#[test]
fn covariate_rocs_of_a_normal_model_have_their_closed_form() {
    const SPREAD: [f64; 2] = [0.5, 0.7];
    let mean =
        |x: f64, with: bool| 0.3 + 0.02 * (x - 40.0) + if with { 0.8 + 0.01 * (x - 40.0) } else { 0.0 };
    let mut random = ChaCha8Rng::seed_from_u64(20_240_605);
    let mut uniform = || ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
    let (mut age, mut index, mut class) = (vec![], vec![], vec![]);
    for person in 0..60_000 {
        let (x, with) = (20.0 + 40.0 * uniform(), person % 2 == 1);
        age.push(x);
        class.push(with);
        index.push((mean(x, with) + SPREAD[usize::from(with)] * normal_quantile(uniform())).exp());
    }
    let weight = vec![1.0; age.len()];
    let unit = vec![0; age.len()];
    let rows = CurveRows { x: &age, value: &index, weight: &weight, unit: &unit };
    let settings =
        RocSettings { spline: spline("20.1 30 45 59.9"), grid: vec![25.0, 40.0, 55.0], reversed: false };
    let grid = settings.grid.clone();
    let got = CovariateModel::new(&rows, &class, settings).and_then(|m| m.fit(&weight)).expect("determined");
    let normal = Normal::standard();
    let (s0, s1) = (SPREAD[0] * SPREAD[0], SPREAD[1] * SPREAD[1]);
    let area = |x: f64| normal.cdf((mean(x, true) - mean(x, false)) / (s0 + s1).sqrt());
    for (at, &x) in got.at.iter().zip(&grid) {
        // Where the densities cross, with distance d: (s1 − s0) c² + 2 s0 d c − s0 d² − 2 s0 s1 ln(σ1 / σ0) =
        // 0.
        let d = mean(x, true) - mean(x, false);
        let (a, b) = (s1 - s0, 2.0 * s0 * d);
        let c = -s0 * d * d - 2.0 * s0 * s1 * (SPREAD[1] / SPREAD[0]).ln();
        let cutoff = mean(x, false) + (-b + (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
        assert_close(at.auc, area(x), AREA_TOLERANCE, &format!("area at {x}"));
        assert_close(at.cutoff, cutoff, CUTOFF_TOLERANCE, &format!("cutoff at {x}"));
    }
    assert_close(got.spread_without, SPREAD[0], AREA_TOLERANCE, "spread without");
    assert_close(got.spread_with, SPREAD[1], AREA_TOLERANCE, "spread with");
}
