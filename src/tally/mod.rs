//! tally
