//! Cutspan derives cutoffs for insulin-resistance indices from survey data, by group, with
//! uncertainty that respects the survey's design, and shows for whom a single threshold holds.
//!
//! The modules are listed in the order data flows; a module uses only those above it. Blank lines
//! keep the formatter from sorting them.

pub mod stats;

pub mod notice;

pub mod table;

pub mod definitions;

pub mod invented;

pub mod study;

pub mod source;

pub mod cohort;

pub mod tally;

pub mod variant;

pub mod analysis;

pub mod chart;

pub mod report;

pub mod output;

pub mod pipeline;

pub mod finished;

pub mod against;

pub mod official;

pub mod cli;
