//! Groups × (index, outcome) × estimator: tallies in, tables of results out.

mod accuracy;
mod assay_routes;
mod beside;
mod checks;
mod choice_ranges;
mod choices;
mod choices_alike;
pub mod claim;
mod claim_cutoffs;
mod claim_doubt;
mod claim_equivalent;
mod claim_estimate;
mod claim_form;
mod claim_judge;
mod claim_left_out;
mod claim_number;
mod claim_parse;
mod claim_plain;
mod claim_private;
mod claim_rows;
mod claim_verdict;
mod claim_words;
mod compared;
mod context;
mod counted;
mod curve_checks;
mod curve_rows;
mod curves;
mod cutoff_methods;
mod cutoff_pairs;
mod cycle_methods;
mod cycle_people;
mod decomposition;
mod describe;
mod differences;
mod distribution;
mod few_between;
mod few_of_class;
mod grid_points;
mod groups;
mod heterogeneity;
mod impossible;
mod index_pairs;
mod index_tables;
mod lms_rows;
mod measurement_limits;
mod mixture_cutoffs;
mod net_benefit;
mod no_interval;
mod notices;
mod outcome_items;
mod outcome_prevalence;
mod paired_rows;
mod pairs_together;
mod partition_tests;
mod percentile_pairs;
mod percentiles;
mod place;
mod place_age;
mod place_alone;
mod place_asked;
mod place_assay;
mod place_below;
mod place_change;
mod place_cutoffs;
mod place_doubt;
mod place_factor;
mod place_glucose;
mod place_groups;
mod place_implied;
mod place_low_insulin;
mod place_marks;
mod place_outcomes;
mod place_people;
mod place_rank;
mod place_second;
mod place_shared;
mod place_spread;
mod place_tests;
mod place_urgent;
mod place_usual;
mod place_withheld;
pub mod plan;
mod plan_from;
mod published;
mod published_derived;
mod published_marks;
mod published_people;
mod reclassified;
mod reference_limits;
mod remark;
mod roc;
mod roc_drawn;
mod sample_comparison;
mod samples;
mod select;
mod sensitivity;
mod separates;
mod singly;
mod smoothed;
mod standard_cells;
mod standard_values;
mod standardized;
mod tabulate;
mod threshold_grid;
mod thresholds;
mod transfer;
mod trend;
mod trend_points;
mod two_by_two;
mod withhold;

use rayon::prelude::*;
use thiserror::Error;

use crate::cohort::FlowStep;
use crate::notice::Notice;
use crate::stats::StatError;
use crate::study::Study;
use crate::table::{Table, TableError};
use crate::tally::Tallies;

pub use checks::table as checks;
pub use context::Context;
pub use counted::counted;
pub use differences::made as comparisons_made;
pub use groups::{Group, Population};
pub use notices::{left_out_notice, withheld_notice};
pub use place::{Missing, Person, PlaceError, Placed, PlacedIndex, place, place_by};
pub use place_alone::Alone;
pub use place_assay::{INSULIN, is_of_study};
pub use place_change::{Change, ChangeByOther};
pub use place_cutoffs::{ByOther, Cutoff as PlacedCutoff, Instead};
pub use place_doubt::Doubt;
pub use place_factor::OtherFactor;
pub use place_marks::{Equivalent, PassedThen, PublishedMark, ThresholdMark};
pub use place_outcomes::OutcomeMet;
pub use place_people::{Standing, Unknown};
pub use place_rank::Rank;
pub use place_second::{Again, AssayThen, DAYS_PER_MONTH, DAYS_PER_WEEK, Second};
pub use place_spread::Spread;
pub use place_tests::GroupingTest;
pub use place_urgent::{Bound, urgent};
pub use place_usual::{Usual, VariationUsed, WITHIN_DIGITS};
pub use samples::{Derived, across, join, join_notices};
pub use sensitivity::tables as sensitivity;
pub use withhold::reliability;

/// Why an analysis stopped. An estimate that cannot be had is not an error but a withheld row.
#[derive(Debug, Error)]
pub enum AnalysisError {
    #[error(
        "{survey}: stratum {stratum} has a single PSU, so its share of the variance is unknown. \
         Join the stratum to another in the file, or set lonely_psu = \"certainty\" in the study if it was surveyed in full"
    )]
    LonelyPsu { survey: String, stratum: String },
    #[error(
        "{survey}: stratum {stratum} has {units} PSUs, and balanced half-samples need exactly two in every stratum. \
         Use kind = \"bootstrap\" in [resampling], or join and split strata in the file until each has two"
    )]
    NotPaired { survey: String, stratum: String, units: usize },
    #[error(
        "{stated} scales are stated in [resampling], and the data have {count} replicate weights; state one for each"
    )]
    Scales { stated: usize, count: usize },
    #[error("the design or the replicates of frame {frame} could not be set up")]
    Design {
        frame: &'static str,
        #[source]
        cause: StatError,
    },
    #[error(
        "outcome {outcome}: nobody of the cohort {missing} it, so no cutoff can be judged against it.{because} \
         Choose another outcome, or check that its columns are filled and its unit is right"
    )]
    OneClass { outcome: String, missing: &'static str, because: String },
    #[error(
        "index {index}: nobody of the cohort has a value, because {quantities} is missing for everybody{columns}. Leave the \
         index out of `indices`, or take data that hold {quantities}"
    )]
    NoValues { index: String, quantities: String, columns: String },
    #[error("p values could not be adjusted for their number")]
    Adjust(#[source] StatError),
    #[error(
        "{sample}: nobody of the cohort belongs to any group of {grouping}, so the samples cannot be compared by it. \
         Leave the grouping out, or leave out the sample"
    )]
    Grouping { grouping: String, sample: String },
    #[error("these numbers cannot be planned for")]
    Plan(#[source] StatError),
    #[error("a table could not be filled")]
    Table(#[from] TableError),
}

/// Tables and notices of a run.
#[derive(Debug, Clone)]
pub struct Results {
    pub tables: Vec<Table>,
    pub notices: Vec<Notice>,
}

impl Results {
    /// Adds tables, their rows below those of a table that is there already.
    pub fn add(&mut self, tables: Vec<Table>) {
        for table in tables {
            match self.tables.iter_mut().find(|known| known.name == table.name) {
                Some(known) => known.rows.extend(table.rows),
                None => self.tables.push(table),
            }
        }
    }
}

/// Fills one table; tables do not depend on each other.
type Make<'a> = &'a (dyn Fn() -> Result<Table, AnalysisError> + Sync);

/// Refuses what nothing can be estimated from: a design that is none, an outcome that nobody or everybody has.
pub fn refuse(study: &Study, tallies: &Tallies) -> Result<(), AnalysisError> {
    roc::all(&Context::new(study, tallies)?).map(drop)
}

/// Every estimate that a study asks for, from one sample.
pub fn estimate<'a>(
    study: &'a Study,
    tallies: &'a Tallies,
    flow: &[FlowStep],
) -> Result<Derived<'a>, AnalysisError> {
    let context = Context::new(study, tallies)?;
    let curves = roc::all(&context)?;
    let smoothed = smoothed::all(&context, &curves);
    let smooth = curves::all(&context);
    let standardized = standardized::all(&context);
    let pairs = index_pairs::all(&context)?;
    let tables: [Make; 34] = [
        &|| tabulate::flow(flow),
        &|| describe::sample(&context),
        &|| percentiles::percentiles(&context),
        &|| percentiles::geometric_means(&context),
        &|| tabulate::auc(&context, &curves),
        &|| roc_drawn::table(&context),
        &|| tabulate::cutoffs(&context, &curves),
        &|| tabulate::cutoff_accuracy(&context, &curves),
        &|| thresholds::shares(&context),
        &|| thresholds::accuracy(&context),
        &|| thresholds::equivalents(&context),
        &|| differences::table(&context, &curves),
        &|| reclassified::table(&context, &curves),
        &|| distribution::table(&context),
        &|| smoothed::table(&context, &curves, &smoothed),
        &|| heterogeneity::table(&context, &curves, &smoothed),
        &|| cutoff_pairs::table(&context, &curves, &smoothed),
        &|| cutoff_methods::table(&context, &curves, &smoothed),
        &|| curve_rows::percentiles(&context, &smooth),
        &|| curve_rows::cutoffs(&context, &smooth),
        &|| curve_checks::table(&context, &smooth),
        &|| lms_rows::parameters(&context, &smooth),
        &|| lms_rows::comparisons(&context, &smooth),
        &|| standardized::table(&context, &standardized),
        &|| standard_values::table(&context),
        &|| decomposition::table(&context, &standardized),
        &|| index_tables::comparison(&context, &pairs),
        &|| index_tables::which(&context, &curves, &pairs),
        &|| net_benefit::table(&context, &curves),
        &|| reference_limits::table(&context),
        &|| partition_tests::table(&context),
        &|| threshold_grid::table(&context, &curves),
        &|| published::table(&context, &curves),
        &|| outcome_prevalence::table(&context),
    ];
    let mut tables: Vec<Table> = tables.par_iter().map(|make| make()).collect::<Result<_, _>>()?;
    tables.extend(trend::as_released(&context, &curves, &smoothed)?);
    // Where few may not be shown, nobody in a reference group reads as a few do.
    if study.fewest_shown().is_none() {
        tables.iter_mut().for_each(impossible::leave_out);
    }
    for table in &mut tables {
        cycle_people::leave_out(study, table);
    }
    pairs_together::conclude(&mut tables);
    let notices = notices::all(&context, &tables);
    Ok(Derived { context, curves, smoothed, results: Results { tables, notices } })
}
