//! How people were drawn and what stands for that: weights, strata, PSUs and replicates, in sentences.

use crate::study::{LonelyPsu, ReplicateKind, Source, resampling_in_words};
use crate::table::Table;
use crate::table::number::{significant, whole};

use super::methods::{DesignFacts, Drawn, MethodsInput, filled, listed};

/// Weights, strata, PSUs, replicates.
pub(super) fn design(input: &MethodsInput<'_>) -> Vec<String> {
    let mut sentences = weights(input);
    let limit = input.study.fewest_shown();
    sentences.extend(input.designs.iter().map(|facts| drawn(facts, input.designs.len() > 1, limit)));
    let clustered = input.designs.iter().any(|facts| matches!(facts.drawn, Drawn::Clusters { .. }));
    if clustered {
        sentences.push(
            match input.study.lonely_psu {
                LonelyPsu::Fail => "A stratum with a single PSU would have stopped the run.",
                LonelyPsu::Adjust => "A stratum with a single PSU is centred at the mean of all PSUs.",
                LonelyPsu::Certainty => "A stratum with a single PSU adds no variance.",
            }
            .to_owned(),
        );
    }
    sentences.extend(degrees_of_freedom(input.tables));
    let resampling = &input.study.resampling;
    let people = match resampling.kind {
        ReplicateKind::Bootstrap => of_people(input.designs),
        _ => String::new(),
    };
    sentences.push(format!(
        "Replicates: {}{people}{}.",
        resampling_in_words(resampling),
        replicate_source(resampling.kind)
    ));
    if input.study.samples.len() > 1 {
        sentences.push("Each sample has a seed of its own, made from this one and its name.".to_owned());
    }
    sentences
}

fn replicate_source(kind: ReplicateKind) -> &'static str {
    match kind {
        ReplicateKind::Bootstrap => " (rescaled bootstrap of Rao, Wu and Yue 1992, Surv Methodol 18:209–217)",
        ReplicateKind::Jackknife => " (Wolter 2007, Introduction to Variance Estimation, 2nd edition)",
        ReplicateKind::Brr | ReplicateKind::Fay => {
            " (McCarthy 1969, Rev Int Stat Inst 37:239–264; Judkins 1990, J Off Stat 6:223–239)"
        }
        ReplicateKind::Supplied => "",
    }
}

fn weights(input: &MethodsInput<'_>) -> Vec<String> {
    let one = |source: &Source| match source {
        Source::Survey { survey, cycle, .. } => {
            format!("People of {} {cycle} were weighted by {}.", survey.to_uppercase(), subsamples(input))
        }
        Source::Table(table) => match &table.weight {
            Some(weight) => {
                format!("People of “{}” carry the weights in its column “{weight}”.", table.name)
            }
            None => format!("Everybody of “{}” counts once, without weights.", table.name),
        },
    };
    let mut sentences: Vec<String> = Vec::new();
    for sentence in input.study.sources.iter().map(one) {
        if !sentences.contains(&sentence) {
            sentences.push(sentence);
        }
    }
    sentences
}

/// `the survey’s own weights of the fasting subsample`.
fn subsamples(input: &MethodsInput<'_>) -> String {
    let mut names: Vec<String> = Vec::new();
    for facts in input.designs.iter().filter(|facts| !facts.frame.is_empty()) {
        let name = facts.frame.replace('_', " ");
        if !names.contains(&name) {
            names.push(name);
        }
    }
    match names.len() {
        0 => "the survey’s own weights".to_owned(),
        1 => format!("the survey’s own weights of the {} subsample", names[0]),
        _ => format!(
            "the survey’s own weights of the {} subsamples, each estimate by the smallest that it needs",
            listed(&names)
        ),
    }
}

/// Where people may not be shown in small counts, how many have a weight stands in the participant flow alone, as far as it
/// may be told; so do units that hold few people each.
fn drawn(facts: &DesignFacts, several: bool, limit: Option<i64>) -> String {
    let which = [facts.survey.as_str(), facts.frame.as_str()];
    let which: Vec<&str> = which.into_iter().filter(|name| !name.is_empty()).collect();
    let whose = if several { format!(" ({})", which.join(", ")) } else { String::new() };
    let told = |words: &str, end: &str| match limit {
        None => format!("{words}{} people{end}", whole(facts.people as i64)),
        Some(_) => String::new(),
    };
    match facts.drawn {
        Drawn::Clusters { psus, .. }
            if limit.is_some_and(|limit| facts.people < psus as u64 * limit as u64) =>
        {
            format!("Variances follow the design: primary sampling units (PSUs) within strata{whose}.")
        }
        Drawn::Clusters { strata, psus } => {
            let people = told("", " in ");
            format!(
                "Variances follow the design: {people}{psus} primary sampling units (PSUs) within {strata} strata{whose}."
            )
        }
        Drawn::SuppliedReplicates(count) => {
            let people = told(", for ", "");
            format!("Variances follow {count} replicate weights that come with the data{people}{whose}.")
        }
        Drawn::People { .. } => {
            let people = if limit.is_some() { "people".to_owned() } else { told("", "") };
            format!("No design is known, and variances treat {people} as drawn one by one{whose}.")
        }
    }
}

/// What stands for PSUs among people who were drawn one by one.
fn of_people(designs: &[DesignFacts]) -> String {
    let several = designs.iter().any(|facts| !matches!(facts.drawn, Drawn::People { .. }));
    let mut said: Vec<String> = Vec::new();
    for facts in designs {
        let Drawn::People { units } = facts.drawn else { continue };
        let whose = if several { format!("in {} ", facts.survey) } else { String::new() };
        let unit = if units as u64 == facts.people {
            "each person is a PSU"
        } else {
            "people are put at random into sets, each of which is a PSU"
        };
        let words = format!("{whose}{unit}");
        if !said.contains(&words) {
            said.push(words);
        }
    }
    if said.is_empty() { String::new() } else { format!("; {}", said.join(", ")) }
}

/// On how many degrees of freedom everybody's estimates rest; of the class with fewer people where an outcome is used.
fn degrees_of_freedom(tables: &[Table]) -> Option<String> {
    let all = range(tables, &["percentiles", "threshold_shares"]);
    let of_class = range(tables, &["auc"]);
    match (all, of_class) {
        (Some(all), Some(of_class)) if all != of_class => Some(format!(
            "Everybody’s percentiles and shares rest on {all} degrees of freedom, areas and cutoffs on {of_class}, those of the \
             people with or without the outcome, whichever are fewer."
        )),
        (Some(range), _) | (None, Some(range)) => {
            Some(format!("Estimates for everybody rest on {range} degrees of freedom."))
        }
        (None, None) => None,
    }
}

/// The smallest and the largest degrees of freedom of everybody in some tables.
fn range(tables: &[Table], names: &[&str]) -> Option<String> {
    let rows = names.iter().filter_map(|name| filled(tables, name)).flat_map(Table::iter);
    let of_everybody = rows
        .filter(|row| row.text("grouping") == "everybody" && row.text("population") == "cohort")
        .filter_map(|row| row.real("df"));
    let mut found: Vec<f64> = of_everybody.collect();
    found.sort_by(f64::total_cmp);
    let [from, to] = [found.first()?, found.last()?].map(|df| significant(*df, 6));
    Some(if from == to { from } else { format!("{from} to {to}") })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    const PEOPLE: Drawn = Drawn::People { units: 434 };

    fn of(survey: &str, drawn: Drawn) -> DesignFacts {
        DesignFacts { survey: survey.to_owned(), frame: String::new(), people: 434, drawn }
    }

    #[test]
    fn what_stands_for_sampling_units_is_said_of_those_who_have_none() {
        let clusters = of("one", Drawn::Clusters { strata: 11, psus: 22 });
        assert_eq!(of_people(std::slice::from_ref(&clusters)), "");
        assert_eq!(of_people(&[of("two", PEOPLE), of("two", PEOPLE)]), "; each person is a PSU");
        assert_eq!(of_people(&[clusters, of("two", PEOPLE)]), "; in two each person is a PSU");
        let sets = of_people(&[of("two", Drawn::People { units: 400 })]);
        assert_eq!(sets, "; people are put at random into sets, each of which is a PSU");
    }

    #[test]
    fn degrees_of_freedom_are_told_of_what_rests_on_them() {
        let table = |name: &str, df: &[i64]| {
            let mut table = Table::new(schema::shape(name).expect("a table"));
            for df in df {
                let row = table.row().text("grouping", "everybody").text("population", "cohort");
                row.whole("df", Some(*df)).done().expect("a row");
            }
            table
        };
        let both = [table("percentiles", &[700]), table("auc", &[100, 300])];
        assert_eq!(
            degrees_of_freedom(&both).as_deref(),
            Some(
                "Everybody’s percentiles and shares rest on 700 degrees of freedom, areas and cutoffs on 100 to 300, those of the \
                 people with or without the outcome, whichever are fewer."
            )
        );
        let same = [table("percentiles", &[33]), table("auc", &[33])];
        let one = "Estimates for everybody rest on 33 degrees of freedom.";
        assert_eq!(degrees_of_freedom(&same).as_deref(), Some(one));
        assert_eq!(degrees_of_freedom(&[table("auc", &[])]), None);
    }

    #[test]
    fn people_with_a_weight_are_counted_in_public_runs_only() {
        let said = |drawn_so, limit| drawn(&of("s", drawn_so), false, limit);
        let clusters = Drawn::Clusters { strata: 11, psus: 22 };
        assert_eq!(
            said(clusters, None),
            "Variances follow the design: 434 people in 22 primary sampling units (PSUs) within 11 strata."
        );
        assert_eq!(
            said(clusters, Some(10)),
            "Variances follow the design: 22 primary sampling units (PSUs) within 11 strata."
        );
        for drawn in
            [clusters, Drawn::Clusters { strata: 1, psus: 434 }, Drawn::SuppliedReplicates(24), PEOPLE]
        {
            assert!(said(drawn, None).contains("434 people"), "{}", said(drawn, None));
            assert!(!said(drawn, Some(10)).contains("434"), "{}", said(drawn, Some(10)));
        }
    }
}
