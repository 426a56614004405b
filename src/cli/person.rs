//! What is typed about one person: options for the quantities asked most, and how they are read.

use anyhow::{Result, bail};
use clap::Args;

use super::unasked::{NOT_ACCOUNTED_FOR, is_not_accounted_for};
use crate::definitions::Quantity;
use crate::definitions::answer::Answer;
use crate::definitions::nearest::hint;

/// The quantities asked most often, each under a name of its own. `unknown` is the same as leaving one out.
#[derive(Debug, Args)]
pub(super) struct Values {
    /// Fasting glucose: 101mg/dL or 5.6mmol/L; with a blank, in quotes: "101 mg/dL"
    #[arg(long, allow_negative_numbers = true)]
    glucose: Option<String>,
    /// Fasting insulin: 9.8uU/mL (uIU/mL, mU/L), or 59pmol/L with --insulin-factor; below the limit of detection "<2uU/mL"
    #[arg(long, allow_negative_numbers = true)]
    insulin: Option<String>,
    /// Fasting triglycerides: 150mg/dL or 1.7mmol/L
    #[arg(long, aliases = other_names("triglycerides"), allow_negative_numbers = true)]
    triglycerides: Option<String>,
    /// HDL cholesterol: 43mg/dL or 1.1mmol/L
    #[arg(long, allow_negative_numbers = true)]
    hdl: Option<String>,
    /// Glycated haemoglobin: 5.7% or 39mmol/mol
    #[arg(long, aliases = other_names("a1c"), allow_negative_numbers = true)]
    a1c: Option<String>,
    /// female or male, as the survey asks (F, M, woman, man)
    #[arg(long, aliases = other_names("sex"))]
    sex: Option<String>,
    /// In years
    #[arg(long, allow_negative_numbers = true)]
    age: Option<String>,
    /// In kg/m²
    #[arg(long, allow_negative_numbers = true)]
    bmi: Option<String>,
    /// In cm, or in inches with the unit: 39in
    #[arg(long, allow_negative_numbers = true)]
    waist: Option<String>,
    /// In mm Hg
    #[arg(long, allow_negative_numbers = true)]
    systolic: Option<String>,
    /// In mm Hg
    #[arg(long, allow_negative_numbers = true)]
    diastolic: Option<String>,
    /// One of the survey's own categories
    #[arg(long, aliases = other_names("ancestry"))]
    ancestry: Option<String>,
    /// Hours since the last food or drink other than water
    #[arg(long, allow_negative_numbers = true)]
    fasting_hours: Option<String>,
    /// yes, no or unknown
    #[arg(long)]
    pregnant: Option<String>,
    /// Told by a doctor to have diabetes: yes, no or unknown
    #[arg(long)]
    diabetes: Option<String>,
    /// Takes insulin: yes, no or unknown
    #[arg(long)]
    insulin_treated: Option<String>,
    /// Takes insulin or pills to lower blood sugar: yes, no or unknown
    #[arg(long)]
    glucose_drug: Option<String>,
    /// Answered with the option that is meant
    #[arg(
        long,
        hide = true,
        aliases = ["diabetes-drug", "diabetes-drugs", "drug", "drugs", "medication", "treated", "pills", "antidiabetic"]
    )]
    metformin: Option<String>,
    /// Answered with the option that is meant
    #[arg(long, hide = true, aliases = ["body-weight"], allow_negative_numbers = true)]
    weight: Option<String>,
    /// Answered with the option that is meant
    #[arg(long, hide = true, allow_negative_numbers = true)]
    height: Option<String>,
    /// Answered with the options that are meant
    #[arg(long, hide = true, aliases = ["bp"], allow_negative_numbers = true)]
    blood_pressure: Option<String>,
}

/// Other names under which people look for a quantity's option; they are read, and not listed.
const OTHER_NAMES: [(&str, &[&str]); 4] = [
    ("triglycerides", &["tg", "trig", "trigs", "triglyceride"]),
    ("a1c", &["hba1c", "hb-a1c"]),
    ("sex", &["gender"]),
    ("ancestry", &["race", "ethnicity"]),
];

fn other_names(quantity: &str) -> Vec<&'static str> {
    let row = OTHER_NAMES.iter().find(|(name, _)| *name == quantity);
    row.map(|(_, names)| names.to_vec()).unwrap_or_default()
}

/// What is meant by names that people try first.
const MEANT: [(&str, &[&str], &str); 3] = [
    (
        "a drug for raised glucose, metformin too",
        &["metformin", "diabetes_drug", "drug", "treated"],
        "--glucose-drug yes, or no where neither insulin nor pills are taken",
    ),
    (
        "weight and height",
        &["weight", "height"],
        "--bmi: the weight in kg, divided by the height in m and again by it",
    ),
    (
        "blood pressure",
        &["blood_pressure", "bp"],
        "--systolic and --diastolic, each in mm Hg: --systolic 138 --diastolic 88",
    ),
];

/// The option of each of these quantities.
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
    /// That an option is none, and the one that is meant.
    pub fn meant(&self) -> Result<()> {
        let tried = [
            self.metformin.is_some(),
            self.weight.is_some() || self.height.is_some(),
            self.blood_pressure.is_some(),
        ];
        match MEANT.iter().zip(tried).find(|(_, tried)| *tried) {
            Some(((what, _, option), _)) => bail!("{what}: write {option}"),
            None => Ok(()),
        }
    }

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

/// Words for an answer that nobody has.
const NOT_STATED: [&str; 7] = ["unknown", "?", "…", "...", "not stated", "not known", ""];

/// What was written, unless it says that nobody knows.
pub(super) fn stated(written: &str) -> Option<String> {
    let known = !NOT_STATED.contains(&written.trim().to_lowercase().as_str());
    known.then(|| written.trim().to_owned())
}

/// Words for the sexes beside the survey's own.
const SEXES: [(&str, &str); 8] = [
    ("f", "female"),
    ("w", "female"),
    ("woman", "female"),
    ("girl", "female"),
    ("m", "male"),
    ("man", "male"),
    ("boy", "male"),
    ("men", "male"),
];

/// The quantity that an option or a quantity's own name means: `fasting-hours`, `--diabetes`, `diagnosed_diabetes`.
pub(super) fn quantity_of(written: &str) -> String {
    let bare = written.trim().trim_start_matches('-').replace('_', "-");
    let flag = FLAGS.iter().find(|(_, flag)| flag.trim_start_matches('-') == bare);
    let name = flag.map(|(name, _)| *name);
    let other = OTHER_NAMES.iter().find(|(_, names)| names.contains(&bare.as_str()));
    name.or(other.map(|(name, _)| *name)).map_or_else(|| bare.replace('-', "_"), str::to_owned)
}

/// Whether an option of this name gives a quantity.
pub(super) fn is_option(name: &str) -> bool {
    FLAGS.iter().any(|(quantity, _)| *quantity == quantity_of(name))
}

/// Answers to named quantities; an unknown or repeated name is an error, and what nobody knows is left out.
pub(super) fn read(
    quantities: &[Quantity],
    written: &[(String, String)],
    factor: Option<f64>,
) -> Result<Vec<Answer>> {
    let mut answers: Vec<Answer> = Vec::new();
    for (name, value) in written {
        let Some(quantity) = quantities.iter().find(|q| q.name == *name) else {
            if is_not_accounted_for(name) {
                bail!("\"{name}\" {NOT_ACCOUNTED_FOR}");
            }
            let known = quantities.iter().map(|q| q.name.as_str());
            let meant = MEANT.iter().find(|(_, names, _)| names.contains(&name.as_str()));
            let hint =
                meant.map_or_else(|| hint(name, known), |(what, _, option)| format!("{what}: {option}"));
            bail!("\"{name}\" is not a quantity. {hint}");
        };
        if answers.iter().any(|answer| answer.quantity == *name) {
            bail!("{name} is given twice");
        }
        let Some(value) = stated(value) else { continue };
        let value = if name == "sex" { sex(&value) } else { &value };
        answers.push(Answer::read(quantity, value, factor)?);
    }
    Ok(answers)
}

/// The survey's word for a sex.
pub(super) fn sex(written: &str) -> &str {
    let known = SEXES.iter().find(|(word, _)| word.eq_ignore_ascii_case(written.trim()));
    known.map_or(written, |(_, sex)| sex)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::quantity::quantities;

    #[test]
    fn a_name_that_people_try_first_means_the_quantity() {
        for (tried, meant) in [
            ("tg", "triglycerides"),
            ("--hba1c", "a1c"),
            ("gender", "sex"),
            ("race", "ancestry"),
            ("fasting-hours", "fasting"),
            ("waist", "waist"),
        ] {
            assert_eq!(quantity_of(tried), meant, "{tried}");
        }
        let refused = read(quantities(), &[("bp".to_owned(), "138/88".to_owned())], None).unwrap_err();
        assert!(refused.to_string().contains("--systolic and --diastolic"), "{refused}");
    }

    #[test]
    fn what_nobody_knows_is_as_if_it_were_left_out() {
        let written = |value: &str| {
            let of = |name: &str| (name.to_owned(), value.to_owned());
            read(quantities(), &["ancestry", "glucose_drug", "sex", "glucose", "age"].map(of), None)
        };
        for value in ["unknown", " Unknown ", "?", ""] {
            assert!(written(value).is_ok_and(|answers| answers.is_empty()), "{value}");
        }
        assert!(read(quantities(), &[("trigs".to_owned(), "unknown".to_owned())], None).is_err());
        let tried = read(quantities(), &[("metformin".to_owned(), "yes".to_owned())], None).unwrap_err();
        assert!(tried.to_string().contains("--glucose-drug yes"), "{tried}");
        let unasked = read(quantities(), &[("steroids".to_owned(), "yes".to_owned())], None).unwrap_err();
        assert!(unasked.to_string().starts_with("\"steroids\" cannot be accounted for: "), "{unasked}");
    }
}
