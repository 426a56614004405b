//! What is typed about one person: options for the quantities asked most, and how they are read.

use anyhow::{Result, bail};
use clap::Args;

use crate::definitions::Quantity;
use crate::definitions::answer::{Answer, Given};
use crate::definitions::nearest::hint;
use crate::finished::Opened;
use crate::study::Split;

/// The quantities asked most often, each under a name of its own.
#[derive(Debug, Args)]
pub(super) struct Values {
    /// Fasting glucose: 101mg/dL or 5.6mmol/L
    #[arg(long)]
    glucose: Option<String>,
    /// Fasting insulin: 9.8uU/mL (uIU/mL, mU/L), or 59pmol/L with --insulin-factor
    #[arg(long)]
    insulin: Option<String>,
    /// Fasting triglycerides: 150mg/dL or 1.7mmol/L
    #[arg(long)]
    triglycerides: Option<String>,
    /// HDL cholesterol: 43mg/dL or 1.1mmol/L
    #[arg(long)]
    hdl: Option<String>,
    /// Glycated haemoglobin: 5.7% or 39mmol/mol
    #[arg(long)]
    a1c: Option<String>,
    /// female or male, as the survey asks
    #[arg(long)]
    sex: Option<String>,
    /// In years
    #[arg(long)]
    age: Option<String>,
    /// In kg/m²
    #[arg(long)]
    bmi: Option<String>,
    /// In cm
    #[arg(long)]
    waist: Option<String>,
    /// In mm Hg
    #[arg(long)]
    systolic: Option<String>,
    /// In mm Hg
    #[arg(long)]
    diastolic: Option<String>,
    /// One of the survey's own categories
    #[arg(long)]
    ancestry: Option<String>,
    /// Hours since the last food or drink other than water
    #[arg(long)]
    fasting_hours: Option<String>,
    /// yes or no
    #[arg(long)]
    pregnant: Option<String>,
    /// Told by a doctor to have diabetes: yes or no
    #[arg(long)]
    diabetes: Option<String>,
    /// Takes insulin: yes or no
    #[arg(long)]
    insulin_treated: Option<String>,
    /// Takes insulin or pills to lower blood sugar: yes or no
    #[arg(long)]
    glucose_drug: Option<String>,
}

/// Quantities whose option has another name.
pub(super) const FLAGS: [(&str, &str); 17] = [
    ("glucose", "--glucose"),
    ("insulin", "--insulin"),
    ("triglycerides", "--triglycerides"),
    ("hdl", "--hdl"),
    ("a1c", "--a1c"),
    ("sex", "--sex"),
    ("age", "--age"),
    ("bmi", "--bmi"),
    ("waist", "--waist"),
    ("systolic", "--systolic"),
    ("diastolic", "--diastolic"),
    ("ancestry", "--ancestry"),
    ("fasting", "--fasting-hours"),
    ("pregnant", "--pregnant"),
    ("diagnosed_diabetes", "--diabetes"),
    ("insulin_treated", "--insulin-treated"),
    ("glucose_drug", "--glucose-drug"),
];

impl Values {
    /// What was written, by the quantities' names, in the order of [`FLAGS`].
    pub fn written(&self) -> Vec<(String, String)> {
        let all = [
            &self.glucose,
            &self.insulin,
            &self.triglycerides,
            &self.hdl,
            &self.a1c,
            &self.sex,
            &self.age,
            &self.bmi,
            &self.waist,
            &self.systolic,
            &self.diastolic,
            &self.ancestry,
            &self.fasting_hours,
            &self.pregnant,
            &self.diabetes,
            &self.insulin_treated,
            &self.glucose_drug,
        ];
        let given = FLAGS.iter().zip(all).filter_map(|((name, _), value)| Some((name, value.as_ref()?)));
        given.map(|(name, value)| ((*name).to_owned(), value.clone())).collect()
    }
}

/// Answers to named quantities; an unknown or repeated name is an error.
pub(super) fn read(
    quantities: &[Quantity],
    written: &[(String, String)],
    factor: Option<f64>,
) -> Result<Vec<Answer>> {
    let mut answers: Vec<Answer> = Vec::new();
    for (name, value) in written {
        let Some(quantity) = quantities.iter().find(|q| q.name == *name) else {
            let known = quantities.iter().map(|q| q.name.as_str());
            bail!("\"{name}\" is not a quantity. {}", hint(name, known));
        };
        if answers.iter().any(|answer| answer.quantity == *name) {
            bail!("{name} is given twice");
        }
        answers.push(Answer::read(quantity, value, factor)?);
    }
    Ok(answers)
}

/// A label that groups are made of must be one of the survey's; its spelling is the survey's.
pub(super) fn known_level(opened: &Opened, answer: &mut Answer) -> Result<()> {
    let Given::Label(label) = &mut answer.given else { return Ok(()) };
    for (variable, map) in opened.study.variables.iter().zip(&opened.tallies.plan.variables) {
        let Split::Levels { sql, .. } = &variable.split else { continue };
        if *sql != answer.quantity {
            continue;
        }
        match map.labels.iter().find(|known| known.eq_ignore_ascii_case(label)) {
            Some(known) => label.clone_from(known),
            None => bail!(
                "{}: found \"{label}\", which the study's people do not have. {}",
                answer.quantity,
                hint(label, map.labels.iter().map(String::as_str))
            ),
        }
    }
    Ok(())
}
