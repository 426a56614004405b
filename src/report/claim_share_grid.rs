//! The first table of a threshold: of each group its people, those left out, and the share on the stated side.

use super::claim::{Stated, in_unit};
use super::claim_grids::{Grid, GridRow, column, fill};
use super::claim_people::left_out_percent;
use super::ends::is_uniform;
use crate::chart::Labels;
use crate::table::estimate::share_alone;
use crate::table::number::reading;
use crate::table::{Row, Table};

/// Why few people may have a printed share of all or none, and a withheld one at another threshold.
const ALL_OR_NONE: &str = "0 or 100 %: where all people of a group are on one side, nothing tells how the survey's sampling widens \
                           the interval, and it takes them as drawn singly; so it may be printed where other shares of the same \
                           people are withheld";

pub(super) fn shares(table: &Table, stated: &Stated<'_>, labels: &Labels) -> Grid {
    let at = in_unit(labels, stated.index, stated.value);
    let lower = labels.lower_is_resistant(stated.index);
    let percentile = if lower { "% less resistant".to_owned() } else { format!("percentile of {at}") };
    let columns = [
        column(format!("{} {at}, %", stated.side), "share"),
        column(percentile, "percentile"),
        column("same percentile*", "equivalent"),
    ];
    let title = format!("{} {} {at}, by group", labels.index_label(stated.index), stated.side);
    let mut grid = fill(table, stated, labels, (title, "people", &columns));
    let repeats = repeats(&mut grid);
    let shares = stated.rows(table, "share");
    population(&mut grid, &shares);
    left_out(&mut grid, &shares);
    if repeats {
        let from = if lower { ", counted from the least resistant" } else { "" };
        grid.notes.push(format!(
            "{} {at}, %: it is the percentile of the group, too, at which {at} sits{from}",
            stated.side
        ));
    } else if lower {
        let label = labels.index_label(stated.index);
        grid.notes.push(format!(
            "% less resistant: people with {label} above {at}, counted from the least resistant, so a high {label} comes first"
        ));
    }
    if shares.iter().any(is_uniform) {
        grid.notes.push(ALL_OR_NONE.to_owned());
    }
    grid.notes.push(format!("* the value that is the same percentile of the group as {at} is of everybody"));
    grid
}

/// Takes out the percentiles where they are the shares beside them, and says whether they were.
fn repeats(grid: &mut Grid) -> bool {
    const SHARE: usize = 1;
    let same = |row: &GridRow| row.cells.get(SHARE) == row.cells.get(SHARE + 1);
    if !grid.rows.iter().all(same) {
        return false;
    }
    let lines = grid.rows.iter_mut().map(|row| &mut row.cells).chain([&mut grid.columns]);
    for cells in lines.filter(|cells| cells.len() > SHARE + 1) {
        cells.remove(SHARE + 1);
    }
    true
}

/// A column of the people whom the study leaves out of each group, where they are known.
fn left_out(grid: &mut Grid, shares: &[Row<'_>]) {
    let percents: Vec<Option<f64>> = shares.iter().map(left_out_percent).collect();
    if !percents.iter().flatten().any(|percent| *percent > 0.0) {
        return;
    }
    grid.columns.insert(0, "left out, %".to_owned());
    for (row, percent) in grid.rows.iter_mut().filter(|row| !row.cells.is_empty()).zip(percents) {
        row.cells.insert(0, percent.map(|percent| share_alone(percent, 0)).unwrap_or_default());
    }
    grid.notes
        .push("left out, %: of the group's people examined, those whom the study leaves out".to_owned());
}

/// A column of the people whom a share stands for, beside the share.
fn population(grid: &mut Grid, shares: &[Row<'_>]) {
    if shares.iter().all(|row| row.real("population_number").is_none()) {
        return;
    }
    grid.columns.insert(2, "million".to_owned());
    for (row, share) in grid.rows.iter_mut().filter(|row| !row.cells.is_empty()).zip(shares) {
        let people = share.real("population_number").map(|people| reading(people / 1e6, 3));
        row.cells.insert(2, people.unwrap_or_default());
    }
    grid.notes.push(
        "million: people of the survey's population, the share times what the weights of the counted people add up to"
            .to_owned(),
    );
    let is_part = |row: &Row<'_>| row.shown("value").is_some() && row.real("population_number").is_none();
    if shares.iter().any(is_part) {
        grid.notes.push(
            "million is empty for survey cycles: the weights of one cycle of a pooled study add up to its part of the average over \
             the cycles, and not to the people of its time"
                .to_owned(),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::schema;

    #[test]
    fn people_of_the_population_stand_beside_the_share_where_they_are_known() {
        let grid_of = |number: Option<f64>| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            table.row().real("population_number", number).done().expect("a row");
            // A cycle of a pooled study.
            table.row().real("value", Some(46.1)).done().expect("a row");
            let cells = ["12", "46.1", "50.0"].map(str::to_owned);
            let mut grid = Grid {
                columns: cells.to_vec(),
                rows: vec![
                    GridRow { label: "Sex".to_owned(), cells: Vec::new() },
                    GridRow { label: "male".to_owned(), cells: cells.to_vec() },
                    GridRow { label: "2017-2020".to_owned(), cells: cells.to_vec() },
                ],
                ..Grid::default()
            };
            population(&mut grid, &table.iter().collect::<Vec<_>>());
            grid
        };
        let grid = grid_of(Some(90_712_345.0));
        assert_eq!(grid.columns[2], "million");
        assert!(grid.rows[0].cells.is_empty());
        assert_eq!(grid.rows[1].cells, ["12", "46.1", "90.7", "50.0"]);
        assert_eq!(grid.rows[2].cells, ["12", "46.1", "", "50.0"]);
        assert!(grid.notes[1].starts_with("million is empty for survey cycles"), "{:?}", grid.notes);
        assert_eq!((grid_of(None).columns.len(), grid_of(None).notes.len()), (3, 0));
    }
    #[test]
    fn percentiles_that_repeat_the_shares_are_left_out_and_those_left_out_of_the_study_are_told() {
        let row =
            |cells: [&str; 4]| GridRow { label: "g".to_owned(), cells: cells.map(str::to_owned).to_vec() };
        let grid_of = |percentile: &str| {
            let mut grid = Grid {
                columns: ["people", "below", "percentile", "same"].map(str::to_owned).to_vec(),
                rows: vec![row(["12", "46.1", "46.1", "2"]), row(["9", "[a]", percentile, "1"])],
                ..Grid::default()
            };
            let repeats = repeats(&mut grid);
            (grid, repeats)
        };
        let (mut grid, repeated) = grid_of("[a]");
        assert!(repeated);
        assert_eq!((&*grid.columns[2], &*grid.rows[0].cells[2]), ("same", "2"));
        assert_eq!((grid_of("45.0").0.columns.len(), grid_of("45.0").1), (4, false));
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for counted in [Some((100, 29)), None] {
            let row = table.row().whole("examined", counted.map(|(examined, _)| examined));
            row.whole("left_out", counted.map(|(_, left_out)| left_out)).done().expect("a row");
        }
        left_out(&mut grid, &table.iter().collect::<Vec<_>>());
        assert_eq!(
            (&*grid.columns[0], &*grid.rows[0].cells[0], &*grid.rows[1].cells[0]),
            ("left out, %", "29", "")
        );
    }
}
