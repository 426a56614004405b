//! Headings, paragraphs and tables as plain text or Markdown.

use super::markdown::escaped;
use super::wrapped::wrapped;

/// A piece of a page of text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Block {
    Heading(String),
    Paragraph(String),
    /// Header and rows, all of one length.
    Table(Vec<String>, Vec<Vec<String>>),
    /// To be typed as they stand: never broken.
    Commands(Vec<String>),
}

/// Blanks between two columns.
const GAP: usize = 2;
/// A column is not made wider than this; longer cells push the next column right.
const WIDEST: usize = 62;

/// Plain text, paragraphs wrapped at `width`.
pub(super) fn text(blocks: &[Block], width: usize) -> String {
    let piece = |(position, block): (usize, &Block)| match block {
        Block::Heading(words) if position == 0 => format!("{words}\n"),
        Block::Heading(words) => format!("\n{words}\n"),
        Block::Paragraph(words) => wrapped(words, ("", "  "), width) + "\n",
        Block::Table(header, rows) => columns(header, rows),
        Block::Commands(lines) => indented(lines),
    };
    blocks.iter().enumerate().map(piece).collect()
}

/// Markdown with pipe tables.
pub(super) fn markdown(blocks: &[Block]) -> String {
    let row = |cells: &[String]| {
        let cells: Vec<String> = cells.iter().map(|cell| escaped(cell)).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    let piece = |block: &Block| match block {
        Block::Heading(words) => format!("## {}\n\n", escaped(words)),
        Block::Paragraph(words) => format!("{}\n\n", escaped(words)),
        Block::Table(header, rows) => {
            let rows: String = rows.iter().map(|cells| row(cells)).collect();
            format!("{}{}{rows}\n", row(header), row(&vec!["---".to_owned(); header.len()]))
        }
        Block::Commands(lines) => format!("{}\n", indented(lines)),
    };
    blocks.iter().map(piece).collect()
}

fn indented(lines: &[String]) -> String {
    lines.iter().fold(String::new(), |text, line| text + "    " + line + "\n")
}

fn columns(header: &[String], rows: &[Vec<String>]) -> String {
    let length = |cell: &String| cell.chars().count();
    let width = |at: usize| {
        let cells = rows.iter().map(|row| length(&row[at])).chain([length(&header[at])]);
        cells.filter(|w| *w <= WIDEST).max().unwrap_or(WIDEST)
    };
    let widths: Vec<usize> = (0..header.len()).map(width).collect();
    let line = |cells: &[String]| {
        let padded = cells
            .iter()
            .zip(&widths)
            .map(|(cell, w)| format!("{cell}{}", " ".repeat((w + GAP).saturating_sub(length(cell)).max(1))));
        format!("  {}\n", padded.collect::<String>().trim_end())
    };
    let mut out = line(header);
    out.extend(rows.iter().map(|row| line(row)));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_wraps_and_aligns_and_markdown_keeps_its_pipes() {
        let cell = |text: &str| text.to_owned();
        let table = Block::Table(vec![cell("a"), cell("b")], vec![vec![cell("long"), cell("x|y")]]);
        let blocks = [Block::Paragraph(cell("one two three")), table];
        assert_eq!(text(&blocks, 8), "one two\n  three\n  a     b\n  long  x|y\n");
        let long = "cutspan place out --glucose 101mg/dL";
        assert_eq!(text(&[Block::Commands(vec![cell(long)])], 8), format!("    {long}\n"));
        let heading = [Block::Heading(cell("*low* <b>\n"))];
        assert_eq!(markdown(&heading), "## \\*low\\* \\<b> \n\n");
        assert_eq!(markdown(&blocks), "one two three\n\n| a | b |\n| --- | --- |\n| long | x\\|y |\n\n");
    }
}
