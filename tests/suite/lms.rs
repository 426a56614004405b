//! Percentile curves by the LMS method: equal to R, and the laws they obey.

use cutspan::stats::interval::normal_quantile;
use cutspan::stats::lms_curve::{LmsModel, lms_curves};
use cutspan::stats::lms_data::{LmsData, Power};
use cutspan::stats::lms_fit::{LmsFit, fit};
use cutspan::stats::percentile_curve::{CurveData, CurveRows, CurveSettings};
use cutspan::stats::{Band, NaturalSpline, Replicates};

use proptest::prelude::*;

use crate::expected::{Expected, Rows, number};
use crate::support::assert_close;

const GRID: [f64; 6] = [20.0, 28.0, 40.0, 55.0, 70.0, 79.0];

fn units(rows: &Rows) -> Vec<u32> {
    rows.numbers("unit").iter().map(|&unit| unit as u32).collect()
}

/// The replicates whose factors the reference lists: one row per unit, replicate after replicate.
fn replicates(units: usize) -> Replicates {
    let file = Rows::read("lms_curve", "factors.csv");
    let (unit, replicate, factor) = (file.numbers("unit"), file.numbers("replicate"), file.numbers("factor"));
    let count = factor.len() / units;
    let mut factors = vec![f64::NAN; factor.len()];
    for row in 0..factor.len() {
        factors[unit[row] as usize * count + replicate[row] as usize] = factor[row];
    }
    assert!(factors.iter().all(|factor| !factor.is_nan()), "a factor for every unit and replicate");
    Replicates { count, factors, scale: 1.0 / count as f64, rscales: vec![1.0; count], kind: "bootstrap" }
}

#[test]
fn curves_parameters_and_bands_equal_r() {
    let input = Rows::read("lms_curve", "input.csv");
    let (age, index, weight) = (input.numbers("age"), input.numbers("index"), input.numbers("weight"));
    let rows = CurveRows { x: &age, value: &index, weight: &weight, unit: &units(&input) };
    let settings = CurveSettings {
        spline: NaturalSpline::new(&[20.0, 35.0, 50.0, 65.0, 79.0]).expect("ascending"),
        grid: GRID.to_vec(),
        probabilities: vec![0.05, 0.25, 0.5, 0.75, 0.9, 0.975],
        reversed: false,
    };
    let expected = Expected::read("lms_curve");
    let band = Band { df: 6.0, confidence: 0.95 };
    for (name, power) in [("constant", Power::Constant), ("spline", Power::Spline)] {
        let data = CurveData::new(&rows, settings.clone()).expect("usable");
        let parameters =
            LmsModel::fit(&rows, &data, power).and_then(|model| model.parameters()).expect("determined");
        let got = lms_curves(&rows, &settings, power, (&replicates(12), band)).expect("determined");
        assert_eq!((got.used, got.failed, got.logarithm), (10, 0, true));
        let own = expected.rows.only("power", name);
        assert_eq!(own.iter().count(), 36, "six percentiles at six places");
        for row in own.iter() {
            let [p, x] = ["p", "x"].map(|column| number(row, column));
            let k = got.probabilities.iter().position(|&q| (q - p).abs() < 1e-9).expect("a probability");
            let g = got.grid.iter().position(|&place| (place - x).abs() < 1e-9).expect("a place");
            let interval = got.interval[k][g].expect("an interval");
            expected.assert(row, "value", got.value[k][g]);
            expected.assert(row, "t_lower", interval.lower);
            expected.assert(row, "t_upper", interval.upper);
            expected.assert(row, "l", parameters[g].l());
            expected.assert(row, "m", parameters[g].m());
            expected.assert(row, "s", parameters[g].s());
        }
    }
}

/// Two maxima of the same likelihood found along different ways.
const SETTLED: f64 = 1e-8;

/// Skewed values that rise with age, by position: no two fits share them by chance.
fn invented(count: usize, seed: u64) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
    let mut state = seed;
    let mut uniform = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    };
    let age: Vec<f64> = (0..count).map(|_| (20.0 + 60.0 * uniform()).floor()).collect();
    let value = age.iter().map(|x| (0.01 * x + 0.4 * normal_quantile(uniform())).exp() + 0.3).collect();
    let weight = (0..count).map(|_| (4.0 * uniform()).ceil()).collect();
    (age, value, weight)
}

fn three_knots() -> NaturalSpline {
    NaturalSpline::new(&[22.0, 50.0, 78.0]).expect("ascending")
}

fn fitted(age: &[f64], value: &[f64], weight: &[f64], power: Power) -> LmsFit {
    let data = LmsData::new(age, value, &three_knots(), power).expect("usable");
    fit(&data, weight, None).expect("determined")
}

/// The percentiles of a few z-scores at a few ages.
fn centiles(fit: &LmsFit) -> Vec<f64> {
    let at = |x: &f64| fit.at(&three_knots().row(*x)).expect("numbers");
    let place = |x: &f64| [-1.3, 0.0, 0.7, 1.3].map(|z| at(x).centile(z).expect("inside"));
    [25.0, 50.0, 70.0].iter().flat_map(place).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn percentiles_follow_the_values_and_the_weights(
        seed in 0_u64..1000, times in 0.02_f64..50.0, by in prop::sample::select(vec![Power::Constant, Power::Spline])
    ) {
        let (age, value, weight) = invented(160, seed);
        let base = centiles(&fitted(&age, &value, &weight, by));
        let check = |got: Vec<f64>, map: &dyn Fn(f64) -> f64, what: &str| {
            got.iter().zip(&base).all(|(got, base)| (got / map(*base) - 1.0).abs() < SETTLED)
                .then_some(()).ok_or_else(|| TestCaseError::fail(format!("{what}: {got:?} {base:?}")))
        };
        let larger: Vec<f64> = value.iter().map(|y| times * y).collect();
        check(centiles(&fitted(&age, &larger, &weight, by)), &|x| times * x, "in another unit")?;
        let heavier: Vec<f64> = weight.iter().map(|w| times * w).collect();
        check(centiles(&fitted(&age, &value, &heavier, by)), &|x| x, "weights times a constant")?;
        let repeat = |of: &[f64]| -> Vec<f64> {
            of.iter().zip(&weight).flat_map(|(x, w)| std::iter::repeat_n(*x, *w as usize)).collect()
        };
        let ones = vec![1.0; repeat(&age).len()];
        check(centiles(&fitted(&repeat(&age), &repeat(&value), &ones, by)), &|x| x, "weight k is the row k times")?;
        let moved = LmsData::new(&age, &value, &three_knots(), by).and_then(|data| {
            let other = fit(&data, &ones[..160], None)?;
            fit(&data, &weight, Some(&other))
        });
        check(centiles(&moved.expect("determined")), &|x| x, "from another start")?;
    }

    #[test]
    fn the_inverse_index_has_the_same_curves_turned_over(seed in 0_u64..1000) {
        let (age, value, weight) = invented(160, seed);
        let inverse: Vec<f64> = value.iter().map(|y| 1.0 / y).collect();
        let curves = |value: &[f64], reversed: bool| {
            let rows = CurveRows { x: &age, value, weight: &weight, unit: &[0; 160] };
            let settings = CurveSettings {
                spline: three_knots(), grid: vec![30.0, 60.0], probabilities: vec![0.1, 0.5, 0.9], reversed
            };
            let data = CurveData::new(&rows, settings).expect("usable");
            let model = LmsModel::fit(&rows, &data, Power::Spline).expect("determined");
            (model.full().expect("inside"), model.shares_below().expect("numbers"))
        };
        let (base, turned) = (curves(&value, false), curves(&inverse, true));
        for (a, b) in base.0.iter().flatten().zip(turned.0.iter().flatten()) {
            prop_assert!((a - b).abs() < SETTLED, "−ln(1/y) is ln y: {a} {b}");
        }
        for (below, p) in base.1.iter().zip([0.1, 0.5, 0.9]) {
            prop_assert!((below - p).abs() < 0.1, "{below} of the people are below P{p}");
        }
        prop_assert!(base.1.iter().zip(&turned.1).all(|(a, b)| (a - b).abs() < SETTLED));
    }
}

#[test]
fn the_share_below_a_curve_is_that_of_the_people_under_it() {
    let (age, value, weight) = invented(160, 11);
    let mut grid = age.clone();
    grid.sort_by(f64::total_cmp);
    grid.dedup();
    let rows = CurveRows { x: &age, value: &value, weight: &weight, unit: &[0; 160] };
    let probabilities = vec![0.1, 0.3, 0.5, 0.9];
    let settings =
        CurveSettings { spline: three_knots(), grid: grid.clone(), probabilities, reversed: false };
    let data = CurveData::new(&rows, settings).expect("usable");
    let model = LmsModel::fit(&rows, &data, Power::Constant).expect("determined");
    let (curves, shares) = (model.full().expect("inside"), model.shares_below().expect("numbers"));
    let total: f64 = weight.iter().sum();
    for (curve, share) in curves.iter().zip(&shares) {
        let at = |x: f64| curve[grid.partition_point(|place| *place < x)];
        let under = (0..160).filter(|&row| value[row].ln() < at(age[row])).map(|row| weight[row]);
        assert_close(*share, under.sum::<f64>() / total, SETTLED, "share below");
    }
}

#[test]
fn with_constant_curves_and_power_one_median_and_spread_are_mean_and_sd() {
    // The same values with the same weights at either end of a line: nothing runs. Raised to the power that was found, they
    // need none any more: a normal distribution, whose likelihood is largest at mean and standard deviation.
    let (_, value, weight) = invented(60, 5);
    let line = NaturalSpline::new(&[20.0, 60.0]).expect("ascending");
    let twice = |of: &[f64]| [of, of].concat();
    let age = [vec![20.0; 60], vec![60.0; 60]].concat();
    let at = |value: &[f64], x: f64| {
        let data = LmsData::new(&age, &twice(value), &line, Power::Constant).expect("usable");
        let fit = fit(&data, &twice(&weight), None).expect("determined");
        fit.at(&line.row(x)).expect("numbers")
    };
    let power = at(&value, 20.0).l();
    assert!(power.abs() > 0.1, "a power that does something: {power}");
    let raised: Vec<f64> = value.iter().map(|y| y.powf(power)).collect();
    let total: f64 = weight.iter().sum();
    let mean =
        |of: &dyn Fn(f64) -> f64| raised.iter().zip(&weight).map(|(y, w)| w * of(*y)).sum::<f64>() / total;
    let average = mean(&|y| y);
    let sd = mean(&|y| (y - average).powi(2)).sqrt();
    for x in [20.0, 60.0] {
        let found = at(&raised, x);
        assert_close(found.l(), 1.0, SETTLED, "power");
        assert_close(found.m(), average, SETTLED, "median and mean");
        assert_close(found.m() * found.s(), sd, SETTLED, "spread");
    }
}
