//! Every row of definitions, tested in one loop, and the rows whose limits or formulas are known
//! from print.

use std::collections::BTreeMap;

use cutspan::definitions::{
    ColumnKind, DefinitionError, Definitions, Index, Standing, WaistTable, exclusions, groups, indices,
    outcomes, waist_tables,
};
use polars::prelude::*;
use polars::sql::sql_expr;

/// Between two ways of computing the same double: a few roundings.
const ROUNDING: f64 = 1e-12;

/// One person: a value or null for every cohort column.
pub type Person = BTreeMap<String, AnyValue<'static>>;

pub fn waist_table(name: &str) -> &'static WaistTable {
    waist_tables().iter().find(|table| table.name == name).unwrap()
}

pub fn built_in() -> Definitions {
    Definitions::built_in(waist_table("united_states"))
}

/// A person with a plausible value in every column; numbers are reported in the first unit.
pub fn plausible(all: &Definitions) -> Person {
    let mut person = Person::new();
    for quantity in &all.quantities {
        match quantity.kind {
            ColumnKind::Number => set(&mut person, all, &quantity.name, 0, quantity.plausible.unwrap()),
            ColumnKind::YesNo => {
                person.insert(quantity.name.clone(), AnyValue::Boolean(false));
            }
            ColumnKind::Category => {
                person.insert(quantity.name.clone(), AnyValue::StringOwned("Brinnic".into()));
            }
        }
    }
    person.insert("sex".to_owned(), AnyValue::String("female"));
    for origin in ["survey", "cycle"] {
        person.insert(origin.to_owned(), AnyValue::String("invented"));
    }
    person
}

/// Fills the columns of a number that was reported in the quantity's unit at position `reported`.
pub fn set(person: &mut Person, all: &Definitions, name: &str, reported: usize, value: f64) {
    let quantity = all.quantities.iter().find(|quantity| quantity.name == name).unwrap();
    let first = quantity.units[reported].to_first(value, None);
    for (position, unit) in quantity.units.iter().enumerate() {
        let given = if position == reported { AnyValue::Float64(value) } else { AnyValue::Null };
        person.insert(quantity.reported_column(unit), given);
        person.insert(quantity.column(unit), AnyValue::Float64(unit.from_first(first, None)));
    }
}

/// The worked person of `indices.toml`.
fn worked(all: &Definitions) -> Person {
    let mut person = plausible(all);
    for (name, value) in [
        ("glucose", 95.0),
        ("insulin", 10.0),
        ("triglycerides", 120.0),
        ("hdl", 50.0),
        ("bmi", 27.0),
        ("waist", 92.0),
        ("body_weight", 78.0),
        ("glucose_30", 150.0),
        ("glucose_60", 160.0),
        ("glucose_90", 140.0),
        ("glucose_120", 120.0),
        ("insulin_30", 60.0),
        ("insulin_60", 80.0),
        ("insulin_90", 70.0),
        ("insulin_120", 50.0),
    ] {
        set(&mut person, all, name, 0, value);
    }
    person
}

/// The type of a cohort column.
fn data_type(all: &Definitions, column: &str) -> DataType {
    let owner = all.quantities.iter().find(|quantity| quantity.columns().iter().any(|name| name == column));
    match owner.map(|quantity| quantity.kind) {
        Some(ColumnKind::Number) => DataType::Float64,
        Some(ColumnKind::YesNo) => DataType::Boolean,
        Some(ColumnKind::Category) | None => DataType::String,
    }
}

/// Runs one SQL expression over people.
pub fn run(all: &Definitions, people: &[Person], sql: &str) -> Column {
    let columns = people[0].keys().map(|name| {
        let cells: Vec<AnyValue> = people.iter().map(|person| person[name].clone()).collect();
        let series = Series::from_any_values_and_dtype(name.into(), &cells, &data_type(all, name), true);
        series.unwrap().into_column()
    });
    let frame = DataFrame::new(people.len(), columns.collect()).unwrap();
    let result = frame.lazy().select([sql_expr(sql).unwrap().alias("result")]).collect().unwrap();
    result.column("result").unwrap().clone()
}

fn number(all: &Definitions, person: &Person, sql: &str) -> Option<f64> {
    run(all, std::slice::from_ref(person), sql).f64().unwrap().get(0)
}

pub fn answer(all: &Definitions, person: &Person, sql: &str) -> Option<bool> {
    run(all, std::slice::from_ref(person), sql).bool().unwrap().get(0)
}

fn index(name: &str) -> &'static Index {
    indices().iter().find(|row| row.name == name).unwrap()
}

pub fn outcome_sql(all: &Definitions, name: &str) -> String {
    all.outcome_sql(all.outcomes.iter().find(|row| row.name == name).unwrap()).unwrap()
}

#[test]
fn every_row_passes_the_checks_that_a_study_row_must_pass() {
    let mut all = built_in();
    (all.indices, all.outcomes, all.exclusions, all.groups) = Default::default();
    for row in indices() {
        all.add_index(row.clone()).unwrap();
        assert_ne!(row.standing, Standing::Study, "{} states how far it can be trusted", row.name);
    }
    for row in outcomes() {
        all.add_outcome(row.clone()).unwrap();
        assert_ne!(row.standing, Standing::Study, "{}", row.name);
    }
    for row in exclusions() {
        all.add_exclusion(row.clone()).unwrap();
        assert_ne!(row.standing, Standing::Study, "{}", row.name);
    }
    for row in groups() {
        all.add_group(row.clone()).unwrap();
        assert_ne!(row.standing, Standing::Study, "{}", row.name);
    }
    assert!(all.indices.len() >= 30 && all.outcomes.len() >= 30 && all.exclusions.len() >= 10);
    assert!(all.groups.len() >= 5 && waist_tables().len() >= 5);
    for (position, table) in waist_tables().iter().enumerate() {
        assert!(waist_tables()[..position].iter().all(|other| other.name != table.name), "{}", table.name);
        assert!((70.0..=110.0).contains(&table.men_cm) && (70.0..=110.0).contains(&table.women_cm));
        assert!(!table.label.is_empty() && !table.source.is_empty());
    }
}

#[test]
fn every_index_is_finite_on_a_plausible_person_and_missing_when_an_input_is() {
    let all = built_in();
    for row in indices() {
        let person = plausible(&all);
        let value = number(&all, &person, &row.sql());
        assert!(value.is_some_and(f64::is_finite), "{}: {value:?}", row.name);
        let read = cutspan::definitions::columns_read(&row.name, &row.sql()).unwrap();
        assert!(!read.is_empty());
        for column in read {
            let mut without = person.clone();
            without.insert(column.clone(), AnyValue::Null);
            let value = number(&all, &without, &row.sql());
            assert_eq!(value, None, "{} without {column}", row.name);
        }
    }
}

#[test]
fn no_index_gives_an_infinite_value_when_its_inputs_are_zero() {
    let all = built_in();
    let zero: Person = plausible(&all)
        .into_iter()
        .map(|(name, value)| {
            let zero = data_type(&all, &name) == DataType::Float64;
            (name, if zero { AnyValue::Float64(0.0) } else { value })
        })
        .collect();
    for row in indices() {
        let value = number(&all, &zero, &row.sql());
        assert!(value.is_none_or(f64::is_finite), "{}: {value:?}", row.name);
    }
}

#[test]
fn every_worked_example_holds() {
    let all = built_in();
    let mut examples = 0;
    for row in indices() {
        for example in &row.worked {
            let mut person = worked(&all);
            match example.person.as_deref() {
                None => {}
                Some("man") => _ = person.insert("sex".to_owned(), AnyValue::String("male")),
                Some("woman") => _ = person.insert("sex".to_owned(), AnyValue::String("female")),
                Some(other) => panic!("{}: no worked person is called {other}", row.name),
            }
            let value = number(&all, &person, &row.sql()).unwrap();
            let off = (value - example.value).abs();
            assert!(
                off <= example.tolerance,
                "{}: {value}, printed {} ({})",
                row.name,
                example.value,
                example.source
            );
            examples += 1;
        }
    }
    assert!(examples >= 28, "{examples}");
}

/// Identity: QUICKI = 1 / log10(405 × HOMA-IR), as computed for round values of HOMA-IR.
#[test]
fn quicki_follows_from_homa_ir() {
    const DIGITS: f64 = 5e-7; // printed with six decimals
    let all = built_in();
    for (homa, quicki) in
        [(0.5, 0.433_571), (1.0, 0.383_516), (2.0, 0.343_822), (2.5, 0.332_735), (5.0, 0.302_441)]
    {
        let mut person = plausible(&all);
        set(&mut person, &all, "glucose", 0, 100.0);
        set(&mut person, &all, "insulin", 0, homa * 4.05);
        let got = number(&all, &person, &index("homa_ir").sql()).unwrap();
        assert!((got - homa).abs() < ROUNDING * homa, "{got}");
        let got = number(&all, &person, &index("quicki").sql()).unwrap();
        assert!((got - quicki).abs() < DIGITS, "HOMA-IR {homa}: {got}");
    }
}

/// Identities: `tyg` = 2 × half-log form − ln 2; the two ratios differ by 38.67 / 88.57.
#[test]
fn two_forms_of_one_index_map_into_each_other() {
    let all = built_in();
    let person = worked(&all);
    let value = |name: &str| number(&all, &person, &index(name).sql()).unwrap();
    let tyg = 2.0 * value("tyg_half_log") - 2f64.ln();
    assert!((value("tyg") - tyg).abs() < ROUNDING * tyg);
    let ratio = value("tg_hdl") * 38.67 / 88.57;
    assert!((value("tg_hdl_mmol") - ratio).abs() < ROUNDING * ratio);
}

/// Indices of one family put the same people in the same order of resistance.
#[test]
fn a_family_ranks_people_alike() {
    let all = built_in();
    let people: Vec<Person> = (0..40)
        .map(|i| {
            let spread =
                |step: usize, low: f64, high: f64| low + (high - low) * ((i * step) % 41) as f64 / 41.0;
            let mut person = plausible(&all);
            set(&mut person, &all, "glucose", 0, spread(17, 70.0, 160.0));
            set(&mut person, &all, "insulin", 0, spread(11, 2.0, 60.0));
            set(&mut person, &all, "triglycerides", 0, spread(7, 30.0, 400.0));
            set(&mut person, &all, "hdl", 0, spread(29, 20.0, 90.0));
            set(&mut person, &all, "bmi", 0, spread(13, 17.0, 45.0));
            person
        })
        .collect();
    let mut families: BTreeMap<&str, Vec<(&str, Vec<usize>)>> = BTreeMap::new();
    for row in indices() {
        let Some(family) = &row.family else { continue };
        let sign = if row.direction == cutspan::definitions::Direction::Higher { 1.0 } else { -1.0 };
        let values = run(&all, &people, &row.sql());
        let values: Vec<f64> = values.f64().unwrap().into_no_null_iter().map(|value| value * sign).collect();
        let mut order: Vec<usize> = (0..people.len()).collect();
        order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
        families.entry(family).or_default().push((&row.name, order));
    }
    assert!(families.len() >= 6, "{:?}", families.keys());
    for (family, members) in families {
        assert!(members.len() > 1, "{family} has one member");
        for (name, order) in &members[1..] {
            assert_eq!(*order, members[0].1, "{name} against {}", members[0].0);
        }
    }
}

#[test]
fn values_and_thresholds_are_rounded_to_the_same_step() {
    let all = built_in();
    let row = Index { resolution: 0.01, ..index("homa_ir").clone() };
    let mut person = plausible(&all);
    set(&mut person, &all, "glucose", 0, 100.0);
    // hand: 100 × 10.10 / 405 = 2.4938, 249 steps of 0.01; 10.125 gives 2.5, 250 steps
    for (insulin, steps, beyond) in [(10.10, 249, false), (10.125, 250, true), (10.11, 250, true)] {
        set(&mut person, &all, "insulin", 0, insulin);
        let value = number(&all, &person, &row.sql()).unwrap();
        assert_eq!(row.step(value), steps, "{value}");
        assert_eq!(number(&all, &person, &row.step_sql()), Some(steps as f64));
        assert_eq!(answer(&all, &person, &row.beyond_sql(2.5, false)), Some(beyond), "{value}");
        assert_eq!(answer(&all, &person, &row.beyond_sql(2.5, true)), Some(false), "{value}");
    }
    set(&mut person, &all, "insulin", 0, 10.125);
    let quicki = index("quicki").beyond_sql(1.0 / (1012.5_f64).log10(), false);
    assert_eq!(answer(&all, &person, &quicki), Some(true), "lower is more resistant");
    let quicki = index("quicki").beyond_sql(0.33, false);
    assert_eq!(answer(&all, &person, &quicki), Some(false));
}

#[test]
fn a_faulty_row_says_what_is_wrong() {
    let mut all = built_in();
    let mut row = index("homa_ir").clone();
    row.name = "own".to_owned();
    row.formula = "glucose_mgdl * 2.0".to_owned();
    let error = all.add_index(row.clone()).unwrap_err().to_string();
    assert!(error.contains("glucose_mgdl") && error.contains("Did you mean \"glucose_mg_dl\"?"), "{error}");
    row.formula = "glucose_mg_dl * (".to_owned();
    assert!(matches!(all.add_index(row.clone()), Err(DefinitionError::Syntax { .. })));
    row.formula = "1.0".to_owned();
    assert!(matches!(all.add_index(row.clone()), Err(DefinitionError::Row { .. })));
    (row.name, row.formula) = ("homa_ir".to_owned(), "glucose_mg_dl".to_owned());
    assert!(all.add_index(row).unwrap_err().to_string().contains("taken"));
    let mut circular = all.outcomes[0].clone();
    (circular.name, circular.formula) = ("a".to_owned(), None);
    (circular.items, circular.at_least) = (vec!["a".to_owned()], Some(1));
    all.outcomes.push(circular.clone());
    assert!(matches!(all.outcome_sql(&circular), Err(DefinitionError::Circular { .. })));
    circular.at_least = Some(2);
    assert!(matches!(all.outcome_sql(&circular), Err(DefinitionError::NoCondition { .. })));
}
