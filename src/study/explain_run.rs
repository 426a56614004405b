//! A study in words, second part: how sure, how much work, and what is compared on equal terms.

use std::collections::BTreeSet;

use super::explain::{asked, counted};
use super::{
    Design, LmsPower, LonelyPsu, Over, Source, Split, Standard, Stated, Study, StudyCurves, StudyIndex,
    Variable, Withhold,
};
use crate::table::small;

/// People of a survey cycle with a fasting sample, for a rough idea of time and size.
const PEOPLE_OF_A_SOURCE: usize = 3_000;
/// Groups that a variable is taken to have when its levels come from the data.
const LEVELS_FROM_DATA: usize = 5;
/// Seconds for one pair of index and outcome in one group and one replicate: 18 s for 24 pairs, 45 groups and 1000
/// replicates, on two cores, for as many people as a source is taken to have and all that a study gets unasked.
const SECONDS_EACH: f64 = 1.7e-5;
/// Reading files, drawing and writing.
const SECONDS_BESIDES: f64 = 1.0;

/// Which groups are compared as if they had the same ages and body sizes.
pub(super) fn standardisation(study: &Study) -> Vec<String> {
    let Some(section) = &study.standardisation else { return Vec::new() };
    let joined = |positions: &Vec<usize>| {
        positions.iter().map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>().join(" × ")
    };
    let of: Vec<String> = section.of.iter().map(|&g| joined(&study.groupings[g])).collect();
    let to: Vec<String> = section.to.iter().map(joined).collect();
    let whose = match &section.standard {
        Standard::Cohort => "everybody in the cohort".to_owned(),
        Standard::Reference(position) => format!("the reference group {}", study.references[*position].name),
        Standard::Population { name, label, .. } => format!("{name} ({label})"),
    };
    let mut lines = vec![format!(
        "groups by {}, as if all had the same {}: that of {whose}",
        of.join(" and by "),
        to.join("; then the same ")
    )];
    if section.stated == Stated::Tool {
        lines.push("added by the program; [analysis.standardize] states another comparison".to_owned());
    }
    lines
}

/// Percentiles and cutoffs as functions of age and body mass.
pub(super) fn curves(study: &Study) -> Option<String> {
    let StudyCurves { over, by, percentiles, knots, indices, outcomes, replicates, lms } =
        study.curves.as_ref()?;
    let over: Vec<&str> = over.iter().map(|over: &Over| over.name()).collect();
    let each = by.map_or_else(String::new, |by| format!(", one for each {}", study.variables[by].name));
    let indices: Vec<&str> = indices.iter().map(|&i| study.indices[i].row.name.as_str()).collect();
    let outcomes: Vec<&str> = outcomes.iter().map(|&o| study.outcomes[o].row.name.as_str()).collect();
    let by_lms = match lms {
        None => "",
        Some(LmsPower::Constant) => " (by quantile regression, and by the LMS method with one power)",
        Some(LmsPower::Spline) => {
            " (by quantile regression, and by the LMS method with a power on the spline)"
        }
    };
    let cutoffs = if outcomes.is_empty() {
        String::new()
    } else {
        format!(", and its cutoff against {}", outcomes.join(", "))
    };
    Some(format!(
        "{} over {}{each}: percentiles {}{by_lms}{cutoffs}; {}, {replicates} replicates",
        indices.join(", "),
        over.join(" and "),
        percent(percentiles),
        counted(*knots, "interior knot")
    ))
}

/// `50, 75, 97.5` from proportions.
pub(super) fn percent(proportions: &[f64]) -> String {
    proportions.iter().map(|p| rounded(p * 100.0).to_string()).collect::<Vec<_>>().join(", ")
}

/// Intervals, replicates, and what is not printed.
pub(super) fn certainty(study: &Study) -> Vec<String> {
    let lonely = match study.lonely_psu {
        LonelyPsu::Fail => "is an error",
        LonelyPsu::Adjust => "is centred at the mean of all PSUs",
        LonelyPsu::Certainty => "adds no variance",
    };
    let unreliable = match study.withhold {
        Withhold::Withhold => "withheld, with the reason",
        Withhold::Flag => "printed and flagged",
    };
    let mut lines = vec![format!(
        "{} % intervals; {}",
        rounded(study.confidence * 100.0),
        super::resampling::in_words(&study.resampling)
    )];
    if study.design() == Design::Survey {
        lines.push(format!("a stratum with a single PSU {lonely}"));
    }
    if study.every_outcome().next().is_some() {
        lines.extend(super::cutoffs_by_replicates(study.resampling.kind).map(str::to_owned));
    }
    lines.push(format!("unreliable estimates are {unreliable}"));
    if let Some(resamples) = study.mixture {
        lines.push(format!(
            "where two distributions part, without an outcome and unweighted; {resamples} resamples of people"
        ));
    }
    if let Some(limit) = study.fewest_shown() {
        lines.push(format!(
            "not public: counts and shares of fewer than {limit} people are left out, and what would give them away; of the rest, \
             {}; the tallies go into a folder beside the results, not to be shared",
            small::rounding(limit)
        ));
    }
    lines
}

/// How many groups a crossing has, where the study alone tells.
fn groups_of(study: &Study, grouping: &[usize]) -> Option<usize> {
    let count = |variable: &Variable| match &variable.split {
        Split::Bands { labels, .. } => Some(labels.len()),
        Split::Levels { levels, .. } if levels.is_empty() => None,
        Split::Levels { levels, .. } => Some(levels.len()),
    };
    grouping.iter().map(|p| count(&study.variables[*p])).product()
}

/// Upper bounds on what is computed and kept, as far as the study and the people that were counted tell.
pub(super) fn size(study: &Study, counted_people: &[Option<usize>]) -> Vec<String> {
    let known = |grouping: &Vec<usize>| groups_of(study, grouping);
    let groups: usize = 1 + study.groupings.iter().filter_map(known).sum::<usize>();
    let open = study.groupings.iter().filter(|grouping| known(grouping).is_none()).count();
    let and_open = match open {
        0 => String::new(),
        1 => " and those of 1 grouping whose levels come from the data".to_owned(),
        _ => format!(" and those of {open} groupings whose levels come from the data"),
    };
    let pairs = study.indices.len() * study.outcomes.len();
    // Rules pick cutoffs against an outcome: without one there is none.
    let rules = if study.every_outcome().next().is_some() { study.rules.len() } else { 0 };
    let parts = [
        (study.indices.len(), "index"),
        (pairs, "pair of index and outcome"),
        (rules, "rule"),
        (study.thresholds.len(), "threshold"),
    ];
    let parts: Vec<String> = parts.iter().filter_map(|(count, what)| asked(*count, what)).collect();
    let tallies = tallies(study);
    let people = people(study, counted_people);
    let all: usize = people.iter().sum();
    vec![
        format!(
            "{}{and_open}, in the cohort{}",
            counted(groups, "group"),
            asked(study.references.len(), "reference group")
                .map(|groups| format!(" and {groups}"))
                .unwrap_or_default()
        ),
        parts.join(", "),
        format!(
            "tallies: at most {} for each person read ({} people: {} rows), fewer where people share values",
            counted(tallies, "row"),
            all,
            tallies * all
        ),
        time(study, &people, counted_people),
    ]
}

/// People of each source, as counted or else as a source is taken to have.
fn people(study: &Study, counted: &[Option<usize>]) -> Vec<usize> {
    let of = |position: usize| counted.get(position).copied().flatten().unwrap_or(PEOPLE_OF_A_SOURCE);
    (0..study.sources.len()).map(of).collect()
}

/// One tally for each index and each sample that it is used in.
fn tallies(study: &Study) -> usize {
    let of = |index: &StudyIndex| {
        let with_outcomes = study.outcomes.iter().map(|outcome| outcome.subsample.max(index.subsample));
        with_outcomes.chain([index.subsample]).collect::<BTreeSet<_>>().len()
    };
    study.indices.iter().map(of).sum()
}

/// Roughly how long a run takes: the scan of replicates is nearly all of it.
fn time(study: &Study, people: &[usize], counted: &[Option<usize>]) -> String {
    let groups = |grouping: &Vec<usize>| groups_of(study, grouping).unwrap_or(LEVELS_FROM_DATA);
    let groups: usize = 1 + study.groupings.iter().map(groups).sum::<usize>();
    let scans = study.indices.len() * study.outcomes.len().max(1) * groups;
    let replicates = study.resampling.replicates.max(100);
    let official = study.sources.iter().filter(|source| matches!(source, Source::Survey { .. })).count();
    let each = (scans * replicates) as f64 * SECONDS_EACH;
    let of_source = |people: &usize| SECONDS_BESIDES + each * *people as f64 / PEOPLE_OF_A_SOURCE as f64;
    let seconds = people.iter().map(of_source).sum();
    let official = if official > 0 { ", and reading the official files once" } else { "" };
    let taken = if counted.iter().flatten().count() == people.len() {
        String::new()
    } else {
        let which =
            if counted.iter().any(Option::is_some) { "each source not counted" } else { "each source" };
        format!(
            ", if {which} has about {PEOPLE_OF_A_SOURCE} people{official}; with more people, longer in proportion"
        )
    };
    format!("time: {} with the release build on two cores{taken}", rough(seconds))
}

/// A duration to one digit, because no more is known.
fn rough(seconds: f64) -> String {
    const STEPS: [(f64, &str); 8] = [
        (2.0, "a second or two"),
        (5.0, "a few seconds"),
        (15.0, "about ten seconds"),
        (45.0, "about half a minute"),
        (90.0, "about a minute"),
        (300.0, "a few minutes"),
        (1800.0, "a quarter of an hour or so"),
        (f64::INFINITY, "more than half an hour"),
    ];
    STEPS.iter().find(|(most, _)| seconds <= *most).map_or("", |(_, words)| words).to_owned()
}

/// A number for reading: at most four decimals.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
