//! Cutoffs pair by pair and method by method: identities, agreement with other tables, hand values.

use std::path::Path;

use cutspan::analysis::Results;
use cutspan::chart::{Print, draw_all};
use cutspan::pipeline;
use cutspan::study::{self, Study, StudyError};
use cutspan::table::{Row, Table, schema};

use crate::comparison::RESULTS;
use crate::indices::five;
use crate::small_results;
use crate::support::{assert_close, table};

/// Quotients of the same numbers in another order.
const ROUNDING: f64 = 1e-12;
/// An index is rounded to 1e-9 of its unit; cutoffs of proportional indices agree to about that.
const RESOLUTION: f64 = 1e-6;

fn same(a: &Row<'_>, b: &Row<'_>, columns: &[&str]) -> bool {
    columns.iter().all(|column| a.text(column) == b.text(column))
}

const FAMILY: &[&str] = &["index", "outcome", "population", "grouping", "method"];
const EVERYBODY: &str = "everybody";

/// The pairs of groups, without the comparisons with everybody.
fn between(results: &Results) -> Vec<Row<'_>> {
    table(results, "cutoff_pairs").iter().filter(|row| row.text("other_group") != EVERYBODY).collect()
}

fn families<'a>(rows: &[Row<'a>]) -> Vec<Vec<Row<'a>>> {
    let mut families: Vec<Vec<Row<'a>>> = Vec::new();
    for row in rows {
        match families.iter_mut().find(|family| same(&family[0], row, FAMILY)) {
            Some(family) => family.push(*row),
            None => families.push(vec![*row]),
        }
    }
    families
}

#[test]
fn every_pair_of_groups_stands_once_and_none_with_itself() {
    let rows = between(&RESULTS);
    assert!(rows.iter().all(|row| row.text("group") != row.text("other_group")));
    // Sex, age, BMI, ancestry and sex × BMI: 2, 3, 4, 4 and 8 groups.
    let pairs = |k: usize| k * (k - 1) / 2;
    let per_family = [pairs(2), pairs(3), pairs(4), pairs(4), pairs(8)];
    let families = families(&rows);
    // Smoothed and six rules against three outcomes, five percentiles in two populations: 31 in each grouping.
    assert_eq!(families.len(), 5 * (3 * 7 + 5 * 2));
    let mut sizes: Vec<usize> = families.iter().map(Vec::len).collect();
    assert_eq!(sizes.iter().sum::<usize>(), per_family.iter().sum::<usize>() * 31);
    sizes.sort_unstable();
    assert_eq!(sizes.last(), Some(&pairs(8)));
    let names = |row: &Row<'_>| {
        let mut names = [row.text("group").to_owned(), row.text("other_group").to_owned()];
        names.sort();
        names
    };
    for family in &families {
        let mut seen: Vec<_> = family.iter().map(names).collect();
        seen.sort();
        seen.dedup();
        assert_eq!(seen.len(), family.len());
    }
}

#[test]
fn pairs_agree_with_the_differences_from_everybody() {
    let differences = table(&RESULTS, "cutoff_differences");
    let mut checked = 0;
    for row in between(&RESULTS).iter().filter(|row| row.text("method") == "youden") {
        let of = |group: &str| {
            differences.iter().find(|d| {
                same(d, row, &["index", "outcome", "grouping"])
                    && d.text("rule") == "youden"
                    && d.text("group") == group
            })
        };
        // A group in which nobody has the outcome, or everybody, has no row there.
        let ratio_of = |d: Option<Row<'_>>| d.and_then(|d| d.real("ratio"));
        let (a, b) = (of(row.text("group")), of(row.text("other_group")));
        let (Some(ratio), Some(a), Some(b)) = (row.real("ratio"), a, b) else {
            assert!(row.real("ratio").is_none() && (ratio_of(a).is_none() || ratio_of(b).is_none()));
            continue;
        };
        assert_close(ratio, a.real("ratio").unwrap() / b.real("ratio").unwrap(), ROUNDING, "ratio");
        let difference = a.real("difference").unwrap() - b.real("difference").unwrap();
        assert_close(row.real("difference").unwrap(), difference, ROUNDING, "difference");
        checked += 1;
    }
    assert!(checked >= 30, "{checked}");
}

#[test]
fn the_numbers_compared_are_those_of_the_other_tables() {
    let mut checked = [0, 0];
    for row in table(&RESULTS, "cutoff_pairs").iter().filter(|row| row.shown("cutoff").is_some()) {
        let (position, found) = if row.text("method") == "kernel_smoothed_youden" {
            let columns = &["index", "outcome", "population", "grouping", "group"];
            (
                0,
                table(&RESULTS, "smoothed_cutoffs")
                    .iter()
                    .find(|s| same(s, &row, columns))
                    .unwrap()
                    .real("cutoff"),
            )
        } else if let Some(percentile) = row.text("method").strip_prefix("percentile_") {
            let columns = &["index", "population", "grouping", "group"];
            let wanted = percentile.parse().ok();
            let mut of = table(&RESULTS, "percentiles").iter();
            let found = of.find(|p| same(p, &row, columns) && p.real("percentile") == wanted).unwrap();
            // A percentile without an interval of its own is withheld there, and nothing is compared.
            if found.real("value").is_none() {
                assert!(!found.text("withheld").is_empty(), "{} {}", row.text("method"), row.text("group"));
                continue;
            }
            (1, found.real("value"))
        } else {
            continue;
        };
        assert_eq!(row.real("cutoff"), found, "{} {}", row.text("method"), row.text("group"));
        checked[position] += 1;
    }
    assert!(checked[0] >= 40 && checked[1] >= 300, "{checked:?}");
}

#[test]
fn holm_keeps_the_order_and_never_lowers() {
    let mut tested = 0;
    for family in families(&between(&RESULTS)) {
        let mut p: Vec<(f64, f64)> =
            family.iter().filter_map(|row| Some((row.real("p")?, row.real("p_holm")?))).collect();
        assert_eq!(p.len(), family.iter().filter(|row| row.real("p").is_some()).count());
        p.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(p.is_sorted_by(|a, b| a.1 <= b.1) && p.iter().all(|(raw, adjusted)| raw <= adjusted));
        if let Some((raw, adjusted)) = p.first() {
            assert_close(
                *adjusted,
                (raw * p.len() as f64).min(1.0),
                ROUNDING,
                "the smallest by their number",
            );
            tested += 1;
        }
    }
    assert!(tested >= 60, "{tested}");
}

#[test]
fn a_withheld_side_withholds_the_pair_and_is_named() {
    let hidden: Vec<Row<'_>> =
        between(&RESULTS).into_iter().filter(|row| !row.text("withheld").is_empty()).collect();
    assert!(hidden.len() >= 20, "{}", hidden.len());
    for row in &hidden {
        let numbers = ["cutoff", "ratio", "difference", "lower", "p", "p_holm", "standard_error"];
        assert!(numbers.iter().all(|column| row.real(column).is_none()));
        let named = [row.text("group"), row.text("other_group")];
        assert!(named.iter().any(|group| row.text("withheld").contains(&format!("{group}: "))));
    }
}

/// FIRI is HOMA-IR times a constant, and so are its cutoffs: ratios and tests must be the same, on real people.
#[test]
fn proportional_indices_have_the_same_ratios() {
    let Some(results) = five() else { return };
    let rows = table(results, "cutoff_pairs");
    let mut checked = 0;
    for row in rows.iter().filter(|row| row.text("index") == "homa_ir") {
        let columns = &["outcome", "population", "grouping", "group", "other_group", "method"];
        let twin = rows.iter().find(|t| t.text("index") == "firi" && same(t, &row, columns)).unwrap();
        for column in ["ratio", "ratio_lower", "ratio_upper", "ratio_upper_t", "p", "standard_error"] {
            let (a, b) = (row.real(column), twin.real(column));
            assert_eq!(a.is_some(), b.is_some(), "{column}");
            assert_close(a.unwrap_or(0.0), b.unwrap_or(0.0), RESOLUTION, column);
        }
        checked += usize::from(row.real("p").is_some());
    }
    assert!(checked >= 20, "{checked}");
}

#[test]
fn methods_repeat_the_tables_they_come_from_and_none_counts_better_than_the_counted_best() {
    let methods = table(&RESULTS, "cutoff_methods");
    let columns = &["index", "outcome", "population", "grouping", "group"];
    let mut checked = 0;
    for row in methods.iter().filter(|row| row.text("method") == "empirical_youden") {
        let mut cutoffs = table(&RESULTS, "cutoffs").iter();
        let counted = cutoffs.find(|c| same(c, &row, columns) && c.text("rule") == "youden").unwrap();
        for column in ["cutoff", "lower", "upper", "flat_from", "flat_to"] {
            assert_eq!(row.real(column), counted.real(column), "{column}");
        }
        assert_eq!(row.text("withheld"), counted.text("withheld"));
        let Some(best) = row.real("youden") else { continue };
        assert_close(best, row.real("youden_model").unwrap(), ROUNDING, "counted twice");
        assert_close(best, counted.real("youden").unwrap(), ROUNDING, "J");
        assert_close(row.real("optimism").unwrap(), counted.real("optimism").unwrap(), ROUNDING, "optimism");
        for other in methods.iter().filter(|other| same(other, &row, columns)) {
            let Some(youden) = other.real("youden") else { continue };
            assert!(youden <= best + ROUNDING, "{} in {}", other.text("method"), other.text("group"));
            let corrected = youden - other.real("optimism").unwrap();
            assert_close(other.real("youden_corrected").unwrap(), corrected, ROUNDING, "corrected");
            assert!((-1.0..=1.0).contains(&other.real("youden_external").unwrap()));
            let (cutoff, lower, upper) =
                (other.real("cutoff").unwrap(), other.real("lower").unwrap(), other.real("upper").unwrap());
            assert!(lower < upper && lower < cutoff * 1.5 && upper > cutoff / 1.5);
            checked += 1;
        }
    }
    assert!(checked >= 60, "{checked}");
    assert!(methods.iter().all(|row| !row.text("grouping").contains(" × ")));
}

const MIXTURE: &str = "[analysis.mixture]\nresamples = 100\n[resampling]\n";

fn demo(section: &str) -> Result<Study, StudyError> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines");
    let text = include_str!("../../pipelines/demo.toml")
        .replace("[\"homa_ir\", \"tyg\", \"mets_ir\"]", "[\"quicki\", \"homa_ir\"]")
        .replace(
            "groups = [\"sex\", \"age_20_40_60\", \"bmi_class\", \"ancestry\", \"sex × bmi_class\"]",
            "groups = [\"sex\"]",
        )
        .replace("  \"metabolic_syndrome_harmonized_2009\",\n", "")
        .replace("  \"metabolic_syndrome_harmonized_2009_without_glucose\",\n", "")
        .replace("groups = [\"sex\", \"bmi_class\"]", "groups = [\"sex\"]")
        .replace("replicates = 500", "replicates = 100")
        .replace("[resampling]\n", section);
    study::parse(&text, "demo.toml", &folder)
}

#[test]
fn a_mixture_is_fitted_when_asked_for_and_says_what_it_leaves_out() {
    let study = demo(MIXTURE).unwrap();
    // Without the sections that nothing here reads.
    let short = Study { curves: None, sensitivity: None, standardisation: None, ..study.clone() };
    let results = pipeline::estimate(&short, &[]).unwrap();
    let rows: Vec<Row<'_>> = table(&results, "cutoff_methods")
        .iter()
        .filter(|row| row.text("method") == "mixture_crossing")
        .collect();
    assert_eq!(rows.len(), 3, "everybody, women and men; not for QUICKI, of which less is more resistant");
    for row in rows {
        assert_eq!((row.text("index"), row.text("outcome"), row.text("weighted")), ("homa_ir", "", "no"));
        let (shown, hidden) = (row.real("cutoff").is_some(), !row.text("withheld").is_empty());
        assert!(shown != hidden, "{}", row.text("withheld"));
        assert_eq!(shown, row.text("notices").contains("unweighted"), "of no number nothing is remarked");
        assert_eq!(shown, row.real("lower").is_some(), "no crossing without its interval");
    }
    let again = study::parse(&study.resolved_toml, "again.toml", &study.folder).unwrap();
    assert_eq!((again.mixture, &again), (Some(100), &study));
    assert_eq!(demo("[resampling]\n").unwrap().mixture, None);
    let slip = demo("[analysis.mixture]\nresamples = 3\n[resampling]\n").unwrap_err().to_string();
    assert!(slip.contains("between 100 and 2000, found 3") && slip.starts_with("demo.toml:"), "{slip}");
}

/// One pair by hand, one withheld, one that cannot be told apart.
fn few_pairs(secret: f64) -> Vec<Table> {
    let mut pairs = Table::new(schema::shape("cutoff_pairs").unwrap());
    let rows = [
        ("men", EVERYBODY, 1.25, 0.01, "differ by more than noise", ""),
        ("women", EVERYBODY, secret, secret, "", "women: fewer than 30 people"),
        ("men", "others", 0.8, 0.4, "not distinguishable with these data", ""),
    ];
    for (group, other, ratio, p, conclusion, withheld) in rows {
        pairs
            .row()
            .text("survey", "veldmark")
            .text("frame", "fasting")
            .text("index", "homa_ir")
            .text("outcome", "metabolic_syndrome")
            .text("population", "cohort")
            .text("grouping", "sex")
            .text("group", group)
            .text("other_group", other)
            .text("method", "kernel_smoothed_youden")
            .real("ratio", Some(ratio))
            .real("ratio_lower", Some(ratio * 0.9))
            .real("ratio_upper", Some(ratio * 1.1))
            .real("p_holm", Some(p))
            .text("interval", "replicates_percentile")
            .text("conclusion", conclusion)
            .text("withheld", withheld)
            .done()
            .unwrap();
    }
    vec![pairs]
}

#[test]
fn the_chart_of_ratios_shows_what_the_table_says_and_nothing_withheld() {
    let labels = small_results::labels();
    let charts = draw_all(&few_pairs(7.777), &labels, &Print::default()).unwrap();
    assert_eq!(charts.len(), 1);
    let svg = &charts[0].svg;
    for text in
        ["1.25 (1.12–1.38)", "0.80 (0.72–0.88)", "men ÷ others", "0.010", "withheld: fewer than 30 people"]
    {
        assert!(svg.contains(text), "{text}");
    }
    let other = draw_all(&few_pairs(0.001), &labels, &Print::default()).unwrap();
    assert_eq!((svg, &charts[0].caption), (&other[0].svg, &other[0].caption));
}
