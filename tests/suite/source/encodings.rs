//! Tables as other programs write them: letters of one byte, decimals after a comma.

use std::fs;

use cutspan::source::read;
use cutspan::study::TableSource;

use super::tables::{COHORT, cohort, read_texts, refused, study_in};
use super::texts;

/// The cohort in single bytes, with a letter beyond ASCII.
fn western() -> Vec<u8> {
    let text = COHORT.replacen("Strand,0", "Strånd,0", 1);
    text.trim_start_matches('\u{feff}').chars().map(|letter| letter as u8).collect()
}

/// What becomes of bytes that are read with or without their encoding stated.
fn group_of_the_second(bytes: &[u8], windows_1252: bool) -> Result<String, String> {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cohort.csv"), bytes).unwrap();
    let study = study_in(folder.path(), &TableSource { windows_1252, ..cohort() });
    let loaded = read(&study, &study.sources[0], &[]).map_err(|error| error.to_string())?;
    Ok(texts(&loaded, "ancestry").get(1).unwrap().to_owned())
}

#[test]
fn letters_of_one_byte_are_read_where_the_study_says_so() {
    assert_eq!(group_of_the_second(&western(), true).as_deref(), Ok("Strånd"));
    let refused = group_of_the_second(&western(), false).unwrap_err();
    assert!(
        refused.contains("line 3: not UTF-8 text") && refused.contains("encoding = \"windows-1252\""),
        "{refused}"
    );
    let utf_8 = COHORT.replacen("Strand,0", "Strånd,0", 1);
    assert_eq!(
        group_of_the_second(utf_8.as_bytes(), true).as_deref(),
        Ok("Strånd"),
        "UTF-8 stays what it is"
    );
    let mut broken = western();
    broken.extend(b"d,5,70,1,2,\x81,1,s1,p1\n");
    let refused = group_of_the_second(&broken, true).unwrap_err();
    assert!(refused.contains("line 5: not Windows-1252 text"), "{refused}");
}

#[test]
fn a_cell_is_quoted_as_its_file_has_it_and_a_sentence_has_a_point() {
    let german = COHORT
        .replace("\"Fell, north\"", "Fell")
        .replace(',', ";")
        .replace('.', ",")
        .replace("2;1,0;", "2;1;");
    let source = TableSource { separator: Some(';'), decimal_comma: true, ..cohort() };
    let more = format!("{german}d;6;70;1;2;Strand;2;s2;p2\n");
    let loaded = read_texts(&source, &[("cohort.csv", &more.replacen("5,6", "98,5", 1))]).unwrap();
    let said = loaded.notices.iter().find(|notice| notice.kind == "unusual_values").expect("a caution");
    // hand: 98.5 / 18.0156 = 5.467
    assert!(said.message.contains("98.5, line 2, in mg/dL? 98.5 mg/dL = 5.47 mmol/L"), "{said}");
    let error = refused(&source, &[("cohort.csv", &german.replacen("5,6", "663,5", 1))]);
    assert!(error.contains("`663,5`") && error.contains("missing = [\"663,5\"]"), "{error}");
}
