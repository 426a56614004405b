//! Official equations between laboratory methods, and the method each cycle holds as released.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::definitions::Standing;

/// Which fit an equation is: towards the newer method, or back to the older one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fit {
    Forward,
    Backward,
}

/// One published equation. `formula` is SQL over `{x}`: insulin in uU/mL, glucose in mg/dL.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crosswalk {
    pub quantity: String,
    pub from: String,
    pub to: String,
    pub formula: String,
    pub direction: Fit,
    /// Specimens measured by both methods.
    pub n: u64,
    /// Correlation, where the source prints one.
    #[serde(default)]
    pub r: Option<f64>,
    /// Largest value it is applied to, where it cannot hold beyond.
    #[serde(default)]
    pub highest: Option<f64>,
    /// Pairs of a value and its conversion.
    pub worked: Vec<[f64; 2]>,
    pub source: String,
    pub standing: Standing,
    #[serde(default)]
    pub note: String,
}

/// The methods whose values a cycle of the national survey holds as released.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Released {
    pub cycle: String,
    pub insulin: String,
    pub glucose: String,
    /// What the agency already did to the insulin of this cycle.
    #[serde(default)]
    pub insulin_note: String,
}

/// A laboratory method.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    pub name: String,
    pub quantity: String,
    /// Methods of one maker may be asked for together.
    pub maker: String,
    pub label: String,
    /// A value below it holds the limit divided by √2.
    #[serde(default)]
    pub detection_limit: Option<f64>,
}

/// What becomes of a converted value at or below zero, or below detection.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Below {
    /// A value that is not positive is set missing.
    Missing,
    /// A value below this limit of detection becomes the limit divided by √2.
    Floor(f64),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    released: Vec<Released>,
    method: Vec<Method>,
    crosswalk: Vec<Crosswalk>,
}

static FILE: LazyLock<File> = LazyLock::new(|| {
    toml::from_str(include_str!("crosswalks.toml"))
        .expect("the embedded crosswalks parse: the suite reads them")
});

/// Every published equation.
#[must_use]
pub fn crosswalks() -> &'static [Crosswalk] {
    &FILE.crosswalk
}

/// The methods of every cycle as released.
#[must_use]
pub fn released() -> &'static [Released] {
    &FILE.released
}

/// Every method that an equation leads to or from.
#[must_use]
pub fn methods() -> &'static [Method] {
    &FILE.method
}

impl Released {
    /// The method of a quantity: glucose or insulin.
    #[must_use]
    pub fn method(&self, quantity: &str) -> &str {
        if quantity == "insulin" { &self.insulin } else { &self.glucose }
    }
}

impl Method {
    /// What becomes of a value converted to this method that it could not have measured.
    #[must_use]
    pub fn below(&self) -> Below {
        self.detection_limit.map_or(Below::Missing, Below::Floor)
    }
}

impl Crosswalk {
    /// SQL of the converted value of `x`, itself SQL; a missing `x` stays missing.
    #[must_use]
    pub fn sql(&self, x: &str, below: Below) -> String {
        let value = self.raw_sql(x);
        match below {
            Below::Missing => format!("CASE WHEN ({value}) > 0.0 THEN ({value}) END"),
            Below::Floor(limit) => {
                let floor = limit / std::f64::consts::SQRT_2;
                format!("CASE WHEN ({value}) < {limit:?} THEN {floor:?} ELSE ({value}) END")
            }
        }
    }

    /// SQL of the equation alone, whatever comes out.
    #[must_use]
    pub fn raw_sql(&self, x: &str) -> String {
        self.formula.replace("{x}", &format!("({x})"))
    }
}
