//! The suites, one line each.

mod chart; // drawings: same tables, same bytes; nothing withheld, cut off or overlapping
mod crowded_results; // made-up tables of results that strain a drawing
mod report; // the page: no network, no script, links that lead somewhere, readable colours
mod small_results; // made-up tables of results with something of everything
mod table; // tables as files, and back
