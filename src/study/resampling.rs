//! `[resampling]`: replicates that are drawn, built from the design, or come with the data.

use serde::{Deserialize, Serialize};

use super::error::{StudyError, Text};
use super::file::{At, StudyFile};
use super::{Design, ReplicateKind, Resampling, Source, SuppliedWeights};
use crate::stats::{Scaling, ScalingMethod};

/// Replicates of a bootstrap when the study does not say.
const REPLICATES: usize = 500;
/// A bootstrap of fewer replicates gives no interval; more than this is a slip of the keyboard.
const POSSIBLE_REPLICATES: std::ops::RangeInclusive<usize> = 10..=100_000;

/// How replicate weights may have been made, by the names that survey documentation uses.
const TYPES: [&str; 7] = ["brr", "fay", "jk1", "jk2", "jkn", "bootstrap", "successive_difference"];

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResamplingFile {
    #[serde(default = "bootstrap")]
    pub kind: At<ReplicateKind>,
    pub replicates: Option<At<usize>>,
    #[serde(default = "seed")]
    pub seed: u64,
    /// Fay's factor, of kind `fay` or of supplied weights of that type.
    fay: Option<At<f64>>,
    /// How supplied weights were made.
    #[serde(rename = "type")]
    method: Option<At<String>>,
    scale: Option<At<f64>>,
    scales: Option<At<Vec<f64>>>,
    degrees_of_freedom: Option<At<f64>>,
}

impl Default for ResamplingFile {
    fn default() -> Self {
        Self {
            kind: bootstrap(),
            replicates: None,
            seed: seed(),
            fay: None,
            method: None,
            scale: None,
            scales: None,
            degrees_of_freedom: None,
        }
    }
}

impl ResamplingFile {
    /// Whether supplied weights leave out one unit in each replicate.
    pub fn made_by_jackknife(&self) -> bool {
        self.method.as_ref().is_some_and(|method| method.get_ref().starts_with("jk"))
    }
}

fn bootstrap() -> At<ReplicateKind> {
    At::new(0..0, ReplicateKind::Bootstrap)
}

fn seed() -> u64 {
    1
}

/// Writes the number of replicates of a bootstrap into the file; the other kinds have theirs from the design
/// or the data.
pub(super) fn complete(file: &mut ResamplingFile, text: Text<'_>) -> Result<(), StudyError> {
    let own = match file.kind.get_ref() {
        ReplicateKind::Bootstrap => {
            file.replicates.get_or_insert(At::new(0..0, REPLICATES));
            return Ok(());
        }
        ReplicateKind::Jackknife => "a jackknife has one replicate for each PSU",
        ReplicateKind::Brr | ReplicateKind::Fay => "balanced half-samples are as many as the strata need",
        ReplicateKind::Supplied => "supplied replicates are as many as the columns of weights",
    };
    match &file.replicates {
        Some(replicates) => Err(text.problem(replicates.span(), format!("{own}: leave replicates out"))),
        None => Ok(()),
    }
}

/// Checks the section against itself and against the sources.
pub(super) fn resampling(
    file: &StudyFile,
    sources: &[Source],
    text: Text<'_>,
) -> Result<Resampling, StudyError> {
    let written = &file.resampling;
    let kind = *written.kind.get_ref();
    replicates(written, text)?;
    fits_sources(written, sources, text)?;
    let supplied = kind == ReplicateKind::Supplied;
    let strays = [
        ("type", written.method.as_ref().map(At::span)),
        ("scale", written.scale.as_ref().map(At::span)),
        ("scales", written.scales.as_ref().map(At::span)),
        ("degrees_of_freedom", written.degrees_of_freedom.as_ref().map(At::span)),
    ];
    if let Some((key, span)) =
        strays.into_iter().find_map(|(key, span)| span.filter(|_| !supplied).map(|s| (key, s)))
    {
        let problem =
            format!("`{key}` belongs to replicate weights that come with the data: kind = \"supplied\"");
        return Err(text.problem(span, problem));
    }
    Ok(Resampling {
        kind,
        replicates: written.replicates.as_ref().map_or(0, |count| *count.get_ref()),
        seed: written.seed,
        fay: fay(written, text)?,
        design: super::design::of(sources),
        supplied: if supplied { Some(weights(written, text)?) } else { None },
    })
}

fn replicates(written: &ResamplingFile, text: Text<'_>) -> Result<(), StudyError> {
    let Some(replicates) = &written.replicates else { return Ok(()) };
    if POSSIBLE_REPLICATES.contains(replicates.get_ref()) {
        return Ok(());
    }
    let (least, most) = (POSSIBLE_REPLICATES.start(), POSSIBLE_REPLICATES.end());
    let problem = format!("replicates must lie between {least} and {most}, found {}", replicates.get_ref());
    Err(text.problem(replicates.span(), problem))
}

/// Whether the sources have what the kind is made from.
fn fits_sources(written: &ResamplingFile, sources: &[Source], text: Text<'_>) -> Result<(), StudyError> {
    let tables = || {
        sources.iter().filter_map(|source| if let Source::Table(table) = source { Some(table) } else { None })
    };
    let with_weights = tables().find(|table| table.replicate_weights.is_some());
    let problem = match (written.kind.get_ref(), with_weights) {
        (ReplicateKind::Supplied, None) => {
            "no source has replicate weights: name their columns, as in replicate_weights = \"rw_*\", \
             in a [[source]] of survey = \"table\""
                .to_owned()
        }
        (ReplicateKind::Supplied, Some(_)) if sources.len() > 1 => {
            "supplied replicate weights serve a study of one source: replicates of different samples do not \
             belong together"
                .to_owned()
        }
        (ReplicateKind::Brr | ReplicateKind::Fay, None) => {
            let Some(table) = tables().find(|table| table.stratum.is_none() || table.psu.is_none()) else {
                return Ok(());
            };
            format!(
                "balanced half-samples need strata of two PSUs each: name stratum and psu of {}, or use kind = \"bootstrap\"",
                table.name
            )
        }
        (ReplicateKind::Supplied, Some(_)) | (ReplicateKind::Bootstrap | ReplicateKind::Jackknife, None) => {
            return Ok(());
        }
        (_, Some(table)) => format!(
            "{} has replicate weights, and they stand for its design: set kind = \"supplied\" and say their type or \
             scale, or leave replicate_weights out",
            table.name
        ),
    };
    Err(text.problem(written.kind.span(), problem))
}

/// Fay's factor, where there is one to state; 0 otherwise.
fn fay(written: &ResamplingFile, text: Text<'_>) -> Result<f64, StudyError> {
    let of_type = written.method.as_ref().is_some_and(|method| method.get_ref() == "fay");
    match (&written.fay, *written.kind.get_ref() == ReplicateKind::Fay || of_type) {
        (None, false) => Ok(0.0),
        (None, true) => {
            Err(text.problem(written.kind.span(), "Fay's method needs its factor, as in fay = 0.3"))
        }
        (Some(fay), false) => {
            let problem = "`fay` belongs to kind = \"fay\", or to supplied weights of type = \"fay\"";
            Err(text.problem(fay.span(), problem))
        }
        (Some(fay), true) if (0.0..1.0).contains(fay.get_ref()) => Ok(*fay.get_ref()),
        (Some(fay), true) => {
            let problem = format!("fay must be at least 0 and below 1, found {}", fay.get_ref());
            Err(text.problem(fay.span(), problem))
        }
    }
}

/// How supplied weights become a variance.
fn weights(written: &ResamplingFile, text: Text<'_>) -> Result<SuppliedWeights, StudyError> {
    let method = method(written, text)?;
    let scales = written.scales.as_ref().map_or(&[][..], |scales| scales.get_ref().as_slice());
    let positive = [&written.scale, &written.degrees_of_freedom].into_iter().flatten();
    if let Some(bad) = positive.into_iter().find(|x| !(x.get_ref().is_finite() && *x.get_ref() > 0.0)) {
        return Err(text.problem(bad.span(), format!("must be a number above 0, found {}", bad.get_ref())));
    }
    if let Some(written) = &written.scales
        && (scales.is_empty()
            || !scales.iter().all(|s| s.is_finite() && *s >= 0.0)
            || scales.iter().all(|s| *s == 0.0))
    {
        return Err(text.problem(
            written.span(),
            "scales must be one number for each replicate, 0 or more and not all 0",
        ));
    }
    Ok(SuppliedWeights {
        scaling: Scaling {
            method,
            scale: written.scale.as_ref().map(|scale| *scale.get_ref()),
            scales: scales.to_vec(),
        },
        degrees_of_freedom: written.degrees_of_freedom.as_ref().map(|df| *df.get_ref()),
    })
}

/// The type, and whether the scales that are stated go with it.
fn method(written: &ResamplingFile, text: Text<'_>) -> Result<ScalingMethod, StudyError> {
    let stated = [written.scale.as_ref().map(At::span), written.scales.as_ref().map(At::span)];
    let Some(named) = &written.method else {
        if stated.iter().all(Option::is_none) {
            let problem = format!(
                "say how the supplied replicate weights were made: type = one of {}; or the scale of their variance, \
                 as in scale = 0.05",
                TYPES.map(|name| format!("\"{name}\"")).join(", ")
            );
            return Err(text.problem(written.kind.span(), problem));
        }
        return Ok(ScalingMethod::Other);
    };
    let fay = written.fay.as_ref().map_or(0.0, |fay| *fay.get_ref());
    let (method, may_scale) = match named.get_ref().as_str() {
        "brr" => (ScalingMethod::Brr, false),
        "fay" => (ScalingMethod::Fay(fay), false),
        "jk1" => (ScalingMethod::Jk1, false),
        "jk2" => (ScalingMethod::Jk2, false),
        "jkn" => (ScalingMethod::Jkn, true),
        "bootstrap" => (ScalingMethod::Bootstrap, true),
        "successive_difference" => (ScalingMethod::SuccessiveDifference, false),
        _ => return Err(text.unknown("type of replicate weights", named, TYPES)),
    };
    match stated.into_iter().flatten().next() {
        Some(span) if !may_scale => {
            // Without the type nobody would know a jackknife, whose intervals of cutoffs mislead.
            let or = if written.made_by_jackknife() { "" } else { ", or leave out the type" };
            Err(text.problem(span, format!("the scale of type \"{}\" is known: leave it out{or}", named.get_ref())))
        }
        _ if method == ScalingMethod::Jkn && written.scales.is_none() => {
            let problem =
                "type \"jkn\" needs scales, one for each replicate: (n − 1)/n for n PSUs in its stratum";
            Err(text.problem(named.span(), problem))
        }
        _ => match &written.scale {
            Some(scale) if method == ScalingMethod::Jkn => Err(text.problem(
                scale.span(),
                "the scale of type \"jkn\" is 1, times the one in `scales` for each replicate: leave `scale` out",
            )),
            _ => Ok(method),
        },
    }
}

/// How replicates are made, in words.
#[must_use]
pub fn in_words(resampling: &Resampling) -> String {
    match (resampling.kind, &resampling.supplied) {
        (ReplicateKind::Bootstrap, _) => {
            let units = resampling.design.units();
            format!("bootstrap of {units}, {} replicates, seed {}", resampling.replicates, resampling.seed)
        }
        (ReplicateKind::Jackknife, _) => {
            let unit = if resampling.design == Design::Survey { "PSU" } else { "person" };
            format!(
                "jackknife, one replicate for each {unit}; no intervals of cutoffs as counted, which a jackknife misjudges"
            )
        }
        (ReplicateKind::Brr, _) => "balanced half-samples of the two PSUs in each stratum".to_owned(),
        (ReplicateKind::Fay, _) => {
            format!("balanced half-samples of the two PSUs in each stratum, Fay's factor {}", resampling.fay)
        }
        (ReplicateKind::Supplied, supplied) => supplied.as_ref().map_or(String::new(), supplied_in_words),
    }
}

/// What a reader of tests and intervals of cutoffs must know where the replicates are built from the design.
#[must_use]
pub fn cutoffs_by_replicates(kind: ReplicateKind) -> Option<&'static str> {
    match kind {
        ReplicateKind::Bootstrap | ReplicateKind::Supplied => None,
        ReplicateKind::Jackknife => Some(
            "For cutoffs the bootstrap is preferred: how often the program's intervals and tests of cutoffs are right was measured \
             with the bootstrap only (DEVELOPERS.md), and here they rest on no more replicates than there are sampling units. The \
             jackknife misjudges cutoffs as counted, which move in jumps; those from smoothed curves and from two normals are smooth \
             functions of the weights, so that they have intervals and tests.",
        ),
        ReplicateKind::Brr | ReplicateKind::Fay => Some(
            "For cutoffs the bootstrap is preferred: how often the program's intervals and tests of cutoffs are right was measured \
             with the bootstrap only (DEVELOPERS.md), and here they rest on no more replicates than there are half-samples.",
        ),
    }
}

fn supplied_in_words(weights: &SuppliedWeights) -> String {
    let Scaling { method, scale, scales } = &weights.scaling;
    let of_type = match method {
        ScalingMethod::Brr => "1/R (balanced half-samples)".to_owned(),
        ScalingMethod::Fay(fay) => format!("1/(R (1 − {fay})²) (balanced half-samples with Fay's factor)"),
        ScalingMethod::Jk1 => "(R − 1)/R (jackknife without strata)".to_owned(),
        ScalingMethod::Jk2 => "1 (jackknife of pairs)".to_owned(),
        ScalingMethod::Jkn => "1 (stratified jackknife)".to_owned(),
        ScalingMethod::Bootstrap => "1/R (bootstrap)".to_owned(),
        ScalingMethod::SuccessiveDifference => "4/R (successive differences)".to_owned(),
        ScalingMethod::Other => "1".to_owned(),
    };
    let overall = scale.map_or(of_type, |scale| scale.to_string());
    let each = if scales.is_empty() { "" } else { ", times the scale stated for each replicate" };
    let df = weights.degrees_of_freedom.map_or_else(
        || "degrees of freedom: the rank of the weights among the people counted, minus 1".to_owned(),
        |df| format!("{df} degrees of freedom, as stated"),
    );
    format!(
        "replicate weights that come with the data, R of them; variance: sum of squared distances from the full-sample \
         estimate, times {overall}{each}; {df}"
    )
}
