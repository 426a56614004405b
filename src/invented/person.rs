//! One invented person: the truth about somebody and what the survey recorded.

use super::draws::Draws;
use super::model::{self, ANCESTRIES, Sex, Traits};

/// Insulin is not told apart from zero below this (µU/mL); it is recorded as the limit over √2.
pub const INSULIN_DETECTION_LIMIT: f64 = 2.00;
const BELOW_DETECTION: f64 = 1.41;

/// Chance that somebody is asked to come in the morning, without food.
pub const MORNING: f64 = 0.62;

/// Where and with which weight somebody was examined.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    pub wave: u32,
    pub stratum: u32,
    pub psu: u32,
    pub exam_weight: f64,
    /// Zero for people who came in the morning and had not fasted, missing for the afternoon.
    pub fasting_weight: Option<f64>,
}

/// Answer to a question; `Unsure` is code 9.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    Yes,
    No,
    Unsure,
}

impl From<bool> for Answer {
    fn from(yes: bool) -> Self {
        if yes { Self::Yes } else { Self::No }
    }
}

/// What was asked and measured, rounded as recorded; `None` is missing.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    pub place: Place,
    pub sex: Sex,
    pub age: u32,
    /// Position in [`ANCESTRIES`].
    pub ancestry: usize,
    pub pregnant: Option<Answer>,
    pub diabetes_told: Answer,
    pub glucose_drug: bool,
    pub blood_pressure_drug: bool,
    pub lipid_drug: bool,
    pub fasting_hours: Option<f64>,
    pub bmi: Option<f64>,
    pub waist_cm: Option<f64>,
    pub systolic_mm_hg: Option<f64>,
    pub diastolic_mm_hg: Option<f64>,
    pub a1c_percent: Option<f64>,
    pub hdl_mg_dl: Option<f64>,
    pub glucose_mg_dl: Option<f64>,
    pub insulin_uu_ml: Option<f64>,
    pub insulin_below_detection: Option<bool>,
    pub triglycerides_mg_dl: Option<f64>,
    pub insulin_resistant: Option<bool>,
}

/// When somebody came, and in which state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Session {
    Fasted,
    /// In the morning, but not 8 to 24 hours after the last meal.
    NotFasted,
    Afternoon,
}

/// The state of body on which several measurements rest.
struct Body {
    traits: Traits,
    resistant: bool,
    told: bool,
    /// ln HOMA-IR, fasting.
    log_homa: f64,
    /// mg/dL, fasting, whole.
    glucose: f64,
}

/// Draws what the model says of a person of these traits and what the survey records of it.
///
/// `psu_effect` is the PSU's share in ln HOMA-IR.
pub fn draw(traits: Traits, psu_effect: f64, place: Place, session: Session, draws: &mut Draws) -> Person {
    let body = draw_body(traits, psu_effect, draws);
    let mut person = asked(&body, place, draws);
    examine(&mut person, &body, draws);
    if session != Session::Afternoon {
        take_blood(&mut person, &body, session, draws);
    }
    let hours = match session {
        Session::Fasted => draws.between(8.0, 15.9),
        Session::NotFasted if draws.chance(0.1) => draws.between(24.1, 30.0),
        Session::NotFasted => draws.between(1.0, 7.9),
        Session::Afternoon => draws.between(0.5, 6.0),
    };
    person.fasting_hours = recorded(hours, 1, 0.01, draws);
    person
}

/// BMI as recorded of somebody in a PSU with this effect on ln BMI.
pub fn draw_bmi(region: usize, person: (Sex, u32, usize), psu_effect: f64, draws: &mut Draws) -> f64 {
    let (sex, age, ancestry) = person;
    let (within, _) = model::log_bmi_spreads();
    let log = model::log_bmi_mean(region, sex, age, ancestry) + psu_effect + within * draws.normal();
    let (least, most) = (*model::BMI_TENTHS.start(), *model::BMI_TENTHS.end());
    (log.exp() * 10.0).round().clamp(f64::from(least), f64::from(most)) / 10.0
}

fn draw_body(traits: Traits, psu_effect: f64, draws: &mut Draws) -> Body {
    let resistant = draws.chance(model::resistant(&traits));
    let told = draws.chance(model::told_diabetes(&traits, resistant));
    let (within, _) = model::log_homa_spreads();
    let log_homa = model::log_homa(&traits, resistant).mean + psu_effect + within * draws.normal();
    let glucose = model::log_glucose(&traits, resistant, told);
    let glucose = (glucose.mean + glucose.sd * draws.normal()).exp().round();
    Body { traits, resistant, told, log_homa, glucose }
}

/// The interview: pregnancy, diagnosis, drugs. Measurements are still missing.
fn asked(body: &Body, place: Place, draws: &mut Draws) -> Person {
    let traits = &body.traits;
    let years = f64::from(traits.age);
    let unsure = |answer: bool, draws: &mut Draws| {
        if !answer && draws.chance(0.005) { Answer::Unsure } else { Answer::from(answer) }
    };
    let pregnant = model::may_be_pregnant(traits).then(|| {
        let pregnant = draws.chance(model::PREGNANT);
        unsure(pregnant, draws)
    });
    let pressure = model::logistic(-1.9 + 0.06 * (years - 50.0) + 0.05 * (traits.bmi - 27.0));
    let lipid = model::logistic(-2.1 + 0.06 * (years - 50.0) + if body.told { 1.2 } else { 0.0 });
    Person {
        place,
        sex: traits.sex,
        age: traits.age,
        ancestry: traits.ancestry,
        pregnant,
        diabetes_told: unsure(body.told, draws),
        glucose_drug: body.told && draws.chance(0.8),
        blood_pressure_drug: draws.chance(pressure),
        lipid_drug: draws.chance(lipid),
        fasting_hours: None,
        bmi: None,
        waist_cm: None,
        systolic_mm_hg: None,
        diastolic_mm_hg: None,
        a1c_percent: None,
        hdl_mg_dl: None,
        glucose_mg_dl: None,
        insulin_uu_ml: None,
        insulin_below_detection: None,
        triglycerides_mg_dl: None,
        insulin_resistant: None,
    }
}

/// The examination, which everybody has: body size, blood pressure, A1c, HDL cholesterol.
fn examine(person: &mut Person, body: &Body, draws: &mut Draws) {
    let Traits { sex, age, ancestry, bmi } = body.traits;
    let years = f64::from(age) - 45.0;
    let unmeasured = ANCESTRIES[ancestry].unmeasured;
    let homa = body.log_homa - 2.0_f64.ln();
    let waist = 96.0 + 2.2 * (bmi - 27.0) + 0.12 * years - sex.if_female(5.0) + 5.0 * draws.normal();
    let systolic = 120.0 + 0.42 * years + 0.5 * (bmi - 27.0) - sex.if_female(3.0) + 13.0 * draws.normal();
    let diastolic = 72.0 + 0.3 * (systolic - 120.0) - 0.08 * years + 7.0 * draws.normal();
    let a1c = 5.45 + 0.006 * years + 0.02 * (body.glucose - 97.0) + 0.25 * draws.normal();
    let hdl = (50.0_f64.ln() + sex.if_female(0.14) - 0.13 * homa + 0.2 * draws.normal()).exp();
    person.bmi = recorded(bmi, 1, 0.01, draws);
    person.waist_cm = recorded(waist, 1, unmeasured, draws);
    person.systolic_mm_hg = recorded(systolic, 0, unmeasured, draws);
    person.diastolic_mm_hg = recorded(diastolic, 0, 0.0, draws).filter(|_| person.systolic_mm_hg.is_some());
    person.a1c_percent = recorded(a1c.max(3.8), 1, 0.03, draws);
    person.hdl_mg_dl = recorded(hdl, 0, 0.03, draws);
}

/// The morning blood sample, and the outcome of those who had fasted.
fn take_blood(person: &mut Person, body: &Body, session: Session, draws: &mut Draws) {
    let homa = body.log_homa - 2.0_f64.ln();
    let meal = if session == Session::Fasted { 0.0 } else { 1.0 };
    let glucose = (body.glucose * (1.0 + 0.10 * meal)).round();
    let insulin = body.log_homa.exp() * 405.0 / body.glucose * (1.0 + 0.9 * meal);
    let triglycerides = 102.0_f64.ln() + 0.28 * homa - person.sex.if_female(0.1) + 0.2 * meal;
    let triglycerides = (triglycerides + 0.44 * draws.normal()).exp();
    person.glucose_mg_dl = recorded(glucose, 0, 0.01, draws);
    let below = insulin < INSULIN_DETECTION_LIMIT;
    person.insulin_uu_ml = recorded(if below { BELOW_DETECTION } else { insulin }, 2, 0.02, draws);
    person.insulin_below_detection = person.insulin_uu_ml.map(|_| below);
    person.triglycerides_mg_dl = recorded(triglycerides, 0, 0.02, draws);
    let measured = !draws.chance(0.04) && session == Session::Fasted;
    person.insulin_resistant = measured.then_some(body.resistant);
}

/// A value to so many decimals, or missing with a given chance.
fn recorded(value: f64, decimals: i32, missing: f64, draws: &mut Draws) -> Option<f64> {
    let step = 10.0_f64.powi(decimals);
    (!draws.chance(missing)).then(|| (value * step).round() / step)
}
