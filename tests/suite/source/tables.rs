//! Tables with a column map: what is read, what is refused and in which words.

use std::fs;
use std::path::{Path, PathBuf};

use cutspan::definitions::Subsample;
use cutspan::source::{Loaded, SourceError, read};
use cutspan::study::{MappedColumn, Source, Study, TableSource};

use super::{numbers, study, texts, yes_no};

/// One decimal conversion and back.
const ROUNDING: f64 = 1e-9;

pub(super) fn mapped(
    quantity: &str,
    column: &str,
    unit: Option<&str>,
    codes: &[(&str, &str)],
) -> MappedColumn {
    MappedColumn {
        quantity: quantity.to_owned(),
        column: column.to_owned(),
        unit: unit.map(str::to_owned),
        factor: None,
        codes: codes.iter().map(|(code, label)| ((*code).to_owned(), (*label).to_owned())).collect(),
        missing: Vec::new(),
        below_detection: None,
        assay: None,
        unit_checked: false,
        empty: false,
    }
}

/// An invented cohort: glucose in mmol/L, insulin in pmol/L, a coded sex and a coded answer.
pub(super) fn cohort() -> TableSource {
    let mut insulin = mapped("insulin", "ins", Some("pmol/L"), &[]);
    insulin.factor = Some(6.945);
    TableSource {
        invented: false,
        name: "veldmark".to_owned(),
        files: vec![PathBuf::from("cohort.csv")],
        id: "id".to_owned(),
        columns: vec![
            mapped("glucose", "fpg", Some("mmol/L"), &[]),
            insulin,
            mapped("sex", "sex", None, &[("1", "male"), ("2", "female")]),
            mapped("pregnant", "preg", None, &[("1", "yes"), ("2", "no")]),
            mapped("ancestry", "group", None, &[]),
        ],
        weight: Some("w".to_owned()),
        stratum: Some("st".to_owned()),
        psu: Some("psu".to_owned()),
        replicate_weights: None,
        separator: None,
        decimal_comma: false,
        windows_1252: false,
        missing: vec!["NA".to_owned(), "-9".to_owned()],
        allow_unmatched: false,
        weight_share: 1.0,
    }
}

pub(super) const COHORT: &str = "\u{feff}id,fpg,ins,sex,preg,group,w,st,psu\n\
    a,5.6,69.45,1,2,\"Fell, north\",1.5,s1,p1\n\
    b,NA,138.9,2,1.0,Strand,0,s1,p2\n\
    c,7,-9,2,,Strand,2,s2,p1\n";

pub(super) fn read_texts(source: &TableSource, files: &[(&str, &str)]) -> Result<Loaded, SourceError> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let study = study_in(folder.path(), source);
    read(&study, &study.sources[0], &[])
}

pub(super) fn study_in(folder: &Path, source: &TableSource) -> Study {
    let mut study = study(vec![Source::Table(source.clone())], "glucose_mg_dl > 100");
    study.folder = folder.to_path_buf();
    study
}

pub(super) fn refused(source: &TableSource, files: &[(&str, &str)]) -> String {
    read_texts(source, files).unwrap_err().to_string()
}

#[test]
fn reported_and_converted_columns_are_filled() {
    let loaded = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap();
    let values = |column: &str| numbers(&loaded, column).iter().collect::<Vec<_>>();
    assert_eq!(values("glucose_reported_mmol_l"), [Some(5.6), None, Some(7.0)]);
    assert_eq!(values("glucose_reported_mg_dl"), [None, None, None]);
    assert_eq!(values("glucose_mmol_l"), [Some(5.6), None, Some(7.0)]);
    // hand: 5.6 × 18.0156 = 100.88736; 69.45 / 6.945 = 10; 138.9 / 6.945 = 20
    assert!((values("glucose_mg_dl")[0].unwrap() - 100.887_36).abs() < ROUNDING);
    assert!((values("insulin_uu_ml")[1].unwrap() - 20.0).abs() < ROUNDING);
    assert_eq!(values("insulin_reported_pmol_l"), [Some(69.45), Some(138.9), None]);
    assert_eq!(texts(&loaded, "sex").iter().flatten().collect::<Vec<_>>(), ["male", "female", "female"]);
    assert_eq!(yes_no(&loaded, "pregnant").iter().collect::<Vec<_>>(), [Some(false), Some(true), None]);
    assert_eq!(texts(&loaded, "ancestry").get(0), Some("Fell, north"));
    assert_eq!(texts(&loaded, "person").get(2), Some("veldmark/c"));
    assert_eq!(values("weight_interview"), [Some(1.5), Some(0.0), Some(2.0)]);
    assert_eq!(loaded.weights, [Subsample::Interview]);
    assert_eq!(loaded.files[0].rows, 3);
    assert_eq!(loaded.flow[0].people, 3);
}

#[test]
fn tabs_and_gzip_read_the_same() {
    use std::io::Write;
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap().frame;
    let tabbed = COHORT.replace("\"Fell, north\"", "Fell~ north").replace(',', "\t").replace('~', ",");
    let mut zip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::default());
    zip.write_all(COHORT.as_bytes()).unwrap();
    let zipped = zip.finish().unwrap();
    for (name, bytes) in [("cohort.tsv", tabbed.as_bytes()), ("cohort.csv.gz", zipped.as_slice())] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(name), bytes).unwrap();
        let mut source = cohort();
        source.files = vec![PathBuf::from(name)];
        let study = study_in(folder.path(), &source);
        let frame = read(&study, &study.sources[0], &[]).unwrap().frame;
        assert!(frame.equals_missing(&plain), "{name}");
    }
}

#[test]
fn parquet_reads_the_same_whatever_the_width_of_its_numbers() {
    use polars::prelude::{DataFrame, IntoColumn, NamedFrom, Series};
    let folder = tempfile::tempdir().unwrap();
    let texts = |name: &str, cells: [&str; 3]| Series::new(name.into(), cells).into_column();
    let mut frame = DataFrame::new(
        3,
        vec![
            texts("id", ["a", "b", "c"]),
            Series::new("fpg".into(), [Some(5.6), None, Some(7.0)]).into_column(),
            Series::new("ins".into(), [Some(69.45_f32), Some(f32::NAN), Some(-9.0)]).into_column(),
            Series::new("sex".into(), [1_i32, 2, 2]).into_column(),
            Series::new("preg".into(), [Some(false), Some(true), None]).into_column(),
            texts("group", ["Fell", "Strand", "Strand"]),
            Series::new("w".into(), [1.5, 0.0, 2.0]).into_column(),
            texts("st", ["s1", "s1", "s2"]),
            Series::new("psu".into(), [1_i64, 2, 1]).into_column(),
        ],
    )
    .unwrap();
    let file = fs::File::create(folder.path().join("cohort.parquet")).unwrap();
    polars_io::parquet::write::ParquetWriter::new(file).finish(&mut frame).unwrap();
    let mut source = cohort();
    source.files = vec![PathBuf::from("cohort.parquet")];
    source.columns[3].codes =
        vec![("true".to_owned(), "yes".to_owned()), ("false".to_owned(), "no".to_owned())];
    let study = study_in(folder.path(), &source);
    let loaded = read(&study, &study.sources[0], &[]).unwrap();
    assert_eq!(numbers(&loaded, "glucose_mmol_l").iter().collect::<Vec<_>>(), [Some(5.6), None, Some(7.0)]);
    assert_eq!(numbers(&loaded, "insulin_uu_ml").null_count(), 2);
    assert_eq!(texts_of(&loaded, "sex"), ["male", "female", "female"]);
    assert_eq!(texts_of(&loaded, "psu"), ["1", "2", "1"]);
    assert_eq!(yes_no(&loaded, "pregnant").iter().collect::<Vec<_>>(), [Some(false), Some(true), None]);
}

fn texts_of<'a>(loaded: &'a Loaded, column: &str) -> Vec<&'a str> {
    texts(loaded, column).iter().flatten().collect()
}

#[test]
fn cells_that_cannot_be_read_are_named_with_line_column_and_text() {
    for (from, to, said) in [
        ("5.6", "5;6", ["line 2", "`fpg`", "`5;6`"]),
        ("b,NA,138.9,2", "b,NA,138.9,3", ["line 3", "`sex`", "1 (male), 2 (female)"]),
        ("Strand,0,", "Strand,-1,", ["line 3", "`w`", "0 or more"]),
        ("Strand,0,", "Strand,heavy,", ["line 3", "`w`", "`heavy`"]),
        ("\nc,", "\na,", ["line 4", "`id`", "line 2"]),
        ("\nc,", "\n,", ["line 4", "`id`", "an id for every person"]),
        ("2,s2,p1", "2,s2,", ["line 4", "`psu`", "every person"]),
        (",p2\n", "\n", ["line 3", "8 cells", "9 expected"]),
    ] {
        let broken = COHORT.replacen(from, to, 1);
        assert_ne!(broken, COHORT);
        let error = refused(&cohort(), &[("cohort.csv", &broken)]);
        assert!(said.iter().all(|part| error.contains(part)), "{error}");
        assert!(error.contains("cohort.csv"), "{error}");
    }
}

#[test]
fn absent_columns_and_files_are_named_with_what_is_there() {
    let mut source = cohort();
    source.columns[0].column = "glc".to_owned();
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("no column `glc`") && error.contains("id, fpg, ins"), "{error}");
    let error = refused(&cohort(), &[]);
    assert!(error.contains("cohort.csv") && error.contains("cannot be read"), "{error}");
}

#[test]
fn a_factor_must_be_named_where_two_are_in_print() {
    let mut source = cohort();
    source.columns[1].factor = None;
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("6.0, 6.945") && error.contains("factor"), "{error}");
    source.columns[1].unit = Some("mg/dL".to_owned());
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("found mg/dL") && error.contains("uU/mL, pmol/L"), "{error}");
}

#[test]
fn labels_that_no_formula_knows_are_refused() {
    let mut source = cohort();
    source.columns[2].codes[0].1 = "M".to_owned();
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("`M`") && error.contains("male, female"), "{error}");
    source.columns[2].codes.clear();
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("`1` (line 2)") && error.contains("female"), "{error}");
}

#[test]
fn a_mix_up_of_units_is_an_error_unless_the_unit_was_looked_up() {
    let mut source = cohort();
    source.columns[0].unit = Some("mg/dL".to_owned());
    let error = refused(&source, &[("cohort.csv", COHORT)]);
    assert!(error.contains("plausible in mmol/L"), "{error}");
    let mut source = cohort();
    source.columns[1].unit = Some("uU/mL".to_owned());
    source.columns[1].factor = None;
    let text = COHORT.replace("138.9", "70");
    let error = refused(&source, &[("cohort.csv", &text)]);
    assert!(error.contains("plausible in pmol/L") && error.contains("unit_checked = true"), "{error}");
    source.columns[1].unit_checked = true;
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "unit_doubtful");
    assert!(said.is_some_and(|n| n.message.contains("the median, 70, is unlikely")), "{:?}", loaded.notices);
}

/// Lines are counted as an editor counts them, whatever ends them, across blank lines and cells of several lines.
#[test]
fn the_line_of_a_slip_is_the_line_of_the_file() {
    let slip = "id,fpg,ins,sex,preg,group,w,st,psu\na,5.6,60,1,2,\"Fell\nnorth\",1,s1,p1\n\nb,low,60,1,2,Fell,1,s1,p1\n";
    for (text, line) in [
        (slip.to_owned(), "line 5"),
        (slip.replace('\n', "\r\n"), "line 5"),
        (slip.replace('\n', "\r"), "line 5"),
        (slip.replacen("\n\n", "\n", 1), "line 4"),
        (slip.trim_end().to_owned(), "line 5"),
    ] {
        let error = refused(&cohort(), &[("cohort.csv", &text)]);
        assert!(error.contains(line), "{line}: {error}");
    }
}

#[test]
fn everything_that_is_wrong_with_a_table_is_told_at_once() {
    let text = COHORT
        .replace("a,5.6", "a,low")
        .replace("\nc,7,-9,2", "\na,7,-9,3")
        .replace("b,NA,138.9", "b,NA,999999");
    let mut source = cohort();
    source.columns[4].column = "people".to_owned();
    let error = refused(&source, &[("cohort.csv", &text)]);
    for part in ["5 things are wrong", "`low`", "`a`", "(male)", "999999", "no column `people`"] {
        assert!(error.contains(part), "{part} is not in\n{error}");
    }
}

/// hand: 663 years is nobody's age; 0 and −6.1 mmol/L are no glucose; 27 mmol/L is 486 mg/dL, which few people have.
#[test]
fn an_impossible_value_is_an_error_and_an_unusual_one_a_caution() {
    for impossible in ["0", "-6.1", "663"] {
        let error = refused(&cohort(), &[("cohort.csv", &COHORT.replacen("5.6", impossible, 1))]);
        assert!(error.contains("line 2") && error.contains(&format!("`{impossible}`")), "{error}");
        assert!(
            error.contains("between 0.555 and 150 mmol/L")
                && error.contains(&format!("missing = [\"{impossible}\"] in the braces")),
            "{error}"
        );
    }
    let loaded = read_texts(&cohort(), &[("cohort.csv", &COHORT.replacen("5.6", "27", 1))]).unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "unusual_values").expect("a caution");
    assert!(said.message.contains("1 value lies outside") && said.message.contains("27, line 2"), "{said}");
    assert!(!said.message.contains("in mg/dL?"), "27 mg/dL is no usual glucose either: {said}");
    // hand: 98 / 18.0156 = 5.44
    let slip = format!("{}d,6,70,1,2,Strand,2,s2,p2\n", COHORT.replacen("5.6", "98", 1));
    let loaded = read_texts(&cohort(), &[("cohort.csv", &slip)]).unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "unusual_values").expect("a caution");
    assert!(said.message.contains("98, line 2, in mg/dL? 98 mg/dL = 5.44 mmol/L"), "{said}");
    let study = Study { public: false, ..study_in(Path::new("."), &cohort()) };
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cohort.csv"), COHORT.replacen("5.6", "27", 1)).unwrap();
    let private = Study { folder: folder.path().to_path_buf(), ..study };
    let loaded = read(&private, &private.sources[0], &[]).unwrap();
    let said = loaded.notices.iter().find(|n| n.kind == "unusual_values").expect("a caution");
    assert!(!said.message.contains("27"), "a value of one person is not for a report: {said}");
}

/// hand: 12 / √2 = 8.485281 pmol/L
#[test]
fn values_below_detection_are_read_where_the_study_says_so() {
    let text = COHORT.replacen("138.9", "<12", 1);
    let error = refused(&cohort(), &[("cohort.csv", &text)]);
    assert!(error.contains("line 3") && error.contains("below_detection = \"<\""), "{error}");
    let mut source = cohort();
    source.columns[1].below_detection = Some("<".to_owned());
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    let filled = numbers(&loaded, "insulin_reported_pmol_l").get(1).unwrap();
    assert!((filled - 8.485_281).abs() < 1e-6, "{filled}");
    let marks: Vec<_> = yes_no(&loaded, "insulin_below_detection").iter().collect();
    assert_eq!(marks, [Some(false), Some(true), None]);
    assert_eq!(loaded.detection.iter().map(|limit| limit.limit).collect::<Vec<_>>(), [12.0]);
    assert!(
        loaded.notices.iter().any(|n| n.kind == "below_detection"
            && n.message.contains("1 of 2 values (50.0 %) are given as below 12"))
    );
    let mut source = cohort();
    source.columns[1].missing = vec!["<12".to_owned()];
    let loaded = read_texts(&source, &[("cohort.csv", &text)]).unwrap();
    assert_eq!(numbers(&loaded, "insulin_uu_ml").null_count(), 2);
    assert!(loaded.notices.iter().any(|n| n.kind == "low_values_missing"));
}

#[test]
fn semicolons_and_decimal_commas_read_the_same_where_the_study_says_so() {
    let plain = read_texts(&cohort(), &[("cohort.csv", COHORT)]).unwrap().frame;
    let german = COHORT.replace("\"Fell, north\"", "Fell~ north").replace(',', ";").replace(['.', '~'], ",");
    let error = refused(&cohort(), &[("cohort.csv", &german)]);
    assert!(error.contains("separator = \";\"") && error.contains("decimal = \",\""), "{error}");
    let source = TableSource { separator: Some(';'), decimal_comma: true, ..cohort() };
    // The code 1,0 is the number of the code 1.
    let german = german.replace("2;1,0;", "2;1;");
    let frame = read_texts(&source, &[("cohort.csv", &german)]).unwrap().frame;
    assert!(frame.equals_missing(&plain));
}

#[test]
fn a_table_without_rows_is_said_to_have_none() {
    let error = refused(&cohort(), &[("cohort.csv", COHORT.lines().next().unwrap())]);
    assert!(error.contains("cohort.csv") && error.contains("has no rows"), "{error}");
}

pub(super) fn cohort_with_lipids() -> TableSource {
    let mut source = cohort();
    source.files.push(PathBuf::from("lipids.csv"));
    source.columns.push(mapped("hdl", "hdl", Some("mg/dL"), &[]));
    source
}

#[test]
fn what_is_no_data_file_is_said_to_be_none() {
    let mut source = cohort();
    source.files = vec![PathBuf::from("GLU_J.XPT")];
    let page = refused(&source, &[("GLU_J.XPT", "<!DOCTYPE html><html>Not found</html>")]);
    assert!(page.contains("web page"), "{page}");
    let empty = refused(&source, &[("GLU_J.XPT", "")]);
    assert!(empty.contains("empty file"), "{empty}");
    let twice = refused(&cohort(), &[("cohort.csv", "id,fpg,fpg\n")]);
    assert!(twice.contains("line 1") && twice.contains("`fpg` stands twice"), "{twice}");
}
