//! Populations (the cohort and its reference groups) and the groups they are split into.

use crate::cohort::{CellPlan, Cohort};
use crate::study::Study;
use crate::tally::Tallies;

/// Name of the grouping that does not split.
pub const EVERYBODY: &str = "everybody";

/// The cohort, or one of its reference groups: a mask over flags.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Population {
    pub name: String,
    pub label: String,
    /// Flags that must be clear.
    clear: u64,
    /// Flags that must be set.
    set: u64,
}

impl Population {
    #[must_use]
    pub fn holds(&self, flags: u64) -> bool {
        flags & self.clear == 0 && flags & self.set == self.set
    }
}

/// The cohort first, then every reference group.
#[must_use]
pub fn populations(study: &Study) -> Vec<Population> {
    let clear = Cohort::exclusion_mask(study);
    let cohort = Population { name: "cohort".to_owned(), label: "the cohort".to_owned(), clear, set: 0 };
    let reference = |(position, reference): (usize, &crate::study::Reference)| Population {
        name: reference.name.clone(),
        label: reference.label.clone(),
        clear,
        set: Cohort::reference_bit(study, position),
    };
    std::iter::once(cohort).chain(study.references.iter().enumerate().map(reference)).collect()
}

/// Levels of some variables at once; no variables means everybody.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Position of the grouping in the study; `None` for everybody.
    pub grouping: Option<usize>,
    pub grouping_name: String,
    pub name: String,
    /// (variable, level) pairs that must all hold.
    levels: Vec<(usize, u8)>,
}

impl Group {
    /// (variable, level) pairs that must all hold; none for everybody.
    #[must_use]
    pub fn levels(&self) -> &[(usize, u8)] {
        &self.levels
    }

    /// Whether it is everybody, or a level of one variable.
    #[must_use]
    pub fn is_single(&self) -> bool {
        self.levels.len() < 2
    }

    /// Whether somebody with these levels (`None`: unknown) belongs to the group.
    #[must_use]
    pub fn holds(&self, levels: &[Option<u8>]) -> bool {
        self.levels.iter().all(|&(variable, level)| levels[variable] == Some(level))
    }

    /// Its level of a variable; `None` when it is not split by it.
    #[must_use]
    pub fn level(&self, variable: usize) -> Option<u8> {
        self.levels.iter().find(|(of, _)| *of == variable).map(|(_, level)| *level)
    }
}

/// Everybody, then all groups of every grouping in the order of the study; groups without a single
/// person of the cohort (under 20 in a study of adults) are left out.
#[must_use]
pub fn groups(study: &Study, tallies: &Tallies) -> Vec<Group> {
    let cohort = Cohort::exclusion_mask(study);
    let mut cells: Vec<i64> = tallies
        .frames
        .iter()
        .flat_map(|f| f.people.cell.iter().zip(&f.people.flags))
        .filter_map(|(&cell, flags)| (flags & cohort == 0).then_some(cell))
        .collect();
    cells.sort_unstable();
    cells.dedup();
    let occupied: Vec<Vec<Option<u8>>> = cells.iter().map(|&c| tallies.plan.levels_of(c)).collect();
    let mut groups = all_groups(study, &tallies.plan);
    groups.retain(|g| g.grouping.is_none() || occupied.iter().any(|levels| g.holds(levels)));
    groups
}

fn all_groups(study: &Study, plan: &CellPlan) -> Vec<Group> {
    let everybody = Group {
        grouping: None,
        grouping_name: EVERYBODY.to_owned(),
        name: EVERYBODY.to_owned(),
        levels: Vec::new(),
    };
    let mut all = vec![everybody];
    for (position, variables) in study.groupings.iter().enumerate() {
        let grouping_name =
            variables.iter().map(|&v| study.variables[v].name.as_str()).collect::<Vec<_>>().join(" × ");
        let mut crossed: Crossed = vec![(Vec::new(), Vec::new())];
        for &variable in variables {
            crossed = cross(&crossed, variable, &plan.variables[variable].labels);
        }
        all.extend(crossed.into_iter().map(|(names, levels)| Group {
            grouping: Some(position),
            grouping_name: grouping_name.clone(),
            name: names.join(" × "),
            levels,
        }));
    }
    all
}

/// Names and (variable, level) pairs of the groups of a crossing.
type Crossed = Vec<(Vec<String>, Vec<(usize, u8)>)>;

fn cross(so_far: &Crossed, variable: usize, labels: &[String]) -> Crossed {
    so_far
        .iter()
        .flat_map(|(names, levels)| {
            labels.iter().enumerate().map(move |(level, label)| {
                let mut names = names.clone();
                names.push(label.clone());
                let mut levels = levels.clone();
                levels.push((variable, level as u8));
                (names, levels)
            })
        })
        .collect()
}
