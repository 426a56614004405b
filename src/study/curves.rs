//! Curves over age and BMI: which, as written in a study and as checked.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use super::model::{ReplicateKind, StudyIndex, StudyOutcome, Variable};
use super::percent::written_as_shares;

/// More interior knots than this follow the sample, not the population.
const MOST_KNOTS: usize = 7;
/// Fewer replicates give no band.
const LEAST_REPLICATES: usize = 20;

/// `[analysis.curves]`; a study without it draws no curves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CurvesFile {
    #[serde(default = "both")]
    pub over: Vec<At<String>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<At<String>>,
    #[serde(default = "percentiles")]
    pub percentiles: At<Vec<f64>>,
    #[serde(default = "knots")]
    pub knots: At<usize>,
    /// The first index of the study when left out.
    pub indices: Option<Vec<At<String>>>,
    /// The first outcome of the study when left out.
    pub outcomes: Option<Vec<At<String>>>,
    /// The first so many of the study's replicates; 100 when left out, or all when there are fewer.
    pub replicates: Option<At<usize>>,
    #[serde(default = "yes")]
    pub lms: bool,
    /// The same power everywhere when left out; without `lms` it means nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lms_power: Option<At<LmsPower>>,
}

/// How the power of the LMS method runs over age or BMI.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LmsPower {
    /// The same everywhere.
    Constant,
    /// On the spline of median and spread.
    Spline,
}

/// What a curve runs over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// Years.
    Age,
    /// kg/m².
    Bmi,
}

/// Curves that a study asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct StudyCurves {
    pub over: Vec<Over>,
    /// The variable whose groups get a curve each; `None` for one curve of everybody.
    pub by: Option<usize>,
    /// Proportions, increasing.
    pub percentiles: Vec<f64>,
    /// Interior knots, at evenly spaced quantiles; the boundary knots come on top.
    pub knots: usize,
    pub indices: Vec<usize>,
    pub outcomes: Vec<usize>,
    /// The first so many replicates of the study.
    pub replicates: usize,
    /// Percentiles by the LMS method too, and how its power runs.
    pub lms: Option<LmsPower>,
}

impl LmsPower {
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Constant => "constant",
            Self::Spline => "spline",
        }
    }
}

impl Over {
    const ALL: [Self; 2] = [Self::Age, Self::Bmi];

    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Age => "age",
            Self::Bmi => "bmi",
        }
    }
}

/// Writes the defaults that depend on the rest of the study into the file.
pub(super) fn complete(file: &mut StudyFile) {
    let first = |names: &[At<String>]| names.first().cloned().into_iter().collect::<Vec<_>>();
    let (index, outcome) = (first(file.analysis.indices.get_ref()), first(&file.analysis.outcomes));
    let most = file.resampling.replicates.as_ref().map_or(usize::MAX, |count| *count.get_ref());
    if let Some(curves) = &mut file.analysis.curves {
        curves.indices.get_or_insert(index);
        curves.outcomes.get_or_insert(outcome);
        curves.replicates.get_or_insert(At::new(0..0, most.min(100)));
        if curves.lms {
            curves.lms_power.get_or_insert(At::new(0..0, LmsPower::Constant));
        }
    }
}

/// What names of the curves stand for.
pub(super) struct Known<'a> {
    pub indices: &'a [StudyIndex],
    pub outcomes: &'a [StudyOutcome],
    pub variables: &'a [Variable],
    pub groupings: &'a [Vec<usize>],
}

/// Resolves the names and checks the numbers of `[analysis.curves]`.
pub(super) fn curves(
    file: &StudyFile,
    known: &Known<'_>,
    text: Text<'_>,
) -> Result<Option<StudyCurves>, StudyError> {
    let Some(written) = &file.analysis.curves else { return Ok(None) };
    let overs: Vec<&str> = Over::ALL.iter().map(|over| over.name()).collect();
    let over = positions(&written.over, "covariate of a curve", &overs, text)?;
    let indices: Vec<&str> = known.indices.iter().map(|index| index.row.name.as_str()).collect();
    let outcomes: Vec<&str> = known.outcomes.iter().map(|outcome| outcome.row.name.as_str()).collect();
    numbers(written, text)?;
    let chosen = written.replicates.as_ref().map_or(0, |count| *count.get_ref());
    replicates(file, chosen, text)?;
    Ok(Some(StudyCurves {
        over: over.into_iter().map(|position| Over::ALL[position]).collect(),
        by: written.by.as_ref().map(|by| variable(by, known, text)).transpose()?,
        percentiles: written.percentiles.get_ref().iter().map(|percent| percent / 100.0).collect(),
        knots: *written.knots.get_ref(),
        indices: positions(
            written.indices.as_deref().unwrap_or_default(),
            "index of this study",
            &indices,
            text,
        )?,
        outcomes: positions(
            written.outcomes.as_deref().unwrap_or_default(),
            "outcome of this study",
            &outcomes,
            text,
        )?,
        replicates: chosen,
        lms: lms(written, text)?,
    }))
}

fn lms(written: &CurvesFile, text: Text<'_>) -> Result<Option<LmsPower>, StudyError> {
    match &written.lms_power {
        Some(power) if !written.lms => Err(text
            .problem(power.span(), "lms_power says how the LMS method's power runs, and needs lms = true")),
        power => Ok(power.as_ref().map(|power| *power.get_ref())),
    }
}

fn positions(
    names: &[At<String>],
    what: &'static str,
    known: &[&str],
    text: Text<'_>,
) -> Result<Vec<usize>, StudyError> {
    super::check::distinct(names, text)?;
    let one = |name: &At<String>| {
        let found = known.iter().position(|known| known == name.get_ref());
        found.ok_or_else(|| text.unknown(what, name, known.iter().copied()))
    };
    names.iter().map(one).collect()
}

/// A variable by which the study groups people without crossing it.
fn variable(by: &At<String>, known: &Known<'_>, text: Text<'_>) -> Result<usize, StudyError> {
    let single: Vec<usize> = known.groupings.iter().filter(|g| g.len() == 1).map(|g| g[0]).collect();
    let found = single.iter().copied().find(|&v| known.variables[v].name == *by.get_ref());
    found.ok_or_else(|| {
        let names = single.iter().map(|&v| known.variables[v].name.as_str());
        text.unknown("grouping of this study", by, names)
    })
}

fn numbers(written: &CurvesFile, text: Text<'_>) -> Result<(), StudyError> {
    let percentiles = written.percentiles.get_ref();
    let inside = percentiles.iter().all(|percent| *percent > 0.0 && *percent < 100.0);
    if percentiles.is_empty() || !inside || !percentiles.windows(2).all(|pair| pair[0] < pair[1]) {
        let problem =
            "percentiles of curves must be increasing numbers between 0 and 100, such as [50, 75, 90]";
        return Err(text.problem(written.percentiles.span(), problem));
    }
    if let Some(problem) = written_as_shares(percentiles) {
        return Err(text.problem(written.percentiles.span(), problem));
    }
    let knots = *written.knots.get_ref();
    if !(1..=MOST_KNOTS).contains(&knots) {
        let problem = format!("knots of curves must lie between 1 and {MOST_KNOTS}, found {knots}");
        return Err(text.problem(written.knots.span(), problem));
    }
    Ok(())
}

fn replicates(file: &StudyFile, chosen: usize, text: Text<'_>) -> Result<(), StudyError> {
    let curves = file.analysis.curves.as_ref();
    let place = curves.and_then(|curves| curves.replicates.as_ref()).map_or(0..0, At::span);
    let jackknife = match *file.resampling.kind.get_ref() {
        ReplicateKind::Jackknife => true,
        ReplicateKind::Supplied => file.resampling.made_by_jackknife(),
        ReplicateKind::Bootstrap | ReplicateKind::Brr | ReplicateKind::Fay => false,
    };
    if jackknife {
        let problem =
            "curves need a bootstrap or half-samples: a jackknife misjudges percentiles and cutoffs";
        return Err(text.problem(place, problem));
    }
    let most = file.resampling.replicates.as_ref().map_or(0, |count| *count.get_ref());
    if most >= LEAST_REPLICATES && !(LEAST_REPLICATES..=most).contains(&chosen) {
        let problem = format!(
            "replicates of curves must lie between {LEAST_REPLICATES} and the study's {most}, found {chosen}"
        );
        return Err(text.problem(place, problem));
    }
    Ok(())
}

fn both() -> Vec<At<String>> {
    Over::ALL.iter().map(|over| At::new(0..0, over.name().to_owned())).collect()
}

fn percentiles() -> At<Vec<f64>> {
    At::new(0..0, vec![50.0, 75.0, 90.0])
}

fn yes() -> bool {
    true
}

fn knots() -> At<usize> {
    At::new(0..0, 3)
}
