//! Parquet files: texts, types of columns, long ids.

use std::fs;
use std::path::PathBuf;

use cutspan::source::{peek, read};
use cutspan::study::TableSource;

use super::tables::{cohort, mapped, study_in};
use super::{numbers, texts};

/// hand: 6 / √2 = 4.242641 pmol/L
#[test]
fn texts_of_a_parquet_file_are_read_as_those_of_a_text_file() {
    use polars::prelude::{DataFrame, IntoColumn, NamedFrom, Series};
    let folder = tempfile::tempdir().unwrap();
    let texts = |name: &str, cells: [&str; 3]| Series::new(name.into(), cells).into_column();
    let columns = vec![
        texts("id", ["a", "b", "c"]),
        texts("fpg", ["5,6", "5,9", "7"]),
        texts("ins", ["38,0", "<6,0", "60"]),
        texts("sex", ["1", "2", "2"]),
        texts("preg", ["1", "2", "2"]),
        texts("group", ["Fell", "Strand", "Strand"]),
        Series::new("w".into(), [1.5, 0.5, 2.0]).into_column(),
        texts("st", ["s1", "s1", "s2"]),
        texts("psu", ["1", "2", "1"]),
    ];
    let mut frame = DataFrame::new(3, columns).unwrap();
    let path = folder.path().join("cohort.parquet");
    let file = fs::File::create(&path).unwrap();
    polars_io::parquet::write::ParquetWriter::new(file).finish(&mut frame).unwrap();
    let mut source = TableSource { decimal_comma: true, ..cohort() };
    source.files = vec![PathBuf::from("cohort.parquet")];
    source.columns[1].below_detection = Some("<".to_owned());
    let study = study_in(folder.path(), &source);
    let loaded = read(&study, &study.sources[0], &[]).unwrap();
    let insulin: Vec<_> = numbers(&loaded, "insulin_reported_pmol_l").iter().flatten().collect();
    assert_eq!((insulin[0], insulin[2]), (38.0, 60.0));
    assert!((insulin[1] - 4.242_641).abs() < 1e-6, "{insulin:?}");
    assert_eq!(numbers(&loaded, "weight_interview").get(0), Some(1.5), "numbers stay what they are");
    assert!(peek(&path).unwrap().decimal_comma);
}

#[test]
fn columns_of_parquet_files_are_judged_by_their_type() {
    use polars::prelude::{DataFrame, IntoColumn, NamedFrom, Series};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cohort.parquet");
    let mut source = cohort();
    source.files = vec![PathBuf::from("cohort.parquet")];
    (source.weight, source.stratum, source.psu) = (None, None, None);
    source.columns.retain(|mapped| mapped.quantity == "glucose" || mapped.quantity == "sex");
    source.columns[1].missing = vec!["9".to_owned()];
    let write = |glucose: Series| {
        let mut frame = DataFrame::new(
            3,
            vec![
                Series::new("id".into(), ["a", "b", "c"]).into_column(),
                glucose.into_column(),
                Series::new("sex".into(), [1_i32, 9, 2]).into_column(),
            ],
        )
        .unwrap();
        let file = fs::File::create(&path).unwrap();
        polars_io::parquet::write::ParquetWriter::new(file).finish(&mut frame).unwrap();
    };
    let study = study_in(folder.path(), &source);
    write(Series::new("fpg".into(), [5.6, 5.0, 7.0]));
    let loaded = read(&study, &study.sources[0], &[]).unwrap();
    assert_eq!(texts(&loaded, "sex").iter().collect::<Vec<_>>(), [Some("male"), None, Some("female")]);
    let seen = peek(&path).unwrap();
    assert_eq!(seen.columns[0].values, ["a", "b", "c"], "the first rows from the first on");
    write(Series::new("fpg".into(), [b"5.6".as_slice(), b"5", b"7"]));
    let error = read(&study, &study.sources[0], &[]).unwrap_err().to_string();
    assert!(
        error.contains("column `fpg` has type") && error.contains("numbers, text and true/false"),
        "{error}"
    );
}

/// hand: 2⁶⁰ = 1152921504606846976; fractions of 64 bits hold every 256th whole number there.
#[test]
fn long_ids_of_parquet_files_keep_every_digit() {
    use polars::prelude::{DataFrame, IntoColumn, NamedFrom, Series};
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, columns: Vec<Series>| {
        let columns = columns.into_iter().map(IntoColumn::into_column).collect();
        let mut frame = DataFrame::new(3, columns).unwrap();
        let file = fs::File::create(folder.path().join(name)).unwrap();
        polars_io::parquet::write::ParquetWriter::new(file).finish(&mut frame).unwrap();
    };
    let ids = |apart: i64, from: i64| {
        Series::new("id".into(), (0..3).map(|k| (1_i64 << 60) + from + apart * k).collect::<Vec<_>>())
    };
    let mut source = cohort();
    source.files = ["one.parquet", "two.parquet"].map(PathBuf::from).to_vec();
    (source.stratum, source.psu) = (None, None);
    source.columns =
        vec![mapped("glucose", "fpg", Some("mmol/L"), &[]), mapped("hdl", "hdl", Some("mg/dL"), &[])];
    let study = study_in(folder.path(), &source);
    let read = || read(&study, &study.sources[0], &[]).map_err(|error| error.to_string());
    let lipids = || Series::new("hdl".into(), [50_i64, 45, 60]);
    let glucose = || Series::new("fpg".into(), [5.6, 5.0, 7.0]);
    let weights = || Series::new("w".into(), [1.0, 1.0, 2.0]);
    // Neighbouring numbers are different people.
    write("one.parquet", vec![ids(1, 0), glucose(), weights()]);
    write("two.parquet", vec![ids(1, 0), lipids()]);
    let loaded = read().unwrap();
    assert_eq!(texts(&loaded, "person").get(2), Some("veldmark/1152921504606846978"));
    assert_eq!(numbers(&loaded, "hdl_mg_dl").iter().flatten().collect::<Vec<_>>(), [50.0, 45.0, 60.0]);
    // Numbers that are the same with a fraction are not the same people.
    write("one.parquet", vec![ids(1024, 0), glucose(), weights()]);
    write("two.parquet", vec![ids(1024, 7), lipids()]);
    let error = read().unwrap_err();
    assert!(error.contains("3 of") && error.contains("`1152921504606846976`"), "{error}");
    // An infinite weight is none.
    write("two.parquet", vec![ids(1024, 0), lipids()]);
    write("one.parquet", vec![ids(1024, 0), glucose(), Series::new("w".into(), [1.0, f64::INFINITY, 2.0])]);
    let error = read().unwrap_err();
    assert!(error.contains("row 2, column `w`: found `inf`, expected a finite number"), "{error}");
}
