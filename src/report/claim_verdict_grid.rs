//! The table of a claim: of each group the estimate, the verdict and the p values behind it.

use super::claim::{ClaimInput, Stated, in_unit};
use super::claim_grids::{Grid, GridRow, Notes, cell_text, heading, label, places_of};
use super::claim_verdicts::told_ends;
use crate::chart::Labels;
use crate::table::Row;
use crate::table::estimate::share_alone;
use crate::table::number::{apart, p_value, significant, whole};
use crate::table::schema::ALL_GROUPS;
use crate::table::verdicts::{
    MORE_DECIMALS, by_interval_alone, could_be_chance, in_the_family, of_groups, tested,
};

pub(super) fn one_claim(input: &ClaimInput<'_>, (stated, claim): (&Stated<'_>, &str)) -> Grid {
    let (table, labels) = (input.table, input.labels);
    let mut rows = stated.of_claim(table, claim);
    rows.retain(|row| row.text("group") != ALL_GROUPS);
    let people = rows.first().map(|row| counted(row.text("measure"), stated, labels)).unwrap_or_default();
    let columns = [&*people, "estimate", "verdict", "p", "p by Holm"].map(str::to_owned).to_vec();
    let mut grid = Grid { title: format!("Claim: {claim}"), columns, ..Grid::default() };
    let mut notes = Notes::default();
    let places = places_of(&rows, labels);
    for row in &rows {
        heading(&mut grid, row, labels);
        let p = |column: &str| row.real(column).map(p_value).unwrap_or_default();
        let cells = vec![
            row.whole("n").map(whole).unwrap_or_default(),
            cell_text(row, told_apart(row, places), &mut notes),
            verdict_text(row),
            p("p"),
            p("p_holm"),
        ];
        grid.rows.push(GridRow { label: label(row), cells });
    }
    grid.notes = notes.lines();
    if rows.iter().any(|row| row.shown("value").is_some() && told_apart(row, places) > places) {
        grid.notes.push(MORE_DECIMALS.to_owned());
    }
    if rows.iter().any(by_interval_alone) {
        grid.notes.push("* by the interval alone, whose end is given where it decides".to_owned());
    }
    let groups = of_groups(&rows);
    grid.notes.extend(tested(&groups));
    grid.notes.extend(chance(&groups, input.confidence));
    prevalence(&mut grid, &rows, &stated.rows(table, "prevalence"));
    grid
}

/// A verdict that is made from the interval of a withheld share is marked, with the end that decides.
fn verdict_text(row: &Row<'_>) -> String {
    let verdict = row.text("verdict");
    match told_ends(row).filter(|_| by_interval_alone(row)) {
        Some(ends) => format!("{ends}: {verdict}*"),
        None if by_interval_alone(row) => format!("{verdict}*"),
        None => verdict.to_owned(),
    }
}

/// Below verdicts of which some could be chance.
fn chance(groups: &[Row<'_>], confidence: f64) -> Option<String> {
    groups.iter().any(|row| could_be_chance(row, confidence)).then(|| {
        format!(
            "holds or fails with a p by Holm above {}: could be chance, given {} groups tested",
            significant(1.0 - confidence, 2),
            in_the_family(groups)
        )
    })
}

/// Beside a claim about a predictive value, how common the outcome is in each group.
fn prevalence(grid: &mut Grid, claimed: &[Row<'_>], prevalence: &[Row<'_>]) {
    if !claimed.iter().any(|row| ["ppv", "npv"].contains(&row.text("measure"))) {
        return;
    }
    let same = |one: &Row<'_>, other: &Row<'_>| {
        ["grouping", "group"].iter().all(|column| one.text(column) == other.text(column))
    };
    grid.columns.insert(1, "have it, %".to_owned());
    for (row, claimed) in grid.rows.iter_mut().filter(|row| !row.cells.is_empty()).zip(claimed) {
        let common = prevalence.iter().find(|common| same(common, claimed));
        let common = common.and_then(|common| common.shown("value")).map(|value| share_alone(value, 0));
        row.cells.insert(1, common.unwrap_or_else(|| "withheld".to_owned()));
    }
}

/// Whom the denominator of a measure counts.
fn counted(measure: &str, stated: &Stated<'_>, labels: &Labels) -> String {
    let at = in_unit(labels, stated.index, stated.value);
    let [beyond, short] = stated.sides(labels);
    match measure {
        "sensitivity" => "with the outcome".to_owned(),
        "specificity" => "without it".to_owned(),
        "ppv" => format!("{beyond} {at}"),
        "npv" => format!("{short} {at}"),
        "best_cutoff" => "outcome known".to_owned(),
        _ => "people".to_owned(),
    }
}

/// Decimals with which no end of an interval looks like the limit that it is not.
fn told_apart(row: &Row<'_>, places: usize) -> usize {
    let [ends, limits] = [["lower", "upper"], ["claimed_from", "claimed_to"]]
        .map(|columns| columns.iter().filter_map(|column| row.real(column)).collect::<Vec<_>>());
    apart(&ends, &limits, places)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::claim::tests::input;
    use crate::table::{Table, schema};

    #[test]
    fn an_end_beside_the_limit_gets_another_decimal() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        let row = table.row().text("claim", "x").real("value", Some(35.2)).real("lower", Some(22.1));
        row.real("upper", Some(49.96)).real("claimed_from", Some(50.0)).done().expect("a row");
        let row = table.iter().next().expect("a row");
        assert_eq!((told_apart(&row, 0), told_apart(&row, 2)), (2, 2));
        assert_eq!(cell_text(&row, told_apart(&row, 0), &mut Notes::default()), "35.20 (22.10–49.96)");
        let noted = |upper: f64| {
            let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
            let row = table.row().text("index", "i").real("threshold", Some(2.0)).text("claim", "c");
            let row = row.text("grouping", "sex").text("group", "a").text("value_unit", "%");
            let row = row.real("value", Some(35.2)).real("lower", Some(22.1)).real("upper", Some(upper));
            row.real("claimed_from", Some(50.0)).done().expect("a row");
            let (labels, stated) = (Labels::default(), Stated::of(&table.iter().next().expect("a row")));
            let grid = one_claim(&input(&table, &labels), (&stated.expect("a threshold"), "c"));
            grid.notes.iter().any(|note| note == MORE_DECIMALS)
        };
        assert_eq!([noted(49.96), noted(47.0)], [true, false]);
    }

    #[test]
    fn a_verdict_by_the_interval_alone_and_one_that_may_be_chance_are_marked() {
        let mut table = Table::new(schema::shape("claim").expect("the table of claims"));
        for (group, upper, p) in [("a", Some(7.04), 0.001), ("b", None, 0.2)] {
            let row = table.row().text("index", "i").real("threshold", Some(2.0)).text("claim", "c");
            let row = row.text("grouping", "sex").text("group", group).text("verdict", "holds");
            let row = row.real("value", upper.is_none().then_some(20.0)).real("upper", upper);
            let row = row.text("withheld", upper.map_or("", |_| "wide")).text("value_unit", "%");
            row.real("p_holm", Some(p)).done().expect("a row");
        }
        let labels = Labels::default();
        let stated = Stated::of(&table.iter().next().expect("a row")).expect("a threshold");
        let grid = one_claim(&input(&table, &labels), (&stated, "c"));
        let verdicts: Vec<&str> =
            grid.rows.iter().filter_map(|row| Some(row.cells.get(2)?.as_str())).collect();
        assert_eq!(verdicts, ["up to 7.0\u{a0}%: holds*", "holds"]);
        assert_eq!(
            grid.notes[1..],
            [
                "* by the interval alone, whose end is given where it decides",
                "holds or fails with a p by Holm above 0.05: could be chance, given 2 groups tested"
            ]
        );
    }
}
