//! Every pattern of missing items in a made-up table: counted by hand, and weighed by brute force.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use cutspan::analysis::Results;
use cutspan::pipeline;

use crate::missing::{ANSWERS, DECIDED, SUM, parse, row, whole};
use crate::support::{assert_close, table};

/// Person `i` answers item `j` by digit `j` of `i` in base 3.
fn digit(person: usize, item: u32) -> usize {
    person / 3_usize.pow(item) % 3
}

/// A table with one person for every pattern of yes, no and no answer to five questions; weights 1, 2, 3 ...
fn patterns(folder: &Path) {
    let mut text = "id,weight,sex,glucose,insulin,a,b,c,d,e\n".to_owned();
    for person in 0..243 {
        let (sex, glucose) = (["female", "male"][person % 2], 80 + person % 50);
        write!(text, "{person},{},{sex},{glucose},{}", person + 1, 3 + person % 17).unwrap();
        for item in 0..5 {
            write!(text, ",{}", ["no", "yes", ""][digit(person, item)]).unwrap();
        }
        text.push('\n');
    }
    fs::write(folder.join("patterns.csv"), text).unwrap();
}

fn patterns_study() -> String {
    let mut text = r#"
title = "every pattern"
unreliable = "flag"
question = "test"
[[source]]
survey = "table"
name = "patterns"
files = ["patterns.csv"]
id = "id"
weight = "weight"
[source.columns]
sex = { column = "sex" }
glucose = { column = "glucose", unit = "mg/dL" }
insulin = { column = "insulin", unit = "uU/mL" }
item_a = { column = "a", codes = { yes = "yes", no = "no" } }
item_b = { column = "b", codes = { yes = "yes", no = "no" } }
item_c = { column = "c", codes = { yes = "yes", no = "no" } }
item_d = { column = "d", codes = { yes = "yes", no = "no" } }
item_e = { column = "e", codes = { yes = "yes", no = "no" } }
[cohort]
[analysis]
indices = ["homa_ir"]
outcomes = ["three_of_five", "three_of_five_complete_case", "has_a"]
groups = ["sex"]
rules = ["youden"]
[resampling]
replicates = 20
seed = 1
[[define.outcome]]
name = "has_a"
label = "a"
formula = "item_a"
source = "test"
"#
    .to_owned();
    for name in ["a", "b", "c", "d", "e"] {
        write!(
            text,
            "[[define.quantity]]\nname = \"item_{name}\"\nlabel = \"{name}\"\nkind = \"yes_no\"\nsubsample = \"interview\"\n"
        )
        .unwrap();
        if name != "a" {
            write!(
                text,
                "[[define.outcome]]\nname = \"has_{name}\"\nlabel = \"{name}\"\nformula = \"item_{name}\"\nsource = \"test\"\n"
            )
            .unwrap();
        }
    }
    text + "[[define.outcome]]\nname = \"three_of_five\"\nlabel = \"three of five\"\n\
            items = [\"has_a\", \"has_b\", \"has_c\", \"has_d\", \"has_e\"]\nat_least = 3\nsource = \"test\"\n"
}

fn patterns_results() -> Results {
    let folder = tempfile::tempdir().unwrap();
    patterns(folder.path());
    let study = parse(&patterns_study(), folder.path());
    pipeline::estimate(&study, &[]).unwrap_or_else(|e| panic!("{e:?}"))
}

#[test]
fn every_pattern_of_missing_items_is_counted_as_by_hand() {
    let results = patterns_results();
    let items = table(&results, "outcome_items");
    // hand: three, four or five yes: C(5,3)·2² + C(5,4)·2 + 1 = 40 + 10 + 1 = 51; as many with three no or more
    // (they exclude each other); 243 − 102 = 141 undecided. Without a missing item 2⁵ = 32 patterns, 16 of
    // them yes: of 211 with a missing item 51 − 16 = 35 are decided yes, and 35 no.
    let whole_table = [("outcome", "three_of_five"), ("part", "outcome"), ("group", "everybody")];
    let one = row(items, &whole_table);
    assert_eq!(whole(&one, &ANSWERS), [243, 51, 51, 141].map(Some));
    assert_eq!(whole(&one, &DECIDED), [211, 35, 35, 141].map(Some));
    assert_eq!(whole(&one, &["items", "at_least"]), [5, 3].map(Some));
    let complete = row(
        items,
        &[("outcome", "three_of_five_complete_case"), ("part", "outcome"), ("group", "everybody")],
    );
    assert_eq!(whole(&complete, &ANSWERS), [243, 16, 16, 211].map(Some));
    assert_eq!(whole(&complete, &DECIDED), [211, 0, 0, 211].map(Some));
    for item in ["has_a", "has_b", "has_c", "has_d", "has_e"] {
        let one = row(
            items,
            &[("outcome", "three_of_five"), ("part", "item"), ("item", item), ("group", "everybody")],
        );
        assert_eq!(whole(&one, &ANSWERS), [243, 81, 81, 81].map(Some), "{item}");
    }
    let plain = row(items, &[("outcome", "has_a"), ("part", "outcome"), ("group", "everybody")]);
    assert_eq!(whole(&plain, &ANSWERS), [243, 81, 81, 81].map(Some));
    assert_eq!(whole(&plain, &DECIDED), [None; 4]);
}

#[test]
fn every_pattern_is_weighed_and_split_by_sex_as_by_brute_force() {
    let results = patterns_results();
    let items = table(&results, "outcome_items");
    for (group, sex) in [("everybody", None), ("female", Some(0)), ("male", Some(1))] {
        let (mut people, mut weights, mut decided) = ([0_i64; 3], [0.0_f64; 3], [0_i64; 2]);
        for person in (0..243).filter(|person| sex.is_none_or(|sex| person % 2 == sex)) {
            let of = |answer| (0..5).filter(|&item| digit(person, item) == answer).count();
            let answer = if of(1) >= 3 {
                0
            } else if of(0) >= 3 {
                1
            } else {
                2
            };
            people[answer] += 1;
            weights[answer] += person as f64 + 1.0;
            if answer < 2 && of(2) > 0 {
                decided[answer] += 1;
            }
        }
        let one = row(items, &[("outcome", "three_of_five"), ("part", "outcome"), ("group", group)]);
        assert_eq!(whole(&one, &ANSWERS[1..]), people.map(Some), "{group}");
        assert_eq!(whole(&one, &["decided_yes", "decided_no"]), decided.map(Some), "{group}");
        let all: f64 = weights.iter().sum();
        assert_close(one.real("weighted_n").unwrap(), all, SUM, group);
        for (column, weight) in ["yes_percent", "no_percent", "unknown_percent"].iter().zip(weights) {
            assert_close(one.real(column).unwrap(), 100.0 * weight / all, SUM, column);
        }
        // The prevalence is that among people whose answer is known.
        let common = table(&results, "outcome_prevalence");
        let common = row(common, &[("outcome", "three_of_five"), ("population", "cohort"), ("group", group)]);
        assert_close(
            common.real("prevalence").unwrap_or_else(|| panic!("{}", common.text("withheld"))),
            100.0 * weights[0] / (weights[0] + weights[1]),
            SUM,
            group,
        );
        assert_eq!(whole(&common, &["n_with", "n_without", "n_unknown"]), people.map(Some), "{group}");
    }
    let cautioned = results.notices.iter().filter(|n| n.kind == "unknown_outcome").count();
    assert_eq!(cautioned, 3, "all three outcomes are unknown for more than a tenth");
}
