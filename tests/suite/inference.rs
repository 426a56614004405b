//! Estimators that compare and stabilise cutoffs: values computed elsewhere.

use std::collections::BTreeMap;
use std::path::Path;

use cutspan::stats::covariance::replicate_covariance;
use cutspan::stats::replicate::Replicates;
use cutspan::stats::rule::{self, Rule};
use cutspan::stats::scan::scan;
use cutspan::stats::{
    Design, LonelyPsu, Sample, binormal, external, heterogeneity, logistic, mixture, multiplicity, paired,
    replicate, roc, smooth, spread, standardize,
};

use super::support::assert_close;

/// What rounding may do to a quantity of order 1 when the same sum is made in another order.
pub const ROUNDING: f64 = 1e-9;

/// A file of `tests/reference/`: its columns by name, and the tolerance stated in its header.
struct Table {
    columns: BTreeMap<String, Vec<f64>>,
    tolerance: f64,
}

impl Table {
    fn input(folder: &str) -> Self {
        Self::read(folder, "input.csv", f64::NAN)
    }

    /// Refuses a file without tool, call and tolerance.
    fn expected(folder: &str, file: &str) -> Self {
        let text = std::fs::read_to_string(path(folder, file)).expect("a reference file");
        let header = |key: &str| text.lines().find_map(|line| line.strip_prefix(key)).map(str::trim);
        for key in ["# tool:", "# call:"] {
            assert!(header(key).is_some_and(|found| !found.is_empty()), "{folder}/{file} lacks `{key}`");
        }
        let tolerance = header("# tolerance:").and_then(|found| found.parse().ok());
        Self::read(folder, file, tolerance.expect("a tolerance that is a number"))
    }

    fn read(folder: &str, file: &str, tolerance: f64) -> Self {
        let path = path(folder, file);
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).expect("a file");
        let names: Vec<String> = reader.headers().expect("a header").iter().map(str::to_owned).collect();
        let mut columns: BTreeMap<String, Vec<f64>> = BTreeMap::new();
        for record in reader.records() {
            for (name, field) in names.iter().zip(record.expect("a row").iter()) {
                columns.entry(name.clone()).or_default().push(field.parse().expect("a number"));
            }
        }
        assert!(!columns.is_empty(), "{folder}/{file} has no rows");
        Self { columns, tolerance }
    }

    fn column(&self, name: &str) -> &[f64] {
        self.columns.get(name).unwrap_or_else(|| panic!("no column {name}"))
    }

    #[track_caller]
    fn compare(&self, row: usize, got: &[(&str, f64)]) {
        for (name, got) in got {
            assert_close(*got, self.column(name)[row], self.tolerance, name);
        }
    }
}

fn path(folder: &str, file: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(folder).join(file)
}

/// A sample sorted by value, with whatever else belongs to its rows.
pub fn sorted(value: &[f64], weight: &[f64], unit: &[u32]) -> (Sample, Vec<usize>) {
    let mut rows: Vec<usize> = (0..value.len()).collect();
    rows.sort_by(|&a, &b| value[a].total_cmp(&value[b]));
    (Sample::from_people(value, weight, unit).expect("usable rows"), rows)
}

/// Value, weight, outcome and unit of a reference input.
fn labelled(table: &Table) -> (Sample, Vec<bool>) {
    let value = table.column("value");
    let unit: Vec<u32> = table.columns.get("unit").map_or(vec![0; value.len()], |unit| to_u32(unit));
    let (sample, rows) = sorted(value, table.column("weight"), &unit);
    (sample, rows.iter().map(|&row| table.column("outcome")[row] == 1.0).collect())
}

fn to_u32(column: &[f64]) -> Vec<u32> {
    column.iter().map(|x| *x as u32).collect()
}

/// Units of a design given as stratum and PSU per row, and its jackknife.
fn design_of(stratum: &[f64], psu: &[f64]) -> (Vec<u32>, Design) {
    let mut pairs: Vec<(u32, u32)> = to_u32(stratum).into_iter().zip(to_u32(psu)).collect();
    let rows = pairs.clone();
    pairs.sort_unstable();
    pairs.dedup();
    let mut strata: Vec<u32> = pairs.iter().map(|pair| pair.0).collect();
    strata.dedup();
    let of_unit = pairs.iter().map(|pair| strata.partition_point(|s| *s < pair.0) as u32).collect();
    let unit = rows.iter().map(|row| pairs.partition_point(|pair| pair < row) as u32).collect();
    (unit, Design::new(of_unit, None, LonelyPsu::Fail).expect("pairs"))
}

pub fn pairs_of_units(units: u32) -> Design {
    Design::new((0..units).map(|unit| unit / 2).collect(), None, LonelyPsu::Fail).expect("pairs")
}

#[test]
fn smoothed_youden_agrees_with_scipy() {
    let (sample, class) = labelled(&Table::input("smoothed_youden"));
    let got = smooth::smoothed_youden(&sample, &class).expect("separated");
    Table::expected("smoothed_youden", "expected.csv").compare(
        0,
        &[
            ("cutoff", got.cutoff),
            ("youden", got.youden),
            ("bandwidth_without", got.bandwidth_without),
            ("bandwidth_with", got.bandwidth_with),
        ],
    );
    assert_close(got.sensitivity + got.specificity - 1.0, got.youden, ROUNDING, "J");
    let replicates = Replicates::jackknife(&pairs_of_units(6)).expect("pairs");
    let cutoffs = smooth::smoothed_replicates(&sample, &class, &replicates).expect("separated");
    let expected = Table::expected("smoothed_youden", "expected_replicates.csv");
    assert_eq!(cutoffs.len(), expected.column("cutoff").len());
    for (r, cutoff) in cutoffs.into_iter().enumerate() {
        expected.compare(r, &[("cutoff", cutoff)]);
    }
}

#[test]
fn binormal_youden_agrees_with_scipy() {
    let (sample, class) = labelled(&Table::input("binormal_youden"));
    let got = binormal::binormal(&sample, &class).expect("separated");
    Table::expected("binormal_youden", "expected.csv").compare(
        0,
        &[("cutoff", got.cutoff), ("youden", got.youden), ("auc", got.auc), ("power", got.power)],
    );
    let replicates = Replicates::jackknife(&pairs_of_units(6)).expect("pairs");
    let cutoffs = binormal::binormal_replicates(&sample, &class, &replicates).expect("separated");
    let expected = Table::expected("binormal_youden", "expected_replicates.csv");
    assert_eq!(cutoffs.len(), expected.column("cutoff").len());
    for (r, cutoff) in cutoffs.into_iter().enumerate() {
        expected.compare(r, &[("cutoff", cutoff)]);
    }
}

#[test]
fn mixture_agrees_with_scikit_learn() {
    let input = Table::input("mixture_cutoff");
    let value = input.column("value");
    let sample = Sample::from_people(value, &vec![1.0; value.len()], &vec![0; value.len()]).expect("usable");
    let got = mixture::mixture(&sample).expect("two components");
    Table::expected("mixture_cutoff", "expected.csv").compare(
        0,
        &[
            ("cutoff", got.cutoff),
            ("lower_share", got.lower.share),
            ("lower_mean", got.lower.mean),
            ("lower_sd", got.lower.sd),
            ("upper_mean", got.upper.mean),
            ("upper_sd", got.upper.sd),
            ("bic_gain", got.bic_gain),
        ],
    );
}

#[test]
fn weighted_logistic_agrees_with_scikit_learn() {
    let (sample, class) = labelled(&Table::input("weighted_logistic"));
    let got = logistic::logistic(&sample, &class).expect("overlap");
    let expected = Table::expected("weighted_logistic", "expected.csv");
    expected.compare(0, &[("intercept", got.intercept), ("slope", got.slope)]);
}

#[test]
fn holm_agrees_with_r() {
    let input = Table::input("holm");
    let expected = Table::expected("holm", "expected.csv");
    let got = multiplicity::holm(input.column("p")).expect("p values");
    assert_eq!(got.len(), expected.column("adjusted").len());
    for (row, (adjusted, raw)) in got.into_iter().zip(input.column("p")).enumerate() {
        expected.compare(row, &[("adjusted", adjusted)]);
        assert!(adjusted >= *raw);
    }
}

#[test]
fn heterogeneity_and_spread_agree_with_r() {
    let input = Table::input("heterogeneity");
    let (unit, design) = design_of(input.column("stratum"), input.column("psu"));
    let (sample, rows) = sorted(input.column("value"), input.column("weight"), &unit);
    let replicates = Replicates::jackknife(&design).expect("pairs");
    let log_mean = |group: f64, weight: &[f64]| {
        let members = || (0..rows.len()).filter(|&row| input.column("group")[rows[row]] == group);
        let total: f64 = members().map(|row| weight[row]).sum();
        Ok((members().map(|row| weight[row] * sample.value[row]).sum::<f64>() / total).ln())
    };
    let groups: Vec<_> = [1.0, 2.0, 3.0, 4.0]
        .iter()
        .map(|&group| replicate::estimate(&replicates, &sample, |w| log_mean(group, w)).expect("a mean"))
        .collect();
    let estimates: Vec<f64> = groups.iter().map(|group| group.value).collect();
    let each: Vec<Vec<f64>> = groups.iter().map(|group| group.replicates.clone()).collect();
    let covariance = replicate_covariance(&estimates, &each, &replicates).expect("all succeed");
    let df = design.frame_df();
    let test = heterogeneity::heterogeneity(&estimates, &covariance, df).expect("enough PSUs");
    let tau = spread::between_group_sd(&estimates, &covariance.matrix).expect("four groups");
    let interval = spread::between_group_interval(&estimates, &covariance, df, 0.95).expect("enough PSUs");
    Table::expected("heterogeneity", "expected.csv").compare(
        0,
        &[
            ("frame_df", df),
            ("statistic", test.statistic),
            ("f", test.f),
            ("p_value", test.p_value),
            ("tau", tau),
            ("lower", interval.lower),
            ("upper", interval.upper),
        ],
    );
    // Another first group, and another unit of the index, leave the test as it is.
    let turned: Vec<f64> = estimates.iter().rev().map(|x| x + 1.0).collect();
    let each: Vec<Vec<f64>> = each.iter().rev().map(|row| row.iter().map(|x| x + 1.0).collect()).collect();
    let covariance = replicate_covariance(&turned, &each, &replicates).expect("all succeed");
    let again = heterogeneity::heterogeneity(&turned, &covariance, df).expect("enough PSUs");
    assert_close(again.statistic, test.statistic, ROUNDING * test.statistic, "W");
}

#[test]
fn paired_aucs_agree_with_r() {
    let input = Table::input("paired_auc");
    let (unit, design) = design_of(input.column("stratum"), input.column("psu"));
    let replicates = Replicates::jackknife(&design).expect("pairs");
    let auc = |name: &str| {
        let (sample, rows) = sorted(input.column(name), input.column("weight"), &unit);
        let class: Vec<bool> = rows.iter().map(|&row| input.column("outcome")[row] == 1.0).collect();
        (roc::auc(&sample, &class).expect("both classes"), scan(&sample, &class, &[], &replicates).auc)
    };
    let (first, second) = (auc("first"), auc("second"));
    let df = design.frame_df();
    let got = paired::paired_difference(
        paired::Replicated { value: first.0, replicates: &first.1 },
        paired::Replicated { value: second.0, replicates: &second.1 },
        &replicates,
        df,
        0.95,
    )
    .expect("they differ");
    Table::expected("paired_auc", "expected.csv").compare(
        0,
        &[
            ("df", df),
            ("difference", got.difference),
            ("standard_error", got.standard_error),
            ("lower", got.interval.lower),
            ("upper", got.interval.upper),
            ("p_value", got.p_value),
        ],
    );
}

#[test]
fn optimism_agrees_with_plain_loops() {
    let (sample, class) = labelled(&Table::input("optimism"));
    let given = Table::read("optimism", "factors.csv", f64::NAN);
    let count = given.columns.len();
    let units = given.column("r0").len();
    let factors = (0..units).flat_map(|unit| (0..count).map(move |r| (unit, r)));
    let factors: Vec<f64> = factors.map(|(unit, r)| given.column(&format!("r{r}"))[unit]).collect();
    let replicates = Replicates {
        count,
        factors,
        scale: 1.0 / count as f64,
        rscales: vec![1.0; count],
        kind: "bootstrap",
    };
    let points = roc::curve(&sample, &class).expect("both classes");
    let chosen = points[rule::choose(&points, Rule::Youden, 0.5).expect("a point")];
    let scanned = scan(&sample, &class, &[Rule::Youden], &replicates);
    let full = external::FullSample { sample: &sample, class: &class, chosen_row: chosen.row };
    let got = external::optimism(full, &scanned, &scanned.rules[0], &replicates).expect("cutoffs");
    Table::expected("optimism", "expected.csv").compare(
        0,
        &[
            ("cutoff", chosen.cutoff),
            ("optimism", got.optimism),
            ("corrected", got.corrected),
            ("half_sample_external", got.half_sample_external.expect("both classes outside")),
        ],
    );
    assert_eq!((got.used, got.external_used), (count, count));
}

/// Group of the official table: its people, their age cells, and the standard for these.
fn official_group(input: &Table, unit: &[u32], race: f64, sex: f64) -> (Sample, Vec<usize>, Vec<f64>) {
    let everybody = race == 0.0;
    let wanted = |row: &usize| {
        everybody
            || input.column("race")[*row] == race
                && input.column("sex")[*row] == sex
                && input.column("age")[*row] > 0.0
    };
    let rows: Vec<usize> = (0..unit.len()).filter(wanted).collect();
    let pick = |name: &str| -> Vec<f64> { rows.iter().map(|&row| input.column(name)[row]).collect() };
    let units: Vec<u32> = rows.iter().map(|&row| unit[row]).collect();
    let (sample, order) = sorted(&pick("high"), &pick("weight"), &units);
    let age = pick("age");
    let youngest = if everybody { 55_901.0 } else { 0.0 };
    (
        sample,
        order.iter().map(|&row| age[row] as usize).collect(),
        vec![youngest, 77_670.0, 72_816.0, 45_364.0],
    )
}

#[test]
fn standardised_shares_agree_with_the_official_table() {
    let input = Table::input("standardised_share");
    let (unit, design) = design_of(input.column("stratum"), input.column("psu"));
    let replicates = Replicates::jackknife(&design).expect("several PSUs");
    let expected = Table::expected("standardised_share", "expected.csv");
    for row in 0..expected.column("share").len() {
        let (race, sex) = (expected.column("race")[row], expected.column("sex")[row]);
        let (sample, cell, standard) = official_group(&input, &unit, race, sex);
        let made = standardize::standardised(&sample, &cell, &standard, &replicates).expect("no empty cell");
        let share = replicate::estimate(&made.replicates, &made.sample, |w| {
            let high: f64 = w.iter().zip(&made.sample.value).map(|(w, x)| w * x).sum();
            Ok(high / w.iter().sum::<f64>())
        })
        .expect("a share");
        expected.compare(row, &[("share", share.value), ("standard_error_jackknife", share.standard_error)]);
        // The jackknife follows the linearised error of the post-stratified share closely.
        let linearised = expected.column("standard_error_linearised")[row];
        assert_close(share.standard_error / linearised, 1.0, 0.05, "jackknife over linearised");
    }
}
