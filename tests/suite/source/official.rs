//! The official files: counts and ranges of the codebooks, of every release.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::OnceLock;

use cutspan::definitions::survey::cycles;
use cutspan::source::{Loaded, read, read_all};
use polars::prelude::Float64Chunked;

use super::codebooks::{CODEBOOKS, Codebook};
use super::{counts, cycle, numbers, study, texts, yes_no};
use crate::support::official_data;

/// Number present, least, greatest.
fn range(column: &Float64Chunked) -> (usize, f64, f64) {
    let present: Vec<f64> = column.iter().flatten().collect();
    let least = present.iter().copied().fold(f64::INFINITY, f64::min);
    (present.len(), least, present.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

const ANCESTRY: [&str; 5] = [
    "Mexican American",
    "Other Hispanic",
    "Non-Hispanic White",
    "Non-Hispanic Black",
    "Other or multiracial",
];

const SPOKEN: &str = "glucose_mg_dl > insulin_uu_ml AND triglycerides_mg_dl > hdl_mg_dl AND a1c_percent > bmi_kg_m2 \
    AND glucose_2h_mg_dl > waist_cm AND systolic_mm_hg > fasting_hours AND pregnant AND glucose_drug AND lipid_drug \
    AND pregnant_reported AND total_cholesterol_mg_dl > 0 AND blood_pressure_drug";

/// A release, read once: those of the codebooks, and the one after them.
fn read_cycle(folder: &Path, name: &str) -> &'static Loaded {
    static READ: [OnceLock<Loaded>; CODEBOOKS.len() + 1] = [const { OnceLock::new() }; CODEBOOKS.len() + 1];
    let position = CODEBOOKS.iter().position(|book| book.cycle == name).unwrap_or(CODEBOOKS.len());
    assert!(position < CODEBOOKS.len() || name == "2021-2023", "{name}");
    READ[position].get_or_init(|| {
        let source = cycle(name, 1.0);
        let study = study(vec![source.clone()], SPOKEN);
        read(&study, &source, &[folder.to_path_buf()]).unwrap_or_else(|e| panic!("{e}"))
    })
}

#[test]
fn official_files_hold_what_their_codebooks_say() {
    let Some(folder) = official_data() else { return };
    for book in CODEBOOKS {
        let loaded = read_cycle(&folder, book.cycle);
        check_people(book, loaded);
        check_design(book, loaded);
        check_laboratory(book, loaded);
    }
}

fn check_people(book: &Codebook, loaded: &Loaded) {
    let cycle = book.cycle;
    assert_eq!(loaded.frame.height(), book.people, "{cycle}");
    let sex = counts(texts(loaded, "sex"));
    assert_eq!((sex["male"], sex["female"]), book.men_women, "{cycle}");
    let ancestry = counts(texts(loaded, "ancestry"));
    assert_eq!(ANCESTRY.map(|label| ancestry[label]), book.ancestry, "{cycle}");
    match book.ancestry_detailed {
        Some(expected) => {
            let detailed = counts(texts(loaded, "ancestry_detailed"));
            let found = ["Non-Hispanic Asian", "Other or multiracial"].map(|label| detailed[label]);
            assert_eq!(found, expected, "{cycle}");
            assert_eq!(ANCESTRY[..4].iter().map(|l| detailed[l]).collect::<Vec<_>>(), book.ancestry[..4]);
        }
        None => assert!(loaded.frame.column("ancestry_detailed").is_err(), "{cycle}"),
    }
    let men = book.men_women.0;
    let pregnant = yes_no(loaded, "pregnant");
    let of = |answer: bool| pregnant.iter().flatten().filter(|p| *p == answer).count();
    assert_eq!((of(true), of(false) - men), book.pregnant, "{cycle}");
    let age = numbers(loaded, "age_years");
    let oldest = age.iter().flatten().filter(|a| *a == book.top_age.0).count();
    assert_eq!((range(age).2, oldest), book.top_age, "{cycle}");
}

fn check_design(book: &Codebook, loaded: &Loaded) {
    let cycle = book.cycle;
    let (strata, psus) = (texts(loaded, "stratum"), texts(loaded, "psu"));
    let pairs: BTreeSet<(&str, &str)> =
        strata.iter().zip(psus.iter()).map(|(s, p)| (s.unwrap(), p.unwrap())).collect();
    let numbers_of_strata: BTreeSet<u32> = pairs.iter().map(|(s, _)| s.parse().unwrap()).collect();
    let ends = (*numbers_of_strata.first().unwrap(), *numbers_of_strata.last().unwrap());
    assert_eq!(ends, book.strata, "{cycle}");
    assert_eq!(pairs.len() - numbers_of_strata.len(), book.df, "{cycle}");
    assert!(loaded.has_design);
    for column in ["weight_interview", "weight_examination"] {
        let weights = numbers(loaded, column);
        assert_eq!(weights.iter().flatten().count(), book.people, "{cycle} {column}");
        assert!(range(weights).1 >= 0.0);
    }
}

fn check_laboratory(book: &Codebook, loaded: &Loaded) {
    let cycle = book.cycle;
    assert_eq!(range(numbers(loaded, "glucose_mg_dl")), book.glucose, "{cycle}");
    assert_eq!(range(numbers(loaded, "insulin_uu_ml")), book.insulin, "{cycle}");
    let optional = |column: &str| loaded.frame.column(column).ok().map(|c| range(c.f64().unwrap()));
    assert_eq!(optional("triglycerides_mg_dl"), book.triglycerides, "{cycle}");
    assert_eq!(optional("glucose_2h_mg_dl"), book.glucose_2h, "{cycle}");
    let weights = numbers(loaded, "weight_fasting");
    let positive = weights.iter().flatten().filter(|w| *w > 0.0).count();
    assert_eq!(weights.iter().flatten().count(), book.fasting_rows.0, "{cycle}");
    if let Some(expected) = book.fasting_rows.1 {
        assert_eq!(positive, expected, "{cycle}");
    }
}

/// hand: glucose and insulin present with a positive fasting weight. Published for 2017 on (people with a
/// weight less those without insulin), 2011-2012 and 2013-2014 (N of the table of insulin percentiles).
const WITH_INSULIN: &[(&str, usize)] =
    &[("2011-2012", 2704), ("2013-2014", 2848), ("2017-2018", 2650), ("2017-2020", 4364)];

#[test]
fn people_with_insulin_and_a_weight_are_as_many_as_published() {
    let Some(folder) = official_data() else { return };
    for (name, expected) in WITH_INSULIN {
        let loaded = read_cycle(&folder, name);
        let weights = numbers(loaded, "weight_fasting").iter();
        let counted = weights.zip(numbers(loaded, "insulin_uu_ml").iter());
        let counted = counted.filter(|(w, i)| w.is_some_and(|w| w > 0.0) && i.is_some()).count();
        assert_eq!(counted, *expected, "{name}");
    }
}

#[test]
fn insulin_below_detection_is_marked_as_often_as_the_codebooks_say() {
    let Some(folder) = official_data() else { return };
    for (name, expected) in [("2003-2004", 16), ("2015-2016", 1), ("2017-2018", 7), ("2017-2020", 7)] {
        let loaded = read_cycle(&folder, name);
        let marked = yes_no(loaded, "insulin_below_detection").iter().flatten().filter(|yes| *yes).count();
        assert_eq!(marked, expected, "{name}");
    }
    let loaded = read_cycle(&folder, "2013-2014");
    assert!(loaded.frame.column("insulin_below_detection").is_err());
}

#[test]
fn people_without_weight_keep_their_values() {
    let Some(folder) = official_data() else { return };
    // published: 180 people of 2017-2018 and 268 of 2017-2020 had not fasted, 175 and 261 of them have insulin
    for (name, expected) in [("2017-2018", 175), ("2017-2020", 261)] {
        let loaded = read_cycle(&folder, name);
        let weights = numbers(loaded, "weight_fasting").iter();
        let unfasted = weights.zip(numbers(loaded, "insulin_uu_ml").iter());
        let unfasted = unfasted.filter(|(w, i)| *w == Some(0.0) && i.is_some()).count();
        assert_eq!(unfasted, expected, "{name}");
    }
}

#[test]
fn millimoles_come_from_milligrams() {
    let Some(folder) = official_data() else { return };
    let loaded = read_cycle(&folder, "2017-2018");
    let pairs = numbers(loaded, "glucose_mg_dl").iter().zip(numbers(loaded, "glucose_mmol_l").iter());
    let both: Vec<(f64, f64)> = pairs.filter_map(|(mg, mmol)| mg.zip(mmol)).collect();
    assert_eq!(both.len(), 2891, "published: values of glucose in GLU_J");
    for (mg, mmol) in both {
        // hand: molar mass 180.156 g/mol; the released SI column has three figures only (451 → 25)
        assert!((mmol * 18.0156 - mg).abs() < 1e-9);
    }
    assert_eq!(numbers(loaded, "glucose_reported_mmol_l").null_count(), loaded.frame.height());
}

#[test]
fn systolic_means_equal_the_released_averages() {
    let Some(folder) = official_data() else { return };
    let released = csv_columns(&folder.join("nhanes/1999-2000/BPX.csv"), ["SEQN", "BPXSAR", "BPXDAR"]);
    let loaded = read_cycle(&folder, "1999-2000");
    let people = texts(loaded, "person").iter().flatten();
    let means = numbers(loaded, "systolic_mm_hg").iter().zip(numbers(loaded, "diastolic_mm_hg").iter());
    let means: std::collections::BTreeMap<&str, _> =
        people.map(|p| p.rsplit('/').next().unwrap()).zip(means).collect();
    let (mut systolic, mut diastolic) = (0, 0);
    for [id, released_systolic, released_diastolic] in &released {
        let (s, d) = means[id.as_str()];
        // The released averages are rounded to whole numbers, halves either way.
        let near = |mean: f64, released: &str| (mean - released.parse::<f64>().unwrap()).abs() <= 0.5;
        assert_eq!(s.is_none(), released_systolic.is_empty(), "{id}");
        systolic += usize::from(s.is_some_and(|s| near(s, released_systolic)));
        // A released average of 0 stands for readings that are all zero: missing here.
        assert_eq!(d.is_none(), released_diastolic.is_empty() || released_diastolic == "0", "{id}");
        diastolic += usize::from(d.is_some_and(|d| near(d, released_diastolic)));
    }
    let present = |column: &str| loaded.frame.height() - numbers(loaded, column).null_count();
    assert_eq!(systolic, present("systolic_mm_hg"));
    assert_eq!(diastolic, present("diastolic_mm_hg"));
    assert!(systolic > 7000 && diastolic > 7000);
}

fn csv_columns(path: &Path, names: [&str; 3]) -> Vec<[String; 3]> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let header = reader.headers().unwrap().clone();
    let at = names.map(|name| header.iter().position(|h| h == name).unwrap());
    reader.records().map(|record| record.map(|r| at.map(|i| r[i].to_owned())).unwrap()).collect()
}

#[test]
fn the_cycle_of_2021_holds_what_was_met_in_its_files() {
    let Some(folder) = official_data() else { return };
    let loaded = read_cycle(&folder, "2021-2023");
    assert_eq!(loaded.frame.height(), 11933);
    assert_eq!(range(numbers(loaded, "glucose_mg_dl")), (3672, 59.0, 561.0));
    assert_eq!(range(numbers(loaded, "insulin_uu_ml")), (3510, 0.35, 699.9));
    assert!(loaded.frame.column("triglycerides_mg_dl").is_err());
    let kinds: BTreeSet<&str> = loaded.notices.iter().map(|n| n.kind).collect();
    for kind in ["survey_map_standing", "quantity_absent", "phlebotomy_weight", "blood_pressure_protocol"] {
        assert!(kinds.contains(kind), "{kind} is not said: {kinds:?}");
    }
}

/// A count of people: weights are released with a dozen digits and summed by the ten thousand.
const PEOPLE: f64 = 1.0;

#[test]
fn pooled_weights_stand_for_one_population() {
    let Some(folder) = official_data() else { return };
    let pool = |sources: &[(&str, f64)]| {
        let sources = sources.iter().map(|(name, share)| cycle(name, *share)).collect();
        read_all(&study(sources, "glucose_mg_dl > insulin_uu_ml"), std::slice::from_ref(&folder)).unwrap()
    };
    let total = |loaded: &Loaded| numbers(loaded, "weight_interview").iter().flatten().sum::<f64>();
    let single = |name: &str| total(read_cycle(&folder, name));
    let pooled = pool(&[("2013-2014", 0.5), ("2015-2016", 0.5)]);
    let expected = f64::midpoint(single("2013-2014"), single("2015-2016"));
    assert!((total(&pooled) - expected).abs() < PEOPLE);
    assert_eq!(pooled.frame.height(), 10175 + 9971);
    // Four-year weights of both cycles together stand for the population once; twice would be 100 % off.
    let early = total(&pool(&[("1999-2000", 1.0), ("2001-2002", 1.0)]));
    let two_year = f64::midpoint(single("1999-2000"), single("2001-2002"));
    assert!((early / two_year - 1.0).abs() < 0.02, "{early} {two_year}");
}

#[test]
fn pooling_says_what_does_not_fit() {
    let Some(folder) = official_data() else { return };
    let kinds = |sources: &[&str]| {
        let sources = sources.iter().map(|name| cycle(name, 0.5)).collect();
        let loaded = read_all(&study(sources, "insulin_uu_ml > 2"), std::slice::from_ref(&folder)).unwrap();
        loaded.notices.iter().map(|n| n.kind).collect::<BTreeSet<_>>()
    };
    assert!(kinds(&["2011-2012", "2013-2014"]).contains("pooled_assays"));
    assert!(!kinds(&["2013-2014", "2015-2016"]).contains("pooled_assays"));
    let both = vec![cycle("2017-2018", 0.5), cycle("2017-2020", 0.5)];
    let error = read_all(&study(both, "age_years > 20"), &[folder]).unwrap_err().to_string();
    assert!(error.contains("same people"), "{error}");
}

#[test]
fn every_cycle_gives_the_same_columns_when_read_for_a_study() {
    let Some(folder) = official_data() else { return };
    let mut layouts = BTreeSet::new();
    for name in cycles("nhanes").unwrap() {
        let study = study(vec![cycle(&name, 1.0)], "age_years > 20");
        let loaded = read_all(&study, std::slice::from_ref(&folder)).unwrap();
        let quantities: Vec<(String, String)> = loaded
            .frame
            .columns()
            .iter()
            .map(|c| (c.name().to_string(), c.dtype().to_string()))
            .filter(|(name, _)| !name.starts_with("weight_"))
            .collect();
        layouts.insert(quantities);
    }
    assert_eq!(layouts.len(), 1);
}
