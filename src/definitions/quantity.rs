//! Quantities that are measured or asked.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Quantity;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct QuantityFile {
    quantity: Vec<Quantity>,
}

static QUANTITIES: LazyLock<Vec<Quantity>> = LazyLock::new(|| {
    let file: QuantityFile =
        toml::from_str(include_str!("quantities.toml")).expect("the embedded rows are tested");
    file.quantity
});

/// The quantities the program knows.
#[must_use]
pub fn quantities() -> &'static [Quantity] {
    &QUANTITIES
}
