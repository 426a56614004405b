//! The invented survey: its committed files, its design, and its truth.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use cutspan::invented::model::{ANCESTRIES, Sex};
use cutspan::invented::person::Answer;
use cutspan::invented::{self, Person};

fn committed(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data-public").join(name)
}

fn usual() -> Vec<Person> {
    invented::survey(invented::USUAL_SEED, invented::USUAL_PEOPLE).expect("the usual number of people")
}

#[test]
fn the_committed_files_are_what_the_generator_writes() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    invented::write(folder.path(), invented::USUAL_SEED, invented::USUAL_PEOPLE).expect("written");
    for name in [invented::SURVEY_FILE, invented::TRUTH_FILE] {
        let made = fs::read(folder.path().join(name)).expect("written file");
        assert!(made == fs::read(committed(name)).expect("committed file"), "{name} differs");
    }
}

#[test]
fn every_wave_has_ten_strata_of_two_psus_and_one_of_three() {
    let people = usual();
    let psus: BTreeSet<(u32, u32)> =
        people.iter().map(|person| (person.place.stratum, person.place.psu)).collect();
    let strata: BTreeSet<u32> = psus.iter().map(|(stratum, _)| *stratum).collect();
    let expected: BTreeSet<u32> = (1..=3).flat_map(|wave| (1..=10).map(move |h| 100 * wave + h)).collect();
    assert_eq!(strata, expected);
    for stratum in strata {
        let units = psus.iter().filter(|(of, _)| *of == stratum).count();
        assert_eq!(units, if stratum % 100 == 5 { 3 } else { 2 }, "stratum {stratum}");
    }
    assert!((5_600..=6_400).contains(&people.len()), "{}", people.len());
}

#[test]
fn weights_and_missing_values_are_as_described() {
    let people = usual();
    assert!(people.iter().all(|person| person.place.exam_weight > 0.0));
    let count = |holds: &dyn Fn(&Person) -> bool| people.iter().filter(|person| holds(person)).count();
    let fasting = count(&|person| person.place.fasting_weight.is_some_and(|weight| weight > 0.0));
    assert!((people.len() * 2 / 5..people.len() * 3 / 5).contains(&fasting), "{fasting}");
    // People who had not fasted have values, and no weight.
    assert!(count(&|p| p.place.fasting_weight == Some(0.0) && p.insulin_uu_ml.is_some()) > 300);
    assert_eq!(count(&|p| p.place.fasting_weight.is_none() && p.glucose_mg_dl.is_some()), 0);
    assert_eq!(count(&|p| p.place.fasting_weight <= Some(0.0) && p.insulin_resistant.is_some()), 0);
    assert!(count(&|p| p.insulin_below_detection == Some(true) && p.insulin_uu_ml == Some(1.41)) > 10);
    assert_eq!(count(&|p| p.insulin_uu_ml.is_some_and(|insulin| insulin < 1.41)), 0);
    let without_waist = |label: &str| {
        let of = |p: &Person| ANCESTRIES[p.ancestry].label == label;
        count(&|p| of(p) && p.waist_cm.is_none()) as f64 / count(&|p| of(p)) as f64
    };
    assert!(without_waist("Sithrel") > 2.0 * without_waist("Brinnic"));
}

#[test]
fn the_readme_describes_every_column_as_the_generator_does() {
    let readme = fs::read_to_string(committed("README.md")).expect("README");
    for (name, meaning) in invented::file::SURVEY_COLUMNS {
        assert!(readme.contains(&format!("| `{name}` | {meaning} |")), "{name}");
    }
}

/// One number of the truth table, as a share with a denominator: of the people of `group` (and of
/// this outcome, if any), the share `expected` is short of `value`.
struct Share {
    population: String,
    grouping: String,
    group: String,
    measure: String,
    outcome: Option<bool>,
    value: f64,
    expected: f64,
}

/// The rows of the truth table that say which share of a group lies below a value of HOMA-IR.
fn shares() -> Vec<Share> {
    let mut reader = csv::Reader::from_path(committed(invented::TRUTH_FILE)).expect("truth table");
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let number = |row: &csv::StringRecord| row[5].parse::<f64>().expect("a number");
    let cutoff = |of: &csv::StringRecord| {
        let same = |row: &&csv::StringRecord| (0..3).all(|i| row[i] == of[i]) && &row[3] == "youden_cutoff";
        number(rows.iter().find(same).expect("a cutoff"))
    };
    rows.iter()
        .filter_map(|row| {
            let (outcome, value, expected) = match &row[3] {
                "percentile_50" => (None, number(row), 0.50),
                "percentile_75" => (None, number(row), 0.75),
                "percentile_90" => (None, number(row), 0.90),
                "percentile_95" => (None, number(row), 0.95),
                "share_beyond_2" => (None, 2.0, 1.0 - number(row)),
                "sensitivity_at_2" => (Some(true), 2.0, 1.0 - number(row)),
                "specificity_at_2" => (Some(false), 2.0, number(row)),
                "sensitivity" => (Some(true), cutoff(row), 1.0 - number(row)),
                "specificity" => (Some(false), cutoff(row), number(row)),
                _ => return None,
            };
            let [population, grouping, group, measure] = [0, 1, 2, 3].map(|i| row[i].to_owned());
            Some(Share { population, grouping, group, measure, outcome, value, expected })
        })
        .collect()
}

/// What a share needs to know of an adult of the fasting subsample.
struct Adult {
    weight: f64,
    homa_ir: f64,
    resistant: Option<bool>,
    in_cohort: bool,
    levels: [String; 4],
}

fn adult(person: &Person) -> Option<Adult> {
    let weight = person.place.fasting_weight.filter(|weight| *weight > 0.0 && person.age >= 20)?;
    let (glucose, insulin, bmi) = (person.glucose_mg_dl?, person.insulin_uu_ml?, person.bmi?);
    let class = match bmi {
        ..18.5 => "under 18.5",
        ..25.0 => "18.5-24.9",
        ..30.0 => "25-29.9",
        _ => "30 and over",
    };
    let band = ["20-39", "40-59", "60 and over", "60 and over"][(person.age as usize - 20) / 20];
    let sex = if person.sex == Sex::Male { "male" } else { "female" };
    let levels = [sex, ANCESTRIES[person.ancestry].label, class, band].map(str::to_owned);
    Some(Adult {
        weight,
        homa_ir: glucose * insulin / 405.0,
        resistant: person.insulin_resistant,
        in_cohort: person.pregnant != Some(Answer::Yes)
            && person.diabetes_told != Answer::Yes
            && glucose < 126.0,
        levels,
    })
}

impl Share {
    fn counts(&self, adult: &Adult) -> bool {
        let [sex, ancestry, class, band] = &adult.levels;
        let level = match self.grouping.as_str() {
            "everybody" => "everybody".to_owned(),
            "sex" => sex.clone(),
            "ancestry" => ancestry.clone(),
            "bmi_class" => class.clone(),
            "age_20_40_60" => band.clone(),
            _ => format!("{sex} × {class}"),
        };
        (self.population == "adults" || adult.in_cohort)
            && level == self.group
            && (self.outcome.is_none() || adult.resistant == self.outcome)
    }

    /// Weighted excess of people below the value over the expected share, and weight, in one draw.
    fn excess(&self, adults: &[Adult]) -> (f64, f64) {
        adults.iter().filter(|adult| self.counts(adult)).fold((0.0, 0.0), |(excess, weight), adult| {
            let below = f64::from(u8::from(adult.homa_ir < self.value));
            (excess + adult.weight * (below - self.expected), weight + adult.weight)
        })
    }
}

/// Men and women of the contrast differ by the ratio and in nothing else that bears on a cutoff.
#[test]
fn sexes_of_the_contrast_differ_by_the_ratio_alone() {
    const SURVEYS: u64 = 30;
    const STANDARD_ERRORS: f64 = 4.0;
    let drawn = |ratio: f64| -> Vec<Vec<Person>> {
        (0..SURVEYS).map(|seed| invented::contrast_survey(seed, 2_000, ratio).expect("people")).collect()
    };
    let (apart, equal) = (drawn(1.25), drawn(1.0));
    let mean = |surveys: &[Vec<Person>], of: &dyn Fn(&Person) -> Option<f64>| -> Vec<f64> {
        let gap = |people: &Vec<Person>| {
            let mean_of = |sex: Sex| {
                let known = people.iter().filter(|p| p.sex == sex && p.age >= 20);
                let known: Vec<(f64, f64)> =
                    known.filter_map(|p| Some((p.place.fasting_weight?, of(p)?))).collect();
                known.iter().map(|(w, x)| w * x).sum::<f64>() / known.iter().map(|(w, _)| w).sum::<f64>()
            };
            mean_of(Sex::Female) - mean_of(Sex::Male)
        };
        surveys.iter().map(gap).collect()
    };
    let log_homa = |p: &Person| {
        let above = p.insulin_below_detection == Some(false);
        Some((p.glucose_mg_dl? * p.insulin_uu_ml.filter(|_| above)? / 405.0).ln())
    };
    let with = |yes: bool| move |p: &Person| log_homa(p).filter(|_| p.insulin_resistant == Some(yes));
    let known = |yes: Option<bool>| yes.map(|yes| f64::from(u8::from(yes)));
    let checks: [(&str, f64, f64, Vec<f64>); 6] = [
        ("ln HOMA-IR with the outcome, ratio 1.25", 1.25_f64.ln(), 0.01, mean(&apart, &with(true))),
        ("ln HOMA-IR with the outcome, ratio 1", 0.0, 0.0, mean(&equal, &with(true))),
        // Few people without the outcome lie below the detection limit, more of the men.
        ("ln HOMA-IR without the outcome, ratio 1.25", 1.25_f64.ln(), 0.02, mean(&apart, &with(false))),
        ("outcome", 0.0, 0.0, mean(&apart, &|p| known(p.insulin_resistant))),
        ("told of diabetes", 0.0, 0.0, mean(&apart, &|p| known(Some(p.diabetes_told == Answer::Yes)))),
        ("BMI", 0.0, 0.0, mean(&apart, &|p| p.bmi)),
    ];
    for (what, wanted, slack, gaps) in checks {
        let average = gaps.iter().sum::<f64>() / gaps.len() as f64;
        let squares: f64 = gaps.iter().map(|gap| (gap - average).powi(2)).sum();
        let error = (squares / (gaps.len() * (gaps.len() - 1)) as f64).sqrt();
        assert!(
            (average - wanted).abs() < STANDARD_ERRORS * error + slack,
            "{what}: {average} ± {error}, wanted {wanted}"
        );
    }
}

#[test]
fn the_truth_agrees_with_many_drawn_surveys() {
    const SURVEYS: u64 = 40;
    // 396 shares, each further off than this by chance once in 15,000 times.
    const STANDARD_ERRORS: f64 = 4.0;
    let surveys: Vec<Vec<Adult>> = (0..SURVEYS)
        .map(|seed| {
            let people = invented::survey(seed, invented::USUAL_PEOPLE).expect("people");
            people.iter().filter_map(adult).collect()
        })
        .collect();
    let shares = shares();
    assert_eq!(shares.len(), 2 * 22 * 9, "two populations, 22 groups, nine shares");
    for share in shares {
        let parts: Vec<(f64, f64)> = surveys.iter().map(|adults| share.excess(adults)).collect();
        let excess: f64 = parts.iter().map(|(excess, _)| excess).sum();
        let weight: f64 = parts.iter().map(|(_, weight)| weight).sum();
        // Linearised standard error of a ratio; the surveys are independent.
        let off = excess / weight;
        let squares: f64 = parts.iter().map(|(excess, weight)| (excess - off * weight).powi(2)).sum();
        let error = squares.sqrt() / weight;
        let Share { population, grouping, group, measure, .. } = share;
        assert!(
            off.abs() < STANDARD_ERRORS * error + 0.0002,
            "{population}, {grouping} {group}, {measure}: off by {off}, standard error {error}"
        );
    }
}
