//! The suites, one line each.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod against; // a finished run made anew by the real program: the same, changed, or not to be had
mod answer_words; // sentences and cells of the first screen: which row is taken, and how it is said
mod answers; // what the page says of made-up results: one contrast one verdict, no headline nobody asked for
mod architecture; // one direction of use, and the study files that come with the program
mod browser; // the page of a run in a real browser, and its packed numbers against the file
mod built_in; // an outcome that counts a part of the index: said on what one hands on
mod chart; // drawings: same tables, same bytes; nothing withheld, cut off or overlapping
mod checks; // numbers stated in a study against the run, and published tables on the real files
mod claim; // a sentence with a threshold: numbers of a fresh run, and every format of the answer
mod claim_answers; // what the answer to it says, and what it does not say
mod claim_slips; // how its names, numbers and files may be written, and wrong questions
mod claim_verdicts; // verdicts on shares that are not printed, percentiles that run against the values
mod comparison; // smoothed cutoffs and whether cutoffs differ, on the invented survey
mod contrasts; // groups side by side on replicates that are no bootstrap: against R, and through all tables
mod crowded_results; // made-up tables of results that strain a drawing
mod curve_tables; // percentiles and cutoffs over age and BMI from the invented survey
mod curves; // smooth functions of age, against R and other tools on the same rows
mod definitions; // every row of definitions in one loop, and the worked examples of the literature
mod definitions_outcomes; // outcomes: limits in the reported unit, unknown answers, counts of items
mod empty_side; // a group nobody in which has the outcome: named in tables and chart, with one number of people
mod end_to_end; // the demo by the real program: the same bytes twice, and the known truth
mod expected; // reference files, read with their header
mod few_people; // people too few for an interval or a percentile: what is said in place of a number
mod finished; // finished runs opened again, and what is said when they cannot be
mod help; // every example in the help is run, and long help says what it must
mod indices; // indices side by side, by hand and on the real survey
mod indices_limits; // net benefit and laboratory limits, by hand and on the real survey
mod inference; // estimators that compare and stabilise cutoffs, against values computed elsewhere
mod inference_laws; // the same estimators: laws that hold for any sample
mod invented; // the invented survey: its committed files, its design and its truth
mod list; // what a study may name, in every format
mod lms; // the LMS method, against R and the laws it obeys
mod missing; // items nobody answered, values below detection, and the stated alternatives: by brute force on real people
mod missing_patterns; // every pattern of missing items: by hand and by brute force
mod new_study; // a first study file: passes the check whatever is chosen
mod new_study_guesses; // what the columns of a table are taken for in it
mod new_study_own; // rows of a study's own in its first file: columns of few texts, and examples
mod no_design; // people drawn singly: areas by the variance of DeLong, against pROC
mod official; // official files: listed, verified, and got from a server of the test's own
mod one_scale; // an index is smoothed on the same scale in every group
mod pairs; // cutoffs pair by pair and method by method: identities, other tables, hand values
mod paper; // charts at their printed size, and text for a paper
mod place; // one person beside the people of a study: numbers
mod place_answer; // which cutoff fits one person, in words
mod place_output; // what is printed and drawn of one person
mod place_safety; // what could hurt somebody if it were read wrongly
mod place_second; // one person at two dates
mod place_support; // what the suites about one person share
mod place_typed; // what is typed of one person: understood, remarked or refused
mod plan; // intervals before data are collected, by the real program
mod property; // laws that hold for any sample
mod published; // cutoffs in print laid over a run: the numbers of stated thresholds, matching, conversions
mod real_survey; // the whole way from official files to estimates, against numbers made elsewhere
mod reference; // estimators against other programs
mod report; // the page: no network, no script, links that lead somewhere, readable colours
mod routes; // equations between laboratory methods, their floors, and the cycles that refuse one
mod run_folder; // a run whose answer nobody hears, and whose folder holds somebody's files
mod samples; // several samples in one study: apart, side by side, and one judged by another
mod sensitivity; // one cutoff under other choices and assays: by official figures, and what is refused
mod sensitivity_routes; // assay routes: equations by hand
mod slips; // what people do wrong first, and what they are told
mod small_answers; // questions put to people who may not be shown in small counts
mod small_attacks; // what subtracting could tell of people who may not be shown in small counts
mod small_counts; // people who may not be shown in small counts: every table of a run, and what could be worked out
mod small_results; // made-up tables of results with something of everything
mod small_shares; // what shares tell of people who may not be shown in small counts
mod small_tables; // small counts in made-up tables, one rule at a time
mod small_texts; // people who may not be shown in small counts: texts, charts and page of a run
mod small_unsaid; // people whose count is left out: no table tells an estimate about them
mod source; // files into cohort columns, against files by other programs and the real survey
mod standardize; // groups on equal terms: what must vanish vanishes, what must stay stays
mod statistical_files; // Stata and SPSS files, behind a feature
mod study; // study files: defaults, round trip, and a message for every slip
mod study_schema; // the form of a study file for editors: keys of the reader, and slips
mod supplied; // kinds of replicates: half-samples and weights that come with the data
mod supplied_estimates; // estimators on replicate weights that come with the data, against R
mod support; // what several suites share
mod table; // tables as files, and back
mod threshold_grid; // any threshold in any group: equal to the stated thresholds' tables, and laws
mod transfer; // cutoffs of one release judged in another, against R on the official files
mod wrong_input; // wrong input to a run: what is said, and that nothing is left behind
mod wrong_way; // indices that run the wrong way: no cutoff anywhere, with the reason
