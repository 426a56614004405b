//! The suites, one line each.

mod invented; // the invented survey: its committed files, its design and its truth
mod source; // files into cohort columns, against files by other programs and the real survey
