//! Whether a bootstrap draws enough replicates for its intervals.

use super::{ReplicateKind, Resampling};
use crate::notice::Notice;

/// Fewer replicates leave percentile intervals much too narrow: where replicates are normal, a 95 % interval of 10 holds 79 % of
/// the distribution on average, of 20 87 %, of 100 93 % and of 500 94.6 %.
const FEW_REPLICATES: usize = 100;

/// That a bootstrap draws too few replicates for numbers that are to be quoted.
pub(super) fn remarks(resampling: &Resampling) -> Option<Notice> {
    let few = resampling.kind == ReplicateKind::Bootstrap && resampling.replicates < FEW_REPLICATES;
    few.then(|| {
        let message = format!(
            "only {} replicates: its intervals are too narrow (the ends of 20 replicates hold about 87 % in place of 95 %); such \
             a run is for a first look, 200 replicates or more for numbers to quote",
            resampling.replicates
        );
        Notice::caution("few_replicates", "the bootstrap", message)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::Design;

    #[test]
    fn a_bootstrap_of_few_replicates_is_cautioned() {
        let of = |kind, replicates| {
            let resampling =
                Resampling { kind, replicates, seed: 1, fay: 0.0, design: Design::Survey, supplied: None };
            remarks(&resampling).map(|notice| notice.to_string())
        };
        let said = of(ReplicateKind::Bootstrap, 99).unwrap_or_default();
        assert!(said.contains("only 99 replicates") && said.contains("87 % in place of 95 %"), "{said}");
        assert_eq!(of(ReplicateKind::Bootstrap, 100), None);
        // The others have as many as the design needs, and no number in the study.
        assert_eq!(of(ReplicateKind::Jackknife, 0), None);
    }
}
