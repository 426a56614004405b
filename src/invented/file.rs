//! The two files of the invented survey: the people and the truth.

use std::fmt::Write as _;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::design::{self, DesignError};
use super::model::{ANCESTRIES, Sex};
use super::person::{Answer, Person};
use super::truth::{TruthRow, truth};

pub const SURVEY_FILE: &str = "veldmark.csv";
pub const TRUTH_FILE: &str = "veldmark-truth.csv";

/// The first column of every row, so that a lone row still says what it is.
const SURVEY: &str = "Veldmark (invented)";

/// Columns of the survey file and what they hold.
pub const SURVEY_COLUMNS: [(&str, &str); 27] = [
    ("survey", "always Veldmark (invented)"),
    ("wave", "wave 1, wave 2 or wave 3, two years each"),
    ("person_id", "identifier, V000001 and on"),
    ("stratum", "sampling stratum, 100 × wave + region"),
    ("psu", "primary sampling unit, numbered within the stratum"),
    ("exam_weight", "people stood for, among all examined of the three waves"),
    ("fasting_weight", "people stood for, among those fasted 8 to 24 hours; 0 not fasted, empty afternoon"),
    ("sex", "1 male, 2 female"),
    ("age", "whole years, 12 to 85"),
    ("ancestry", "Brinnic, Calduen, Orvane or Sithrel"),
    ("pregnant", "1 yes, 2 no, 9 not ascertained; women aged 20 to 44"),
    ("diabetes_told", "told of diabetes: 1 yes, 2 no, 9 does not know"),
    ("glucose_drug", "takes drugs that lower glucose: 1 yes, 2 no"),
    ("blood_pressure_drug", "takes drugs that lower blood pressure: 1 yes, 2 no"),
    ("lipid_drug", "takes drugs for triglycerides or HDL cholesterol: 1 yes, 2 no"),
    ("fasting_hours", "hours since the last meal"),
    ("bmi", "body mass index, kg/m²"),
    ("waist", "waist circumference, cm"),
    ("systolic", "systolic blood pressure, mmHg"),
    ("diastolic", "diastolic blood pressure, mmHg"),
    ("a1c", "glycated haemoglobin, %"),
    ("hdl", "HDL cholesterol, mg/dL"),
    ("glucose", "plasma glucose, mg/dL; morning"),
    ("insulin", "insulin, µU/mL; morning; 1.41 when below the detection limit of 2.00"),
    ("insulin_below_detection", "1 yes, 0 no"),
    ("triglycerides", "triglycerides, mg/dL; morning"),
    ("insulin_resistant", "1 yes, 2 no, by an invented direct measurement; fasting subsample"),
];

const TRUTH_COLUMNS: [&str; 8] =
    ["population", "grouping", "group", "measure", "unit", "value", "precision", "method"];

/// Why the files could not be made.
#[derive(Debug, thiserror::Error)]
pub enum InventError {
    #[error(transparent)]
    Design(#[from] DesignError),
    #[error("cannot write {path}: choose a folder that can be written to", path = path.display())]
    Write { path: PathBuf, source: std::io::Error },
}

/// Writes the survey and its truth into a folder, which is created if need be.
///
/// The same seed and number of people give the same bytes on every platform.
///
/// # Errors
///
/// [`InventError`] if the number of people does not suit the design or a file cannot be written.
pub fn write(folder: &Path, seed: u64, people: usize) -> Result<(), InventError> {
    let sample = design::survey(seed, people)?;
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |source| InventError::Write { path, source }
    };
    fs::create_dir_all(folder).map_err(failed(folder))?;
    for (name, bytes) in [(SURVEY_FILE, survey_csv(&sample)), (TRUTH_FILE, truth_csv(&truth()))] {
        let path = folder.join(name);
        fs::File::create(&path)
            .and_then(|mut file| file.write_all(bytes.as_bytes()))
            .map_err(failed(&path))?;
    }
    Ok(())
}

/// The survey as CSV. No field holds a comma or a quote, so none is quoted.
#[must_use]
pub fn survey_csv(sample: &[Person]) -> String {
    let mut text = SURVEY_COLUMNS.map(|(name, _)| name).join(",");
    text.push('\n');
    for (row, person) in sample.iter().enumerate() {
        text.push_str(&fields(row + 1, person).join(","));
        text.push('\n');
    }
    text
}

/// The truth as CSV.
#[must_use]
pub fn truth_csv(rows: &[TruthRow]) -> String {
    let mut text = TRUTH_COLUMNS.join(",");
    text.push('\n');
    for row in rows {
        let TruthRow { population, grouping, group, measure, unit, value, precision, method } = row;
        let _ = writeln!(
            text,
            "{population},{grouping},{group},{measure},{unit},{value:.4},{precision},{method}"
        );
    }
    text
}

fn fields(number: usize, person: &Person) -> [String; 27] {
    let place = &person.place;
    [
        SURVEY.to_owned(),
        format!("wave {}", place.wave),
        format!("V{number:06}"),
        place.stratum.to_string(),
        place.psu.to_string(),
        decimals(Some(place.exam_weight), 2),
        decimals(place.fasting_weight, 2),
        if person.sex == Sex::Male { "1" } else { "2" }.to_owned(),
        person.age.to_string(),
        ANCESTRIES[person.ancestry].label.to_owned(),
        person.pregnant.map_or("", code).to_owned(),
        code(person.diabetes_told).to_owned(),
        code(person.glucose_drug.into()).to_owned(),
        code(person.blood_pressure_drug.into()).to_owned(),
        code(person.lipid_drug.into()).to_owned(),
        decimals(person.fasting_hours, 1),
        decimals(person.bmi, 1),
        decimals(person.waist_cm, 1),
        decimals(person.systolic_mm_hg, 0),
        decimals(person.diastolic_mm_hg, 0),
        decimals(person.a1c_percent, 1),
        decimals(person.hdl_mg_dl, 0),
        decimals(person.glucose_mg_dl, 0),
        decimals(person.insulin_uu_ml, 2),
        person.insulin_below_detection.map_or("", |below| if below { "1" } else { "0" }).to_owned(),
        decimals(person.triglycerides_mg_dl, 0),
        person.insulin_resistant.map_or("", |yes| code(yes.into())).to_owned(),
    ]
}

fn decimals(value: Option<f64>, places: usize) -> String {
    value.map(|value| format!("{value:.places$}")).unwrap_or_default()
}

fn code(answer: Answer) -> &'static str {
    match answer {
        Answer::Yes => "1",
        Answer::No => "2",
        Answer::Unsure => "9",
    }
}
