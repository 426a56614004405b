//! How far each choice alone, and all together, move a cutoff.

use super::choices::{Choice, Made};
use super::percentiles::percent;
use super::sensitivity::Estimated;
use super::{AnalysisError, tabulate};
use crate::table::Table;

/// Names of the choices at each position, for a kind.
fn names(kind: &str) -> [&'static str; 4] {
    match kind {
        "outcome" => ["rule", "outcome", "exclusions", "route"],
        _ => ["percentile", "reference", "exclusions", "route"],
    }
}

/// A row for every index, group, kind and choice with more than one option, and one for all together.
pub fn table(variants: &[Estimated], choices: &[Choice]) -> Result<Table, AnalysisError> {
    let mut table = tabulate::empty("choice_ranges");
    let same =
        |a: &Choice, b: &Choice| (a.index, a.group, a.made.kind()) == (b.index, b.group, b.made.kind());
    for of_cutoff in choices.chunk_by(same) {
        let Some(base) = of_cutoff.iter().find(|choice| choice.is_base()) else { continue };
        let mut choices_of_several = 0;
        for dimension in 0..4 {
            let alone =
                |choice: &&Choice| (0..4).all(|other| other == dimension || choice.positions()[other] == 0);
            let options: Vec<&Choice> = of_cutoff.iter().filter(alone).collect();
            if options.len() > 1 {
                choices_of_several += 1;
                let name = names(base.made.kind())[dimension];
                let label = |choice: &Choice| labels(variants, choice)[dimension].clone();
                write(&mut table, variants, (name, base), (&options, &label))?;
            }
        }
        if choices_of_several > 1 {
            let together: Vec<&Choice> = of_cutoff.iter().collect();
            let label = |choice: &Choice| joined(variants, choice);
            write(&mut table, variants, ("all", base), (&together, &label))?;
        }
    }
    Ok(table)
}

/// The choices behind a cutoff in words, in the order of [`names`].
fn labels(variants: &[Estimated], choice: &Choice) -> [String; 4] {
    let of = &variants[choice.variant];
    let study = of.context.study;
    let [first, second] = match choice.made {
        Made::ByRule { rule, outcome } => {
            [study.rules[rule].label.clone(), study.outcomes[outcome].row.label.clone()]
        }
        Made::ByPercentile { percentile, population } => [
            format!("percentile {}", percent(study.percentiles[percentile])),
            of.context.populations[population].label.clone(),
        ],
    };
    [first, second, of.set.label.clone(), of.route.label.clone()]
}

/// The choices behind a cutoff, those that a study leaves open only.
fn joined(variants: &[Estimated], choice: &Choice) -> String {
    let [first, second, exclusions, route] = labels(variants, choice);
    let mut words = vec![first, second];
    if variants.iter().any(|one| one.variant.exclusions > 0) {
        words.push(exclusions);
    }
    if variants.iter().any(|one| one.variant.route > 0) {
        words.push(route);
    }
    words.join(" · ")
}

type Options<'a> = (&'a [&'a Choice], &'a dyn Fn(&Choice) -> String);

fn write(
    table: &mut Table,
    variants: &[Estimated],
    (name, base): (&str, &Choice),
    (options, label): Options<'_>,
) -> Result<(), AnalysisError> {
    let context = &variants[0].context;
    let index = &context.study.indices[base.index].row;
    let group = &context.groups[base.group];
    let mut shown: Vec<(f64, &Choice)> =
        options.iter().filter_map(|choice| Some((choice.cutoff?, *choice))).collect();
    shown.sort_by(|a, b| a.0.total_cmp(&b.0));
    let ends = shown.first().zip(shown.last()).filter(|_| base.cutoff.is_some());
    let withheld = match (base.cutoff, shown.len()) {
        (None, _) => format!("the base cutoff is withheld: {}", base.verdict.withheld.join("; ")),
        (_, 1) => "every other option is withheld".to_owned(),
        _ => String::new(),
    };
    let ends = ends.filter(|_| withheld.is_empty());
    let ratio = ends.and_then(|(low, high)| (low.0 > 0.0).then(|| high.0 / low.0));
    table
        .row()
        .text("survey", &*context.tallies.survey)
        .text("index", &*index.name)
        .text("unit", &*index.unit)
        .text("grouping", &*group.grouping_name)
        .text("group", &*group.name)
        .text("kind", base.made.kind())
        .text("choice", name)
        .whole("options", Some(options.len() as i64))
        .whole("shown", Some(shown.len() as i64))
        .text("base_choices", joined(variants, base))
        .real("base", base.cutoff)
        .real("smallest", ends.map(|(low, _)| low.0))
        .text("smallest_choice", ends.map_or_else(String::new, |(low, _)| label(low.1)))
        .real("largest", ends.map(|(_, high)| high.0))
        .text("largest_choice", ends.map_or_else(String::new, |(_, high)| label(high.1)))
        .real("ratio", ratio)
        .text("stated", tabulate::STUDY)
        .text("withheld", withheld)
        .done()?;
    Ok(())
}
