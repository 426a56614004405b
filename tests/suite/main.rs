//! The suites, one line each.

mod curves; // smooth functions of age, against R and other tools on the same rows
mod definitions; // every row of definitions, in one loop, and the worked examples of the literature
mod invented; // the invented survey: its committed files, its design and its truth
mod real_survey; // the whole way from official files to estimates, against numbers made elsewhere
mod source; // files into cohort columns, against files by other programs and the real survey
mod study; // study files: defaults, round trip, and a message for every slip
mod support; // what several suites share
