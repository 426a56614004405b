//! Tables as CSV, Parquet and datapackage.json, and back.

use std::fs;

use cutspan::table::package::{self, Package};
use cutspan::table::{Cell, Kind, Table, TableError, csv, digest, number, parquet, schema};
use polars_io::SerReader;
use polars_io::parquet::read::ParquetReader;
use proptest::prelude::*;

use crate::small_results;

/// Half a unit in the twelfth significant digit.
const TWELVE_DIGITS: f64 = 5e-12;

fn small() -> Table {
    let mut table = Table::new(schema::shape("sample").unwrap());
    table
        .row()
        .text("survey", "veldmark")
        .text("level", "says \"yes\", twice")
        .real("value", Some(1.0 / 3.0))
        .done()
        .unwrap();
    table.row().text("variable", "two\nlines").whole("n", Some(-7)).real("value", Some(1e-9)).done().unwrap();
    table.row().done().unwrap();
    table
}

fn golden() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../golden");
    settings.set_prepend_module_to_snapshot(false);
    settings
}

#[test]
fn csv_is_rfc_4180_with_twelve_digits_and_empty_cells() {
    golden().bind(|| insta::assert_snapshot!("sample.csv", csv::to_text(&small())));
}

#[test]
fn datapackage_describes_every_column() {
    let package = Package {
        title: "Invented",
        description: "Made up",
        version: "0",
        sources: &["veldmark".to_owned()],
    };
    let folder = tempfile::tempdir().unwrap();
    package::write(package, &[small()], folder.path()).unwrap();
    let text = fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    golden().bind(|| insta::assert_snapshot!("datapackage.json", text));
}

#[test]
fn csv_comes_back_as_it_was_written() {
    let folder = tempfile::tempdir().unwrap();
    for table in small_results::tables().into_iter().chain([small()]) {
        let path = folder.path().join("t.csv");
        fs::write(&path, csv::to_text(&table)).unwrap();
        let back = csv::read(schema::shape(table.name).unwrap(), &path).unwrap();
        assert_eq!(back.rows.len(), table.rows.len());
        assert_eq!(csv::to_text(&back), csv::to_text(&table), "{}", table.name);
        let texts = |table: &Table| {
            table
                .rows
                .iter()
                .flatten()
                .filter(|cell| !matches!(cell, Cell::Real(_)))
                .cloned()
                .collect::<Vec<_>>()
        };
        assert_eq!(texts(&back), texts(&table));
    }
}

/// The cells of one column of a frame read back from Parquet.
fn cells(frame: &polars::prelude::DataFrame, name: &str, kind: Kind) -> Vec<Cell> {
    let column = frame.column(name).unwrap();
    match kind {
        Kind::Text => {
            column.str().unwrap().iter().map(|text| text.map_or(Cell::Missing, Cell::text)).collect()
        }
        Kind::Integer => column.i64().unwrap().iter().map(Cell::integer).collect(),
        Kind::Real => column.f64().unwrap().iter().map(Cell::real).collect(),
    }
}

#[test]
fn parquet_holds_the_same_cells() {
    let folder = tempfile::tempdir().unwrap();
    for table in small_results::tables().into_iter().chain([small()]) {
        let path = folder.path().join("t.parquet");
        parquet::write(&table, &path).unwrap();
        let back = ParquetReader::new(fs::File::open(&path).unwrap()).finish().unwrap();
        assert_eq!((back.height(), back.width()), (table.rows.len(), table.columns.len()));
        for (position, column) in table.columns.iter().enumerate() {
            let written: Vec<Cell> = table.rows.iter().map(|row| row[position].clone()).collect();
            assert_eq!(cells(&back, column.name, column.kind), written, "{}.{}", table.name, column.name);
        }
    }
}

#[test]
fn the_package_lists_each_file_with_its_bytes_and_hash() {
    let folder = tempfile::tempdir().unwrap();
    let package = Package { title: "t", description: "d", version: "0", sources: &[] };
    package::write(package, &small_results::tables(), folder.path()).unwrap();
    let text = fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let resources = json["resources"].as_array().unwrap();
    assert_eq!(resources.len(), small_results::tables().len());
    for resource in resources {
        let bytes = fs::read(folder.path().join(resource["path"].as_str().unwrap())).unwrap();
        assert_eq!(resource["bytes"], bytes.len());
        assert_eq!(resource["hash"], format!("sha256:{}", digest::sha256(&bytes)));
    }
}

#[test]
fn a_file_of_another_shape_or_kind_is_refused_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("t.csv");
    let flow = schema::shape("participant_flow").unwrap();
    fs::write(&path, "source,order\n").unwrap();
    assert!(matches!(csv::read(flow, &path), Err(TableError::Header { .. })));
    fs::write(&path, "source,order,step,people,left_out,withheld\nall,1,asked,5,0,\nall,2,left,many,0,\n")
        .unwrap();
    let error = csv::read(flow, &path).unwrap_err();
    assert!(matches!(error, TableError::Cell { line: 3, column: "people", .. }), "{error}");
    assert!(
        error
            .to_string()
            .ends_with("line 3, column people: found \"many\", expected a whole number or nothing")
    );
}

proptest! {
    #[test]
    fn twelve_digits_come_back_within_half_a_unit(value in proptest::num::f64::NORMAL) {
        let back: f64 = number::full(value).parse().unwrap();
        prop_assert!((back - value).abs() <= value.abs() * TWELVE_DIGITS);
        prop_assert_eq!(number::full(back), number::full(value));
    }
}
