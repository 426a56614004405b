//! A study file as written (`file`), and as checked, with every name resolved to its row (`model`).

mod model;

pub use model::*;
