//! What the columns of an answer with everything are.

/// Stands for how many intervals hold the truth.
pub(super) const CONFIDENCE: &str = "{confidence}";

pub(super) const EXPLAINED: &[&str] = &[
    "Percentile: how many of 100 people of the group are less insulin resistant by this index ({confidence} interval).",
    "Finds/spares: of 100 people with the outcome, how many are at or beyond the cutoff (sensitivity); of 100 without it, how \
     many are short of it (specificity). The Youden index is their sum less 100. Smoothed: the same cutoff from smoothed \
     distributions, which jumps less from sample to sample.",
    "Chance: in percent, that the person's usual value is at or beyond the cutoff, given one measurement and the group, to \
     whose middle the usual value is taken to lie nearer; in brackets, if the true cutoff were at either end of its interval.",
    "Usual value: likely beyond, if the chance is at least 80 % and at least 50 % at both ends; likely short, if at most 20 % \
     and at most 50 % at both ends; cannot tell in every other case.",
    "Test between groups: of the smoothed cutoffs for the first outcome, p adjusted by Holm's method over all such \
     tests of the study. The cutoff that fits is that of the group which is split by more of what cutoffs differ by than the person's \
     others; where none is, or several alike, none is named.",
    "The groups are the smallest that the person belongs to; --group names one.",
];
