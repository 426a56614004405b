//! What a text file may hold in place of its header line: two bytes a letter, or a title.

/// With these bytes text of two bytes a letter begins, in one order of the bytes or the other.
const MARKS: [&[u8]; 2] = [&[0xff, 0xfe], &[0xfe, 0xff]];
/// As many pairs of bytes are looked at where no mark stands.
const PAIRS: usize = 32;
/// What may part the columns, and whether it also stands in plain sentences.
const SEPARATORS: [(char, bool); 4] = [(',', true), (';', false), ('\t', false), ('|', false)];
/// A row of so many cells is one of a table: of an id and two columns.
const FEWEST_CELLS: usize = 3;
/// A title and the header below it stand in so many bytes and lines.
const MOST_BYTES: usize = 8192;
const MOST_LINES: usize = 12;

pub(super) const TWO_BYTES: &str = "UTF-16 text, which some programs call Unicode text: two bytes a letter; save the file as \
                                    CSV in UTF-8";

/// Whether a text begins as one of two bytes a letter does: by its mark, or because every second byte is 0.
pub(super) fn is_two_bytes(start: &[u8]) -> bool {
    let pairs = || start.chunks_exact(2).take(PAIRS);
    let zero_at = |at: usize| pairs().count() > 1 && pairs().all(|pair| pair[at] == 0 && pair[1 - at] != 0);
    MARKS.iter().any(|mark| start.starts_with(mark)) || zero_at(0) || zero_at(1)
}

/// Words for a line that stands alone above rows of several cells; `before`: so many lines were taken off.
pub(super) fn title(start: &[u8], separator: Option<u8>, before: u32) -> Option<String> {
    let text = String::from_utf8_lossy(&start[..start.len().min(MOST_BYTES)]).replace("\r\n", "\n");
    let lines: Vec<&str> = text.trim_start_matches('\u{feff}').split(['\n', '\r']).take(MOST_LINES).collect();
    let first = lines.iter().position(|line| filled(line, ',') > 0)?;
    // A header of several lines stands in quotation marks.
    if lines[first].matches('"').count() % 2 == 1 {
        return None;
    }
    let separators =
        SEPARATORS.iter().filter(|(own, _)| separator.is_none_or(|known| char::from(known) == *own));
    let header = separators.filter_map(|one| header(&lines, first, *one)).min()?;
    let title = lines[first].trim_matches(|c: char| c.is_whitespace() || c == '"' || is_separator(c));
    Some(format!(
        "line {}: \"{title}\" stands alone above the line of column names, which seems to be line {}: take out what stands \
         above that",
        before as usize + first + 1,
        before as usize + header + 1,
    ))
}

/// The line of column names: the first of several cells below lines of one, followed by another of several.
fn header(lines: &[&str], first: usize, (separator, in_sentences): (char, bool)) -> Option<usize> {
    let is_row = |line: &&str| line.split(separator).count() >= FEWEST_CELLS && filled(line, separator) > 1;
    let mut below = lines.iter().enumerate().skip(first + 1).filter(|(_, line)| filled(line, separator) > 0);
    let (at, _) = below.find(|(_, line)| is_row(line))?;
    let followed = below.next().is_none_or(|(_, line)| is_row(line));
    let other_cells = |line: &&str| SEPARATORS.iter().any(|(other, _)| filled(line, *other) > 1);
    // A header of as many cells by another separator as the row below it has stands above lists in cells, and is no title.
    let as_many = |line: &str| {
        let others = SEPARATORS.iter().filter(|(other, _)| *other != separator && filled(line, *other) > 1);
        others.into_iter().any(|(other, _)| line.split(*other).count() == lines[at].split(*other).count())
    };
    let alone = lines[first..at]
        .iter()
        .all(|line| filled(line, separator) <= 1 && !as_many(line) && !(in_sentences && other_cells(line)));
    (followed && alone).then_some(at)
}

fn is_separator(letter: char) -> bool {
    SEPARATORS.iter().any(|(separator, _)| *separator == letter)
}

/// Cells of a line that hold something.
fn filled(line: &str, separator: char) -> usize {
    let is_filled = |cell: &&str| cell.contains(|c: char| !c.is_whitespace() && c != '"' && !is_separator(c));
    line.split(separator).filter(is_filled).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_bytes_a_letter_are_known_with_their_mark_and_without() {
        let low = |text: &str| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
        let high = |text: &str| text.encode_utf16().flat_map(u16::to_be_bytes).collect::<Vec<u8>>();
        assert!(is_two_bytes(&low("\u{feff}id;Größe\n")) && is_two_bytes(&high("\u{feff}id;sex\n")));
        assert!(is_two_bytes(&low("id;Größe\n")) && is_two_bytes(&high("id;sex\n")));
        assert!(!is_two_bytes("id;Größe\n".as_bytes()) && !is_two_bytes(b"") && !is_two_bytes(b"a\0"));
    }

    #[test]
    fn a_title_above_the_header_is_told_and_a_header_is_none() {
        let said = |text: &str| title(text.as_bytes(), None, 0);
        for (text, header) in [
            ("People of the clinic\nid,sex,age\n1,m,40\n", 2),
            ("People of the clinic;;;\r\n\r\nid;sex;age;bmi\r\n1;m;40;25,1\r\n", 3),
            ("\u{feff}\"Export of 3 May, all wards\"\n2024\nid;sex;age\n1;m;40\n", 3),
            ("Export of 3 May, all wards\rid\tsex\tage\r1\tm\t40\r", 2),
        ] {
            let words = said(text).unwrap_or_default();
            assert!(
                words.starts_with("line 1: \"") && words.contains(&format!("to be line {header}:")),
                "{text}: {words}"
            );
        }
        assert!(
            said("People;;\nid;sex;age\n1;m;40\n").is_some_and(|words| words.contains("\"People\" stands"))
        );
        for text in [
            "id,sex,age\n1,m,40\n",
            "id;sex;age\n1;m;40,5\n2;w;50,1\n",
            "id;note\n1;one, two, three\n2;one, two, four\n",
            "id\n1\n2\n",
            "\"glucose\n(mg/dL)\",id,sex\n1,2,3\n4,5,6\n",
            "id,glucose\n1,90\n2,95\n",
            "id,sex,drugs\n1,m,a;b;c\n2,w,a;b;d\n",
            "id,sex,codes\n1,m,I10|E11|E78\n2,w,I10|E11|E66\n",
            "",
        ] {
            assert_eq!(said(text), None, "{text}");
        }
        // A separator that is known leaves no other question.
        assert_eq!(title(b"id;a;b\n1,2,3;4;5\n1,2,3;4;5\n", Some(b';'), 0), None);
        let below = title(b"Title\na;b;c\n1;2;3\n", Some(b';'), 1);
        assert!(below.is_some_and(|words| words.starts_with("line 2: ") && words.contains("line 3:")));
    }
}
