//! The suites, one line each.

mod source; // reading: transport files against another reader, official files against their codebooks
