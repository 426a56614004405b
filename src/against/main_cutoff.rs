//! The cutoff that a run's answer leads with, then and now.

use std::path::Path;

use csv::StringRecord;

use super::tables::Grid;
use crate::study::Study;
use crate::table::number::significant;

/// Columns that say which cutoff it is.
const WHICH: [&str; 7] = ["survey", "index", "outcome", "population", "grouping", "group", "rule"];

/// How the main cutoff changed; nothing when it did not, or when one run has none.
pub(super) fn change(before: &Path, after: &Path, study: &Study) -> Option<String> {
    let grid = |folder: &Path, table: &str| Grid::of_file(&folder.join(format!("{table}.csv")));
    let (old, new) = (grid(before, "cutoffs")?, grid(after, "cutoffs")?);
    let shares = grid(before, "threshold_shares");
    let asked = shares.as_ref().and_then(|shares| shares.cell(shares.rows.first()?, "index"));
    let label = |name: &str| {
        let index = study.indices.iter().find(|index| index.row.name == name);
        index.map_or_else(|| name.to_owned(), |index| index.row.label.clone())
    };
    in_words(&old, &new, asked, &label)
}

fn in_words(old: &Grid, new: &Grid, asked: Option<&str>, label: &dyn Fn(&str) -> String) -> Option<String> {
    let main = old.rows.iter().find(|row| {
        old.cell(row, "grouping") == Some("everybody") && (asked.is_none() || old.cell(row, "index") == asked)
    })?;
    let same = |row: &StringRecord| WHICH.iter().all(|which| new.cell(row, which) == old.cell(main, which));
    let again = new.rows.iter().find(|row| same(row))?;
    let (then, now) = (old.cell(main, "cutoff")?, new.cell(again, "cutoff")?);
    if then == now {
        return None;
    }
    let mut said = (short(then), short(now));
    if said.0 == said.1 {
        said = (then.to_owned(), now.to_owned());
    }
    let index = label(old.cell(main, "index")?);
    Some(format!("cutoffs: best cutoff of {index} for everybody {} then, {} now", said.0, said.1))
}

/// A number for reading.
fn short(cell: &str) -> String {
    cell.parse().map_or_else(|_| "withheld".to_owned(), |value| significant(value, 4))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cutoff_of_the_index_asked_about_is_said_where_it_changed() {
        let grid = |first: &str, second: &str| {
            let text = format!("index,grouping,cutoff\ntyg,everybody,{first}\nhoma_ir,everybody,{second}\n");
            Grid::read(text.as_bytes()).expect("a table")
        };
        let old = grid("8.5", "2.22114");
        let said = |new: &Grid, asked| in_words(&old, new, asked, &|_| "HOMA-IR".to_owned());
        let changed = said(&grid("8.5", "2.21512"), Some("homa_ir"));
        let expected = "cutoffs: best cutoff of HOMA-IR for everybody 2.221 then, 2.215 now";
        assert_eq!(changed.as_deref(), Some(expected));
        assert_eq!(said(&grid("8.5", "2.21512"), None), None, "the first of all is the same");
        let close = said(&grid("8.5", "2.22113"), Some("homa_ir")).expect("a change");
        assert!(close.ends_with("2.22114 then, 2.22113 now"), "{close}");
        let gone = said(&grid("8.5", ""), Some("homa_ir")).expect("a change");
        assert!(gone.ends_with("2.221 then, withheld now"), "{gone}");
    }
}
