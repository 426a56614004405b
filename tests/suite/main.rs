//! The suites, one line each.

mod definitions; // every row of definitions in one loop, and the worked examples of the literature
mod source; // reading: transport files against another reader, official files against their codebooks
mod study; // study files: defaults, round trip, and a message for every slip
