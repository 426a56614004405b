//! Groups side by side on replicates that are no bootstrap: against R, and one kind of interval through all tables.

use std::fs;

use cutspan::analysis::Results;
use cutspan::pipeline;
use cutspan::table::Row;

use crate::expected::{Expected, optional};
use crate::supplied::{parse, study_text, table_of};
use crate::support::{assert_close, table};

/// Two ends are printed with twelve digits.
const PRINTED: f64 = 1e-9;
const NUMBERS: [&str; 6] = ["lower", "upper", "ratio", "ratio_lower", "ratio_upper", "difference"];
/// What only the table of pairs has.
const OF_PAIRS: [&str; 4] = ["cutoff", "other_cutoff", "standard_error", "p"];

/// The schools of a case with replicates of some kind, one cutoff also under stated choices.
fn results(case: &str, resampling: &str) -> Results {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(format!("{case}.csv")), table_of(case)).unwrap();
    let text = format!("{}[sensitivity]\nindex = \"score\"\n", study_text(case, resampling));
    pipeline::estimate(&parse(&text, folder.path()).unwrap(), &[]).unwrap()
}

/// The only row of the cohort that says all this.
fn row<'a>(results: &'a Results, name: &str, keep: &[(&str, &str)]) -> Row<'a> {
    let wanted = |row: &Row<'_>| {
        row.text("population") == "cohort" && keep.iter().all(|(column, text)| row.text(column) == *text)
    };
    let found: Vec<Row<'a>> = table(results, name).iter().filter(wanted).collect();
    assert_eq!(found.len(), 1, "{name}: rows of {keep:?}");
    found[0]
}

#[test]
fn groups_side_by_side_are_those_of_r() {
    let expected = Expected::read("replicate_contrast");
    for (kind, resampling) in
        [("fay", "type = \"fay\"\nfay = 0.5"), ("scale", "scale = 0.03\ndegrees_of_freedom = 11")]
    {
        let results = results("adjusted_bootstrap", resampling);
        for want in expected.rows.only("kind", kind).iter() {
            let group = ("group", want["group"].as_str());
            let (got, more) = if want["method"] == "youden" {
                let got = row(&results, "cutoff_differences", &[group, ("rule", "youden")]);
                assert_eq!(got.real("overall"), optional(want, "other_cutoff"), "{want:?}");
                (got, &["cutoff"][..])
            } else {
                let keep = [group, ("other_group", &*want["other_group"]), ("method", &*want["method"])];
                (row(&results, "cutoff_pairs", &keep), &OF_PAIRS[..])
            };
            assert_eq!(got.text("interval"), "replicates_t", "{want:?}");
            assert_eq!(got.whole("df").map(|df| df as f64), optional(want, "df"), "{want:?}");
            for column in NUMBERS.iter().chain(more) {
                expected.assert(want, column, got.real(column).unwrap_or(f64::NAN));
            }
        }
    }
}

/// Columns of a cutoff that another table repeats.
fn same(one: &Row, other: &Row, columns: &[&str]) {
    for column in columns {
        assert_eq!(one.real(column), other.real(column), "{column}");
    }
    let has_ends = one.real("lower").is_some() && one.real("upper").is_some();
    assert_eq!(one.text("interval"), if has_ends { other.text("interval") } else { "" });
}

#[test]
fn every_table_has_the_interval_that_the_replicates_give() {
    let kinds = [
        ("jk1", "type = \"jk1\"", "replicates_t"),
        ("adjusted_bootstrap", "type = \"fay\"\nfay = 0.5", "replicates_t"),
        ("adjusted_bootstrap", "type = \"bootstrap\"", "replicates_percentile"),
    ];
    for (case, resampling, kind) in kinds {
        let results = results(case, resampling);
        let everybody = ("group", "everybody");
        let of_rule = row(&results, "cutoffs", &[everybody, ("rule", "youden")]);
        let smoothed = row(&results, "smoothed_cutoffs", &[everybody]);
        let method = |name: &str| row(&results, "cutoff_methods", &[everybody, ("method", name)]);
        let ends = ["cutoff", "lower", "upper"];
        same(&method("empirical_youden"), &of_rule, &ends);
        same(&method("kernel_smoothed_youden"), &smoothed, &ends);
        assert!(method("kernel_smoothed_youden").real("lower").is_some(), "{resampling}: smooth");
        assert_eq!(of_rule.real("lower").is_some(), case != "jk1", "{resampling}: moves in jumps");
        let normal = method("binormal_box_cox");
        assert_eq!(normal.text("interval"), kind, "{resampling}");
        let (middle, cutoff) = (ends[1..].iter().map(|end| normal.real(end).unwrap()), normal.real("cutoff"));
        let off = (middle.sum::<f64>() / 2.0 / cutoff.unwrap() - 1.0).abs();
        assert_eq!(off < PRINTED, kind == "replicates_t", "{resampling}: t is symmetric, {off}");
        for name in ["empirical_youden", "kernel_smoothed_youden", "binormal_box_cox"] {
            let bootstrap = kind == "replicates_percentile";
            assert_eq!(method(name).real("optimism").is_some(), bootstrap, "{resampling}: {name}");
        }
        let choice = row(&results, "choices", &[everybody, ("kind", "outcome"), ("base", "yes")]);
        for column in ends {
            assert_eq!(choice.real(column), of_rule.real(column), "{resampling}: {column}");
        }
        assert_eq!(choice.text("interval"), of_rule.text("interval"), "{resampling}");
    }
}

/// Variances by two roads.
const ROUNDING: f64 = 1e-9;

#[test]
fn a_pair_turned_round_has_the_interval_turned_round() {
    let results = results("jk1", "type = \"jk1\"");
    let pair = [("group", "male"), ("other_group", "everybody"), ("method", "kernel_smoothed_youden")];
    let got = row(&results, "cutoff_pairs", &pair);
    let number = |column: &str| got.real(column).unwrap_or_else(|| panic!("{column}"));
    assert_eq!(got.text("interval"), "replicates_t");
    assert_close(
        number("lower") + number("upper"),
        2.0 * number("difference"),
        ROUNDING * number("cutoff"),
        "t",
    );
    assert_close(
        number("ratio_lower") * number("ratio_upper"),
        number("ratio").powi(2),
        ROUNDING,
        "t on the log",
    );
    for (end, of_test) in [("ratio_lower", "ratio_lower_t"), ("ratio_upper", "ratio_upper_t")] {
        assert_close(number(end), number(of_test), ROUNDING, end);
    }
    let median = [("group", "male"), ("other_group", "everybody"), ("method", "percentile_50")];
    let none = row(&results, "cutoff_pairs", &median);
    assert!(none.real("lower").is_none() && none.real("p").is_none() && none.text("interval").is_empty());
}
