//! What is known of each outcome and of the items it counts, and what the three-valued rule decides
//! although items are missing.

use super::context::Context;
use super::groups::{EVERYBODY, Group};
use super::withhold::{Verdict, decimals};
use super::{AnalysisError, Results, tabulate};
use crate::cohort::{AnswerCount, AnswerCounts, UNKNOWN, YES};
use crate::notice::Notice;
use crate::study::{Study, StudyOutcome, known_of_nobody};
use crate::table::number::fixed;
use crate::table::{Row, RowBuilder, Table};

/// Weighted share of unknown outcomes, in percent, above which they are remarked.
const MANY_UNKNOWN: f64 = 10.0;

/// The table of items, and remarks on outcomes that are often unknown.
pub fn results(context: &Context, counts: &[AnswerCounts]) -> Result<Results, AnalysisError> {
    let mut table = tabulate::empty("outcome_items");
    for of_outcome in counts {
        let levels: Vec<_> =
            of_outcome.rows.iter().map(|row| context.tallies.plan.levels_of(row.cell)).collect();
        for group in context.groups.iter().filter(|group| group.is_single()) {
            let inside = of_outcome.rows.iter().zip(&levels).filter(|(_, levels)| group.holds(levels));
            let inside: Vec<AnswerCount> = inside.map(|(row, _)| *row).collect();
            parts(context, of_outcome, (group, &inside), &mut table)?;
        }
    }
    let notices = many_unknown(context.study, &table);
    Ok(Results { tables: vec![table], notices })
}

/// The rows of one outcome in one group: the outcome itself, then its items.
fn parts(
    context: &Context,
    counts: &AnswerCounts,
    (group, people): (&Group, &[AnswerCount]),
    table: &mut Table,
) -> Result<(), AnalysisError> {
    let (study, frame) = (context.study, &context.tallies.frames[counts.frame].frame);
    let outcome = &study.outcomes[counts.outcome];
    let positions = std::iter::once(None).chain((0..outcome.items.len()).map(Some));
    for position in positions {
        let answer = |row: &AnswerCount| position.map_or(row.answer, |item| row.item(item));
        let sums = Sums::new(people, &answer);
        let decided = position.is_none().then(|| Decided::new(people, outcome));
        let verdict = verdict(context, &sums, decided.is_some());
        let shown = verdict.shown(study);
        let item = position.map(|item| &outcome.items[item]);
        let part = item.map_or("outcome", |item| if item.required { "required" } else { "item" });
        let line = table
            .row()
            .text("survey", &*context.tallies.survey)
            .text("frame", context.frame_name(counts.frame))
            .text("outcome", &*outcome.row.name)
            .text("part", part)
            .text("item", item.map_or("", |item| &*item.name));
        let mut line = tabulate::of_group(line, &context.populations[0], group)
            .text("stated", tabulate::TOOL)
            .text("withheld", verdict.reason(study))
            .text("notices", verdict.notices(study));
        if shown {
            line = sums.write(line, &|weight| frame.weight(weight));
            if let Some(decided) = decided.filter(|_| !outcome.items.is_empty()) {
                line = decided.write(line, outcome);
            }
        }
        line.done()?;
    }
    Ok(())
}

fn verdict(context: &Context, sums: &Sums, decided: bool) -> Verdict {
    let mut verdict = Verdict::default();
    if sums.all() == 0 {
        verdict.cannot("nobody in the group");
    }
    if decided && sums.percent(2) > MANY_UNKNOWN {
        verdict.remarks.push(format!("more than {MANY_UNKNOWN} % unknown").into());
    }
    verdict.small_cell(context.study, sums.all());
    verdict
}

/// People and weights by answer: yes, no, unknown.
struct Sums {
    people: [u64; 3],
    weight: [i64; 3],
}

impl Sums {
    fn new(rows: &[AnswerCount], answer: &dyn Fn(&AnswerCount) -> u64) -> Self {
        let mut sums = Self { people: [0; 3], weight: [0; 3] };
        for row in rows {
            let place = match answer(row) {
                YES => 0,
                UNKNOWN => 2,
                _ => 1,
            };
            sums.people[place] += row.people;
            sums.weight[place] += row.weight;
        }
        sums
    }

    fn all(&self) -> u64 {
        self.people.iter().sum()
    }

    /// Weighted share of an answer, in percent; 0 among nobody.
    fn percent(&self, answer: usize) -> f64 {
        let all: i64 = self.weight.iter().sum();
        if all == 0 { 0.0 } else { 100.0 * (self.weight[answer] as f64 / all as f64) }
    }

    fn write<'t>(&self, line: RowBuilder<'t>, weight: &dyn Fn(i64) -> f64) -> RowBuilder<'t> {
        line.whole("n", Some(self.all() as i64))
            .real("weighted_n", Some(weight(self.weight.iter().sum())))
            .whole("n_yes", Some(self.people[0] as i64))
            .whole("n_no", Some(self.people[1] as i64))
            .whole("n_unknown", Some(self.people[2] as i64))
            .real("yes_percent", Some(self.percent(0)))
            .real("no_percent", Some(self.percent(1)))
            .real("unknown_percent", Some(self.percent(2)))
    }
}

/// People with an item unknown, by what the outcome makes of it.
struct Decided {
    yes: u64,
    no: u64,
    undecided: u64,
}

impl Decided {
    fn new(rows: &[AnswerCount], outcome: &StudyOutcome) -> Self {
        let mut decided = Self { yes: 0, no: 0, undecided: 0 };
        let missing = |row: &&AnswerCount| (0..outcome.items.len()).any(|item| row.item(item) == UNKNOWN);
        for row in rows.iter().filter(missing) {
            let sum = match row.answer {
                YES => &mut decided.yes,
                UNKNOWN => &mut decided.undecided,
                _ => &mut decided.no,
            };
            *sum += row.people;
        }
        decided
    }

    fn write<'t>(&self, line: RowBuilder<'t>, outcome: &StudyOutcome) -> RowBuilder<'t> {
        line.whole("items", Some(outcome.items.len() as i64))
            .whole("at_least", outcome.row.at_least.map(i64::from))
            .whole("n_item_unknown", Some((self.yes + self.no + self.undecided) as i64))
            .whole("decided_yes", Some(self.yes as i64))
            .whole("decided_no", Some(self.no as i64))
            .whole("undecided", Some(self.undecided as i64))
    }
}

/// A caution on an outcome that is unknown because part of what it reads is missing for everybody, with the bounds of its
/// prevalence: all whose answer is unknown without it, and all with it.
fn undecided(study: &Study, whole: &Row<'_>) -> Option<Notice> {
    let outcome = study.outcomes.iter().find(|outcome| outcome.row.name == whole.text("outcome"))?;
    let without = known_of_nobody(study, &outcome.ingredients);
    let (yes, unknown) = (whole.real("yes_percent")?, whole.real("unknown_percent")?);
    if without.is_empty() || unknown <= 0.0 {
        return None;
    }
    let percent = |share: f64| fixed(share, decimals(study));
    let message = format!(
        "{} % of the cohort (weighted) are undecided, by construction and not by chance, because {} is missing for everybody: the \
         prevalence may lie anywhere from {} to {} %, and the printed one and the cutoffs speak of the others alone",
        percent(unknown),
        without.join(" and "),
        percent(yes),
        percent(yes + unknown)
    );
    let about = format!("{}, frame {}", whole.text("outcome"), whole.text("frame"));
    Some(Notice::caution("undecided_outcome", about, message))
}

/// One caution for each outcome and frame that is often unknown, in everybody or in some group.
fn many_unknown(study: &Study, table: &Table) -> Vec<Notice> {
    let mut notices: Vec<Notice> = Vec::new();
    let often = |percent: Option<f64>| percent.is_some_and(|percent| percent > MANY_UNKNOWN);
    let everybody =
        table.iter().filter(|row| row.text("part") == "outcome" && row.text("group") == EVERYBODY);
    for whole in everybody {
        let same = ["frame", "outcome"];
        let groups: Vec<_> = table
            .iter()
            .filter(|row| row.text("part") == "outcome" && row.text("group") != EVERYBODY)
            .filter(|row| same.iter().all(|column| row.text(column) == whole.text(column)))
            .filter(|row| often(row.real("unknown_percent")))
            .collect();
        if let Some(notice) = undecided(study, &whole) {
            notices.push(notice);
            continue;
        }
        let percent = whole.real("unknown_percent");
        let unknown = |row: &Row| row.real("unknown_percent").unwrap_or_default();
        let worst = groups.iter().max_by(|a, b| unknown(a).total_cmp(&unknown(b)));
        let message = match (percent.filter(|p| often(Some(*p))), worst) {
            (Some(percent), _) => format!(
                "unknown for {} % of the cohort (weighted): prevalence and cutoffs hold for people whose answer is known",
                fixed(percent, decimals(study))
            ),
            (None, Some(worst)) => format!(
                "unknown for more than {MANY_UNKNOWN} % (weighted) in {} of the groups, most in {} ({} %)",
                groups.len(),
                worst.text("group"),
                fixed(unknown(worst), decimals(study))
            ),
            (None, None) => continue,
        };
        let about = format!("{}, frame {}", whole.text("outcome"), whole.text("frame"));
        notices.push(Notice::caution("unknown_outcome", about, message));
    }
    notices
}
