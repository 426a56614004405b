//! `datapackage.json`: what every table and column is, in the Frictionless Data Package v1 form.

use std::fs;
use std::path::Path;

use rayon::prelude::*;
use serde_json::{Value, json};

use super::digest::sha256;
use super::{Column, Kind, Table, TableError, csv, parquet};

/// What the package as a whole is called and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Package<'a> {
    pub title: &'a str,
    pub description: &'a str,
    /// Version of the program that wrote it.
    pub version: &'a str,
    /// Names of the surveys or tables the numbers come from.
    pub sources: &'a [String],
}

/// Writes `tables/*.csv`, `tables/*.parquet` and `datapackage.json` into `folder`.
///
/// The description lists the CSV files, whose bytes are the same on every run; the Parquet files
/// beside them hold the same cells.
pub fn write(package: Package<'_>, tables: &[Table], folder: &Path) -> Result<(), TableError> {
    let inside = folder.join("tables");
    fs::create_dir_all(&inside).map_err(|source| TableError::File { path: inside.clone(), source })?;
    let both = |table: &Table| {
        let text = csv::to_text(table);
        put(&inside.join(format!("{}.csv", table.name)), &text)?;
        parquet::write(table, &inside.join(format!("{}.parquet", table.name)))?;
        Ok(resource(table, &text))
    };
    let resources = tables.par_iter().map(both).collect::<Result<Vec<Value>, TableError>>()?;
    let path = folder.join("datapackage.json");
    let text =
        to_text(package, &resources).map_err(|source| TableError::Package { path: path.clone(), source })?;
    put(&path, &text)
}

fn put(path: &Path, text: &str) -> Result<(), TableError> {
    fs::write(path, text).map_err(|source| TableError::File { path: path.to_owned(), source })
}

/// The description of the package with its files, as JSON text.
fn to_text(package: Package<'_>, resources: &[Value]) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(&describe(package, resources))?;
    text.push('\n');
    Ok(text)
}

fn describe(package: Package<'_>, resources: &[Value]) -> Value {
    let sources: Vec<Value> = package.sources.iter().map(|title| json!({ "title": title })).collect();
    json!({
        "profile": "tabular-data-package",
        "name": "cutspan-results",
        "title": package.title,
        "description": package.description,
        "version": package.version,
        "sources": sources,
        "resources": resources,
    })
}

/// A table as the file it is written to.
fn resource(table: &Table, text: &str) -> Value {
    json!({
        "profile": "tabular-data-resource",
        "name": table.name.replace('_', "-"),
        "path": format!("tables/{}.csv", table.name),
        "title": table.title,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": text.len(),
        "hash": format!("sha256:{}", sha256(text.as_bytes())),
        "rows": table.rows.len(),
        "dialect": { "delimiter": ",", "quoteChar": "\"", "doubleQuote": true, "lineTerminator": "\n", "header": true },
        "schema": { "fields": table.columns.iter().map(field).collect::<Vec<_>>(), "missingValues": [""] },
    })
}

fn field(column: &Column) -> Value {
    let kind = match column.kind {
        Kind::Text => "string",
        Kind::Integer => "integer",
        Kind::Real => "number",
    };
    let mut field = json!({ "name": column.name, "type": kind, "description": column.meaning });
    if !column.unit.is_empty() {
        field["unit"] = json!(column.unit);
    }
    field
}
