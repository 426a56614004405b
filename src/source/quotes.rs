//! Quotation marks that open a cell and are not closed where it ends: the cell then takes in the rows below it.

use csv::StringRecord;

/// What parts the cells of a row, and how many cells a row has.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shape {
    pub separator: u8,
    pub columns: usize,
}

/// Where a reader of lines stands behind a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Behind {
    pub line: u32,
    /// Whether the text ended inside the last cell.
    pub open: bool,
}

/// Words for a row with a cell that takes in others, or is never closed. Line breaks that belong to a cell are left alone.
pub(super) fn fault(row: &StringRecord, shape: Shape, behind: Behind) -> Option<String> {
    let breaks = |cell: &str| cell.matches('\n').count() as u32;
    if behind.open {
        let line = behind.line - row.iter().next_back().map_or(0, breaks);
        return Some(format!(
            "line {line}: a quotation mark opens a cell that is not closed before the end of the file; close it or take it \
             out, or get the file again"
        ));
    }
    let mut line = behind.line - 1 - row.iter().map(breaks).sum::<u32>();
    for (at, cell) in row.iter().enumerate() {
        let last = line + breaks(cell);
        let first = row.get(0).unwrap_or_default().split(['\n', char::from(shape.separator)]).next();
        if takes_in_rows(cell, (at, row.len() - at - 1), shape, first.unwrap_or_default()) {
            return Some(format!(
                "line {line}: a quotation mark opens a cell that takes in whole rows, down to line {last}; close it or take \
                 it out (if the cell is meant so, take out its line breaks)"
            ));
        }
        line = last;
    }
    None
}

/// Whether the line on which a cell opens has the separators of a whole row, and a later one of its lines has too and begins
/// as the row does; `around` counts the cells before and behind it.
fn takes_in_rows(cell: &str, around: (usize, usize), shape: Shape, first: &str) -> bool {
    let mut separators: Vec<usize> =
        cell.split('\n').map(|line| line.matches(char::from(shape.separator)).count()).collect();
    let last = separators.len() - 1;
    if last == 0 || shape.columns < 2 {
        return false;
    }
    separators[0] += around.0;
    separators[last] += around.1;
    let whole = |found: &usize| *found + 1 >= shape.columns;
    let first = written_as(first);
    let begins_alike = |line: &str| {
        let own = written_as(line.split(char::from(shape.separator)).next().unwrap_or_default());
        // Names of columns are letters where the rows below them begin with a number.
        own == first || (own == "9" && !first.contains('9'))
    };
    let mut later = cell.split('\n').zip(&separators).skip(1);
    whole(&separators[0]) && later.any(|(line, found)| whole(found) && begins_alike(line))
}

/// Of what kinds of letters a cell is written, each once where it follows itself: `A-9` of `P-017`.
fn written_as(cell: &str) -> String {
    let kinds = cell.trim().chars().map(|letter| match letter {
        '0'..='9' => '9',
        letter if letter.is_alphabetic() => 'A',
        other => other,
    });
    let mut found: Vec<char> = kinds.collect();
    found.dedup();
    found.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said of a row of four cells that ends before line 10.
    fn said(cells: [&str; 4], open: bool) -> Option<String> {
        let shape = Shape { separator: b',', columns: 4 };
        fault(&StringRecord::from(cells.to_vec()), shape, Behind { line: 10, open })
    }

    #[test]
    fn a_cell_that_takes_in_whole_rows_is_told_with_its_lines() {
        let words = said(["1", "90", "5", "a\n2,95,8,b\n3,99,12,c"], false).expect("two rows are lost");
        assert!(words.starts_with("line 7: ") && words.contains("down to line 9;"), "{words}");
        // Opened in one note and closed by the mark that opens the next: line 8 is `1,"see,5,7`, line 9 `2,"ok",6,8`.
        let words = said(["1", "see,5,7\n2,ok\"", "6", "8"], false).expect("a row is lost");
        assert!(words.starts_with("line 8: ") && words.contains("down to line 9;"), "{words}");
        // The cell before it spans lines 7 and 8.
        let words = said(["x\ny", "see,5,7\nz,ok\"", "6", "8"], false).expect("a row is lost");
        assert!(words.starts_with("line 8: "), "{words}");
    }

    #[test]
    fn line_breaks_of_a_cell_are_left_alone() {
        for cells in [
            ["1", "90", "5", "a note\nof two lines, with a comma"],
            ["1", "a note\nof two, lines", "5", "7"],
            ["1", "with, commas\nand more", "5", "7"],
            ["17", "90", "5", "lives at\nStreet 1, Town, Land, far away"],
            ["1", "a\nb", "c\nd", "e\nf"],
        ] {
            assert_eq!(said(cells, false), None, "{cells:?}");
        }
        let two = Shape { separator: b',', columns: 1 };
        assert_eq!(fault(&StringRecord::from(vec!["a\nb"]), two, Behind { line: 4, open: false }), None);
    }

    /// hand: the reader stands behind the two line feeds that the cell of line 8 has taken in.
    #[test]
    fn a_cell_that_is_never_closed_is_told_with_the_line_on_which_it_opens() {
        let words = said(["1", "90", "5", "a note\n\n"], true).expect("never closed");
        assert!(words.starts_with("line 8: ") && words.contains("end of the file"), "{words}");
    }
}
