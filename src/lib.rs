//! Cutspan derives cutoffs for insulin-resistance indices from survey data, by group, with
//! uncertainty that respects the survey's design, and shows for whom a single threshold holds.
//!
//! The modules are listed in the order data flows; a module uses only those above it.

pub mod analysis;
pub mod chart;
pub mod cli;
pub mod cohort;
pub mod definitions;
pub mod invented;
pub mod notice;
pub mod output;
pub mod pipeline;
pub mod report;
pub mod source;
pub mod stats;
pub mod study;
pub mod table;
pub mod tally;
