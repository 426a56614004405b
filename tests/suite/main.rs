//! One test binary; each suite says what it checks.

// Drawings: same tables, same bytes; nothing withheld, cut off or overlapping.
mod chart;
// A crowded and a small set of made-up result tables.
mod crowded;
mod invented;
// The page: no network, no script, links that lead somewhere, readable colours.
mod report;
// Tables as files, and back.
mod table;
