//! One test binary: each suite is a module with a line on its purpose.

/// Every row of definitions, in one loop, and the worked examples of the literature.
mod definitions;
/// Study files: defaults, round trip, and a message for every slip.
mod study;
