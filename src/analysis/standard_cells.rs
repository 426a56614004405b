//! Who is compared on equal terms: the people of a grouping in the cells that every group has.

use super::context::{Context, Ordered};
use super::groups::{Group, Population};
use super::select::{Classed, rows, split, take};
use super::withhold;
use crate::stats::Sample;
use crate::stats::standardize::{MOST_LOST, common_cells};
use crate::study::{Split, Standard, Standardisation};

/// Fewest people of a group that takes part in a comparison of values.
const FEWEST: u64 = 30;
/// The column whose variables count as body size.
const BMI: &str = "bmi_kg_m2";

/// What is compared: the groups of a grouping by an index, against an outcome or by its values alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Task {
    pub index: usize,
    pub outcome: Option<usize>,
    pub grouping: usize,
}

impl Task {
    /// The frame that serves it.
    #[must_use]
    pub fn frame(&self, context: &Context) -> usize {
        match self.outcome {
            Some(outcome) => context.frame_of_pair(self.index, outcome),
            None => context.frame_of_index(self.index),
        }
    }
}

/// The people of one group in the cells that are kept.
#[derive(Debug, Clone)]
pub struct Member {
    /// Position in the context's groups.
    pub group: usize,
    pub people: Classed,
    /// Finest cell of each row.
    pub cell: Vec<usize>,
}

/// One way of weighting the groups.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjustment {
    /// Variables joined by ×, or `none`.
    pub name: String,
    pub words: String,
    /// Whose distribution; empty for none.
    pub standard: String,
    /// Whether body size is among the variables.
    pub body_size: bool,
    /// Cell of each finest cell, and the standard's shares in these; `None` leaves the weights alone.
    pub cells: Option<(Vec<usize>, Vec<f64>)>,
}

/// The groups of a task on the cells that all of them have.
#[derive(Debug, Clone)]
pub struct Comparison {
    pub members: Vec<Member>,
    /// None first, then as the study lists them.
    pub adjustments: Vec<Adjustment>,
    /// Share of the standard in the cells dropped.
    pub lost: f64,
    /// Why nothing can be compared.
    pub refused: Option<String>,
}

/// Cells made of several variables at once.
struct Cells {
    variables: Vec<usize>,
    levels: Vec<usize>,
}

impl Cells {
    fn new(context: &Context, standardisation: &Standardisation) -> Self {
        let mut variables: Vec<usize> = standardisation.to.iter().flatten().copied().collect();
        variables.sort_unstable();
        variables.dedup();
        let levels = variables.iter().map(|&v| context.tallies.plan.variables[v].labels.len()).collect();
        Self { variables, levels }
    }

    fn count(&self) -> usize {
        self.levels.iter().product()
    }

    /// The cell of somebody with these levels; `None` if one is unknown.
    fn of(&self, levels: &[Option<u8>]) -> Option<usize> {
        self.variables
            .iter()
            .zip(&self.levels)
            .try_fold(0, |cell, (&variable, count)| Some(cell * count + usize::from(levels[variable]?)))
    }

    /// Level of one of the variables in a cell.
    fn level(&self, cell: usize, variable: usize) -> usize {
        let after = self.variables.iter().zip(&self.levels).skip_while(|(v, _)| **v != variable).skip(1);
        let step: usize = after.map(|(_, count)| count).product();
        let position = self.variables.iter().position(|v| *v == variable).unwrap_or(0);
        cell / step % self.levels[position]
    }

    /// Cells of some of the variables, for each finest cell.
    fn coarse(&self, variables: &[usize]) -> Vec<usize> {
        let of = |cell: usize| {
            let levels = |&v: &usize| self.levels[self.variables.iter().position(|w| *w == v).unwrap_or(0)];
            variables.iter().fold(0, |coarse, v| coarse * levels(v) + self.level(cell, *v))
        };
        (0..self.count()).map(of).collect()
    }
}

/// Groups of a task with the people that stay in, and the standards they are given.
#[must_use]
pub fn compare(context: &Context, standardisation: &Standardisation, task: Task) -> Comparison {
    let cells = Cells::new(context, standardisation);
    let ordered = &context.frames[task.frame(context)].indices[task.index];
    let members = (0..context.groups.len()).filter(|&g| context.groups[g].grouping == Some(task.grouping));
    let all: Vec<Member> = members
        .map(|group| {
            member((ordered, &cells), task, &context.populations[0], (group, &context.groups[group]))
        })
        .collect();
    let compared: Vec<(&Sample, &[usize])> = all
        .iter()
        .filter(|m| takes_part(task, &m.people))
        .map(|m| (&m.people.sample, m.cell.as_slice()))
        .collect();
    let common = match compared.len() {
        0 | 1 => Err("fewer than two groups have enough people to be compared".to_owned()),
        _ => common_cells(&compared, &standard(context, &cells, standardisation, task))
            .map_err(|why| why.to_string()),
    };
    let (kept, standard, lost, refused) = match common {
        Ok(common) => {
            let lost = common.lost;
            let refused = (lost > MOST_LOST).then(|| {
                format!("{:.0} % of the standard lie in cells that are empty in some group", 100.0 * lost)
            });
            (common.kept, common.standard, lost, refused)
        }
        Err(why) => (vec![true; cells.count()], vec![1.0; cells.count()], 0.0, Some(why)),
    };
    Comparison {
        members: all.into_iter().map(|m| keep(m, &kept)).collect(),
        adjustments: adjustments(context, standardisation, &cells, &standard),
        lost,
        refused,
    }
}

fn takes_part(task: Task, people: &Classed) -> bool {
    match task.outcome {
        Some(_) => withhold::enough_for_cutoff(people.with, people.without),
        None => people.without >= FEWEST,
    }
}

/// The people of a group whose value, outcome and cell are known; without an outcome, all are without it.
fn member(
    (ordered, cells): (&Ordered, &Cells),
    task: Task,
    population: &Population,
    (position, group): (usize, &Group),
) -> Member {
    let in_cells: Vec<usize> = rows(ordered, population, group)
        .into_iter()
        .filter(|&row| cells.of(&ordered.levels[row]).is_some())
        .collect();
    let (people, known) = if let Some(outcome) = task.outcome {
        split(ordered, &in_cells, outcome)
    } else {
        let sample = take(ordered, &in_cells);
        let without = sample.people_counted();
        let class = vec![false; sample.len()];
        (Classed { sample, class, without, ..Classed::default() }, in_cells)
    };
    let cell = known.iter().filter_map(|&row| cells.of(&ordered.levels[row])).collect();
    Member { group: position, people, cell }
}

/// The same group without the people of dropped cells.
fn keep(member: Member, kept: &[bool]) -> Member {
    let Member { group, people, cell } = member;
    let stay: Vec<usize> = (0..cell.len()).filter(|&row| kept[cell[row]]).collect();
    let sample = people.sample.pick(&stay);
    let class: Vec<bool> = stay.iter().map(|&r| people.class[r]).collect();
    let of = |wanted: bool| {
        let rows = sample.people.iter().zip(&class).filter(|(_, c)| **c == wanted);
        rows.map(|(&n, _)| u64::from(n)).sum()
    };
    let (with, without) = (of(true), of(false));
    let people = Classed { sample, class, with, without, unknown: people.unknown };
    Member { group, people, cell: stay.iter().map(|&r| cell[r]).collect() }
}

/// The standard's weight in each finest cell: everybody of its population with a value and a known outcome.
fn standard(context: &Context, cells: &Cells, standardisation: &Standardisation, task: Task) -> Vec<f64> {
    let population = match standardisation.standard {
        Standard::Reference(position) => &context.populations[position + 1],
        Standard::Cohort | Standard::Population { .. } => &context.populations[0],
    };
    let ordered = &context.frames[task.frame(context)].indices[task.index];
    let everybody = member((ordered, cells), task, population, (0, &context.groups[0]));
    let mut weights = vec![0.0; cells.count()];
    for (&cell, weight) in everybody.cell.iter().zip(&everybody.people.sample.weight) {
        weights[cell] += weight;
    }
    if let Standard::Population { variable, shares, .. } = &standardisation.standard {
        for (level, share) in shares.iter().enumerate() {
            let inside: Vec<usize> =
                (0..weights.len()).filter(|&c| cells.level(c, *variable) == level).collect();
            let total: f64 = inside.iter().map(|&c| weights[c]).sum();
            for c in &inside {
                weights[*c] =
                    if total > 0.0 { weights[*c] * share / total } else { share / inside.len() as f64 };
            }
        }
    }
    weights
}

fn adjustments(
    context: &Context,
    standardisation: &Standardisation,
    cells: &Cells,
    standard: &[f64],
) -> Vec<Adjustment> {
    let none = Adjustment {
        name: "none".to_owned(),
        words: "nothing".to_owned(),
        standard: String::new(),
        body_size: false,
        cells: None,
    };
    let one = |variables: &Vec<usize>| {
        let coarse = cells.coarse(variables);
        let mut shares = vec![0.0; coarse.iter().max().map_or(0, |largest| largest + 1)];
        for (&cell, share) in coarse.iter().zip(standard) {
            shares[cell] += share;
        }
        let all = || variables.iter().map(|&v| &context.study.variables[v]);
        Adjustment {
            name: all().map(|v| v.name.as_str()).collect::<Vec<_>>().join(" × "),
            // "age, three bands" is adjusted for as "age".
            words: and(&all().map(|v| v.label.split(',').next().unwrap_or(&v.label)).collect::<Vec<_>>()),
            standard: standard_name(context, &standardisation.standard),
            body_size: all().any(|v| matches!(&v.split, Split::Bands { column, .. } if column == BMI)),
            cells: Some((coarse, shares)),
        }
    };
    std::iter::once(none).chain(standardisation.to.iter().map(one)).collect()
}

fn and(words: &[&str]) -> String {
    match words.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}

fn standard_name(context: &Context, standard: &Standard) -> String {
    match standard {
        Standard::Cohort => context.populations[0].name.clone(),
        Standard::Reference(position) => context.populations[position + 1].name.clone(),
        Standard::Population { name, .. } => name.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_knows_its_levels_and_its_coarser_cell() {
        // Variables 2 and 5 with 3 and 4 levels; variable 2 is slowest.
        let cells = Cells { variables: vec![2, 5], levels: vec![3, 4] };
        let levels = [None, None, Some(1), None, None, Some(3)];
        assert_eq!((cells.count(), cells.of(&levels)), (12, Some(7)));
        assert_eq!((cells.level(7, 2), cells.level(7, 5)), (1, 3));
        assert_eq!(cells.of(&[None; 6]), None, "an unknown level has no cell");
        assert_eq!(cells.coarse(&[2])[7], 1);
        assert_eq!(cells.coarse(&[5])[7], 3);
        assert_eq!(cells.coarse(&[5, 2])[7], 10, "3 × 3 + 1");
    }
}
