//! What the columns of a table may mean, by their names and first values. A guess is shown as one.

use super::answers::{Answers, MISSING, NO_ANSWER, answers};
use super::births::{Birth, birth};
use super::column_names::{bare, lower, squeezed, synonyms};
use super::headers::{clinical, doubt, replicate_weights, with_unit};
use super::invented::says_invented;
use super::survey_weight::{is_no_body, survey_weight};
use crate::definitions::quantity::quantities;
use crate::definitions::{ColumnKind, Quantity, UnitRow, plain_answer};

/// A column as it was seen in the first rows of a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seen {
    pub name: String,
    /// Distinct values, if they are few.
    pub values: Vec<String>,
    /// The middle value of a column of numbers.
    pub middle: Option<f64>,
    /// No two rows have the same value.
    pub all_differ: bool,
    /// Some cells give a limit in place of a number, such as `<2`.
    pub below: bool,
    /// One of its days, such as 1970-05-03, where it holds days.
    pub day: Option<String>,
    /// No row that was looked at holds a value.
    pub empty: bool,
}

/// A guess at the meaning of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct Guessed {
    pub quantity: String,
    pub column: String,
    pub unit: Option<String>,
    pub factor: Option<f64>,
    pub codes: Vec<(String, String)>,
    /// Texts of a coded column that stand for no answer.
    pub missing: Vec<String>,
    /// Texts of a coded column that are not understood: the reader of the study file says what they mean.
    pub uncoded: Vec<String>,
    /// Whether cells such as `<2` give a limit in place of a value.
    pub below: bool,
    /// Whether the column holds no value, so that nothing is to be made of it.
    pub empty: bool,
    /// Why, for the comment beside it.
    pub why: String,
}

/// A guess at a whole table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Map {
    pub id: String,
    /// Whether a column says in every row that was looked at that its people are invented.
    pub invented: bool,
    /// What parts the columns, where a study has to say it.
    pub separator: Option<char>,
    pub decimal_comma: bool,
    /// Whether the table's text is Windows-1252, which a study has to say.
    pub windows_1252: bool,
    pub weight: Option<String>,
    pub stratum: Option<String>,
    pub psu: Option<String>,
    /// How the names of replicate weights begin, and how many there are.
    pub replicate_weights: Option<(String, usize)>,
    pub columns: Vec<Guessed>,
    /// Columns that nothing is made of.
    pub unused: Vec<String>,
    /// Those of them that hold a few texts, or yes and no.
    pub few: Vec<FewTexts>,
    /// What tells when people were born, where nothing tells their age.
    pub birth: Option<Birth>,
}

/// A column that nothing else is made of and that may split people.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct FewTexts {
    pub column: String,
    /// The texts that were seen.
    pub values: Vec<String>,
    /// How it answers, if it holds yes and no.
    pub answers: Option<Answers>,
}

/// Said of a column without a value in the rows that were looked at.
const EMPTY: &str = "the column is empty in every row that was read";

/// So many different texts may split people.
const FEW_TEXTS: std::ops::RangeInclusive<usize> = 2..=8;

const IDS: [&str; 9] =
    ["id", "personid", "patientid", "participantid", "subjectid", "seqn", "pid", "recordid", "code"];
/// Where people were seen, which names none of them.
const SITES: [&str; 7] = ["site", "center", "centre", "clinic", "zentrum", "studienzentrum", "klinik"];
const STRATA: [&str; 4] = ["stratum", "strata", "sdmvstra", "designstratum"];
const UNITS_DRAWN: [&str; 5] = ["psu", "cluster", "sdmvpsu", "primarysamplingunit", "clusterid"];

/// Guesses at every column.
#[must_use]
pub fn guess(seen: &[Seen]) -> Map {
    let filled = || seen.iter().filter(|column| !column.empty);
    let named = |names: &[&str]| filled().find(|column| names.contains(&&*squeezed(&column.name)));
    let name = |column: &Seen| column.name.clone();
    let persons = || seen.iter().filter(|column| !SITES.contains(&&*squeezed(&column.name)));
    let id = named(&IDS)
        .or_else(|| persons().find(|column| column.all_differ))
        .or_else(|| persons().next())
        .or(seen.first());
    let psu = named(&UNITS_DRAWN).map(name);
    let names: Vec<&str> = seen.iter().map(|column| column.name.as_str()).collect();
    let mut map = Map {
        id: id.map(name).unwrap_or_default(),
        invented: seen.iter().any(says_invented_throughout),
        separator: None,
        decimal_comma: false,
        windows_1252: false,
        weight: survey_weight(seen).map(name),
        stratum: named(&STRATA).map(name).filter(|_| psu.is_some()),
        psu,
        replicate_weights: replicate_weights(&names),
        columns: quantities().iter().filter_map(|quantity| column(quantity, seen)).collect(),
        unused: Vec::new(),
        few: Vec::new(),
        birth: None,
    };
    let used = |column: &String| {
        let design = [Some(&map.id), map.weight.as_ref(), map.stratum.as_ref(), map.psu.as_ref()];
        let replicate =
            map.replicate_weights.as_ref().is_some_and(|(beginning, _)| column.starts_with(beginning));
        replicate
            || design.contains(&Some(column))
            || map.columns.iter().any(|guessed| guessed.column == *column)
    };
    map.unused = seen.iter().map(name).filter(|column| !used(column)).collect();
    let unused = seen.iter().filter(|column| map.unused.contains(&column.name));
    map.few = unused.filter_map(few_texts).collect();
    let has_age = map.columns.iter().any(|guessed| guessed.quantity == "age" && !guessed.empty);
    map.birth = birth(seen).filter(|_| !has_age);
    map
}

/// Whether every row that was looked at says that its person is invented.
fn says_invented_throughout(column: &Seen) -> bool {
    matches!(column.values.as_slice(), [only] if says_invented(only))
}

/// A column that may split people: a few texts, none of them a number, or answers.
fn few_texts(column: &Seen) -> Option<FewTexts> {
    let given = column.values.iter().filter(|value| !MISSING.contains(&value.as_str()));
    let texts: Vec<String> = given.cloned().collect();
    let is_number = |text: &String| text.replace(',', ".").parse::<f64>().is_ok();
    let answers = answers(&texts);
    // Days part nobody, however few they are.
    let splits = column.day.is_none()
        && FEW_TEXTS.contains(&texts.len())
        && (answers.is_some() || !texts.iter().any(is_number));
    splits.then(|| FewTexts { column: column.name.clone(), values: texts, answers })
}

fn column(quantity: &Quantity, seen: &[Seen]) -> Option<Guessed> {
    let own = squeezed(&quantity.name);
    let others = synonyms(&quantity.name).iter().chain(clinical(&quantity.name)).copied();
    let names: Vec<&str> = std::iter::once(own.as_str()).chain(others).collect();
    let fits = |column: &&Seen| {
        let with_unit = with_unit(&column.name, quantity);
        if quantity.name == "body_weight" && with_unit.is_none() && is_no_body(column) {
            return false;
        }
        let head = with_unit.map_or(column.name.as_str(), |(head, _)| head);
        [squeezed(&column.name), bare(&column.name), squeezed(head), bare(head)].iter().any(|written| {
            names
                .iter()
                .any(|name| written == name || unit_in(quantity, written.strip_prefix(name)).is_some())
        })
    };
    let found = seen.iter().find(fits)?;
    let mut guessed = Guessed {
        quantity: quantity.name.clone(),
        column: found.name.clone(),
        unit: None,
        factor: None,
        codes: Vec::new(),
        missing: Vec::new(),
        uncoded: Vec::new(),
        below: found.below,
        empty: found.empty,
        why: String::new(),
    };
    match quantity.kind {
        ColumnKind::Number => number(quantity, found, &mut guessed),
        ColumnKind::YesNo | ColumnKind::Category => labels(quantity, found, &mut guessed),
    }
    if found.empty {
        EMPTY.clone_into(&mut guessed.why);
    }
    let doubt = doubt(&quantity.name, &squeezed(&found.name));
    if !doubt.is_empty() {
        guessed.why = format!("{}; {doubt}", guessed.why);
    }
    Some(guessed)
}

/// The unit that what follows a name spells.
fn unit_in<'q>(quantity: &'q Quantity, rest: Option<&str>) -> Option<&'q UnitRow> {
    let rest = rest.filter(|rest| !rest.is_empty())?;
    quantity.units.iter().find(|unit| squeezed(&unit.unit) == rest || squeezed(&unit.suffix) == rest)
}

/// The unit from the name of the column, else the one in which its middle value is most plausible.
fn number(quantity: &Quantity, seen: &Seen, guessed: &mut Guessed) {
    let written = squeezed(&seen.name);
    let behind = with_unit(&seen.name, quantity).map(|(_, unit)| unit);
    // Of a unit without letters or figures, like %, nothing is left to end with.
    let ends = |unit: &str| {
        let unit = squeezed(unit);
        !unit.is_empty() && written.ends_with(&unit)
    };
    let spelt = quantity
        .units
        .iter()
        .find(|unit| quantity.units.len() > 1 && (ends(&unit.unit) || ends(&unit.suffix)));
    let in_name = behind.or(spelt);
    let distance = |unit: &&UnitRow| match (seen.middle, quantity.plausible) {
        (Some(middle), Some(plausible)) if middle > 0.0 => {
            (middle / unit.from_first(plausible, None)).ln().abs()
        }
        _ => 0.0,
    };
    let likely = quantity.units.iter().min_by(|a, b| distance(a).total_cmp(&distance(b)));
    guessed.why = match (in_name, seen.middle) {
        (Some(_), _) => "unit from the column's name".to_owned(),
        (None, Some(middle)) if quantity.units.len() > 1 => {
            format!("unit guessed from its middle value, {middle}")
        }
        (None, None) if quantity.units.len() > 1 => {
            "unit NOT known: its values could not be read as numbers; ask for it".to_owned()
        }
        _ => "name guessed".to_owned(),
    };
    if let Some(unit) = in_name.or(likely) {
        guessed.unit = Some(unit.unit.clone());
        guessed.factor = unit.choices.first().copied();
    }
    if let Some(factor) = guessed.factor {
        let ask = "; the factor too: ask the laboratory whether it is";
        guessed.why = format!("{}{ask} {factor} or another", guessed.why);
    }
}

/// Codes that people use for the labels of a category or a question.
fn labels(quantity: &Quantity, seen: &Seen, guessed: &mut Guessed) {
    let known: &[(&str, &[&str])] = match (quantity.kind, quantity.name.as_str()) {
        // Words for yes and no are known besides.
        (ColumnKind::YesNo, _) => &[("yes", &["1"]), ("no", &["0", "2"])],
        (_, "sex") => &[
            ("male", &["1", "m", "male", "man", "maennlich", "mann"]),
            ("female", &["0", "2", "f", "w", "female", "woman", "weiblich", "frau"]),
        ],
        _ => &[],
    };
    "name guessed".clone_into(&mut guessed.why);
    if known.is_empty() {
        "the text as it stands; name guessed".clone_into(&mut guessed.why);
        return;
    }
    let is_coded_from_0 = seen.values.iter().any(|value| value == "0");
    for value in seen.values.iter().filter(|value| !MISSING.contains(&value.as_str())) {
        let lower = lower(value);
        let word = plain_answer(value).filter(|_| quantity.kind == ColumnKind::YesNo);
        let code = known.iter().find(|(_, codes)| codes.contains(&lower.as_str())).map(|(label, _)| *label);
        // Beside a 0, a 2 may well mean that the answer is not known.
        let code = code.filter(|_| !(is_coded_from_0 && value == "2"));
        match word.map(|yes| if yes { "yes" } else { "no" }).or(code) {
            Some(label) => guessed.codes.push((value.clone(), label.to_owned())),
            None if NO_ANSWER.contains(&value.as_str()) => guessed.missing.push(value.clone()),
            None => guessed.uncoded.push(value.clone()),
        }
    }
    if !guessed.codes.is_empty() {
        "codes guessed".clone_into(&mut guessed.why);
    }
    if !guessed.missing.is_empty() {
        guessed.why.push_str(", missing guessed");
    }
    if !guessed.uncoded.is_empty() {
        let texts: Vec<String> = guessed.uncoded.iter().map(|text| format!("\"{text}\"")).collect();
        let texts = texts.join(", ").replace(['\n', '\r'], " ");
        guessed.why = format!(
            "{}, NOT what {texts} stand for: add them to codes, or list them as missing = [ ]",
            guessed.why
        );
    }
}
