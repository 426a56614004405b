//! Text files as they come: lines of other lengths, lines above the header, other encodings.

use std::fs;
use std::path::PathBuf;

use cutspan::source::{peek, read};

use super::details::notices;
use super::tables::{COHORT, cohort, read_texts, refused, study_in};

#[test]
fn lines_with_more_or_fewer_cells_are_counted_and_advised() {
    let rows: Vec<String> = (0..25).map(|i| format!("p{i},5,6,70,1,2,Fell,1,s1,p1\n")).collect();
    let text = format!("{}{}", COHORT.lines().next().unwrap().to_owned() + "\n", rows.concat());
    let error = refused(&cohort(), &[("cohort.csv", &text)]);
    for part in ["line 2: 10 cells found", "line 21:", "and 5 more lines", "9 expected", "quotation marks"] {
        assert!(error.contains(part), "{part}: {error}");
    }
    assert!(!error.contains("line 22:"), "{error}");
    let fewer = refused(&cohort(), &[("cohort.csv", &COHORT.replacen(",p2\n", "\n", 1))]);
    assert!(fewer.contains("8 cells found") && !fewer.contains("quotation marks"), "{fewer}");
    assert!(!fewer.contains("more lines"), "{fewer}");
}

#[test]
fn a_line_that_states_the_separator_is_left_out_with_a_note() {
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap();
    assert!(notices(&plain, "separator_line").is_empty());
    let stated = format!("sep=,\n{}", COHORT.trim_start_matches('\u{feff}'));
    let loaded = read_texts(&cohort(), &[("cohort.csv", &stated)]).unwrap();
    assert!(loaded.frame.equals_missing(&plain.frame));
    let said = notices(&loaded, "separator_line");
    assert!(said.len() == 1 && said[0].contains("sep=,"), "{said:?}");
}

#[test]
fn a_header_may_have_blanks_and_tabs_beside_its_commas() {
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap().frame;
    let blanks = COHORT.replacen("id,fpg,", "id , fpg ,", 1);
    assert!(read_texts(&cohort(), &[("cohort.csv", &blanks)]).unwrap().frame.equals_missing(&plain));
    let tab = COHORT.replacen("psu\n", "psu,no\tte\n", 1).replace("p1\n", "p1,x\n").replace("p2\n", "p2,x\n");
    assert!(read_texts(&cohort(), &[("cohort.csv", &tab)]).unwrap().frame.equals_missing(&plain));
    let nothing = refused(&cohort(), &[("cohort.csv", "\n\n")]);
    assert!(nothing.contains("cohort.csv: is empty; a header line"), "{nothing}");
}

fn refused_bytes(name: &str, bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(name), bytes).unwrap();
    let mut source = cohort();
    source.files = vec![PathBuf::from(name)];
    let study = study_in(folder.path(), &source);
    read(&study, &study.sources[0], &[]).unwrap_err().to_string()
}

#[test]
fn text_in_another_encoding_and_a_file_cut_short_are_told_apart() {
    use std::io::Write;
    let latin: Vec<u8> =
        COHORT.replacen("Strand,0", "Strånd,0", 1).chars().skip(1).map(|c| c as u8).collect();
    let error = refused_bytes("cohort.csv", &latin);
    assert!(error.contains("line 3: not UTF-8 text; save the file as UTF-8"), "{error}");
    let mut zip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::none());
    zip.write_all(COHORT.as_bytes()).unwrap();
    let zipped = zip.finish().unwrap();
    let error = refused_bytes("cohort.csv.gz", &zipped[..zipped.len() - 12]);
    assert!(error.contains("cannot be read to its end") && error.contains("get the file again"), "{error}");
}

#[test]
fn rows_in_which_nothing_stands_are_left_out_with_their_lines() {
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap();
    assert!(notices(&plain, "empty_rows").is_empty());
    let one = COHORT.replacen("\nb,", "\n,,,,,,,,\nb,", 1);
    let loaded = read_texts(&cohort(), &[("cohort.csv", &one)]).unwrap();
    assert!(loaded.frame.equals_missing(&plain.frame));
    let said = notices(&loaded, "empty_rows");
    assert!(said.len() == 1 && said[0].contains("an empty row is left out, line 3"), "{said:?}");
    let several = format!("{one}{}", " ,,,,,,,,\n;;\n   \n".replace(";;", ",,"));
    let loaded = read_texts(&cohort(), &[("cohort.csv", &several)]).unwrap();
    assert!(loaded.frame.equals_missing(&plain.frame));
    let said = notices(&loaded, "empty_rows");
    assert!(said[0].contains("4 empty rows are left out, lines 3, 6, 7, 8:"), "{said:?}");
    // A slip below keeps its line.
    let slip = refused(&cohort(), &[("cohort.csv", &one.replacen("138.9", "low", 1))]);
    assert!(slip.contains("line 4"), "{slip}");
}

#[test]
fn a_title_above_the_header_and_columns_without_a_name_are_told() {
    let bare = COHORT.trim_start_matches('\u{feff}');
    let titled = format!("Patients of the clinic,,,\n\n{bare}");
    let error = refused(&cohort(), &[("cohort.csv", &titled)]);
    let wanted = "line 1: \"Patients of the clinic\" stands alone above the line of column names, which seems to be line 3";
    assert!(error.contains(wanted), "{error}");
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("t.csv"), &titled).unwrap();
    assert!(peek(&folder.path().join("t.csv")).unwrap_err().to_string().contains(wanted));
    let nameless = bare.replacen("psu\n", "psu,,\n", 1).replace("p1\n", "p1,,\n").replace("p2\n", "p2,,\n");
    let error = refused(&cohort(), &[("cohort.csv", &nameless)]);
    assert!(error.contains("line 1: columns 10 and 11 have no name"), "{error}");
}

#[test]
fn text_of_two_bytes_a_letter_is_told_from_text_cut_short() {
    for mark in ["\u{feff}", ""] {
        let text = format!("{mark}{}", COHORT.trim_start_matches('\u{feff}'));
        let bytes: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
        let error = refused_bytes("cohort.csv", &bytes);
        assert!(error.contains("UTF-16 text") && error.contains("save the file as CSV in UTF-8"), "{error}");
    }
}
