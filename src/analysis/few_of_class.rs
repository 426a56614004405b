//! Why people with and without an outcome are too few, in words.

/// Which side of an outcome is empty.
pub fn nobody(with: u64, without: u64) -> Option<&'static str> {
    match (with, without) {
        (0, 0) => Some("nobody whose outcome is known"),
        (0, _) => Some("nobody with the outcome"),
        (_, 0) => Some("nobody without the outcome"),
        _ => None,
    }
}

/// Which side has fewer than asked for.
pub fn few_in_class(with: u64, without: u64, least: u64) -> String {
    let which = if with <= without { "with" } else { "without" };
    format!("fewer than {least} people {which} the outcome")
}

#[cfg(test)]
mod tests {
    use crate::analysis::withhold::{auc, cutoff};
    use crate::study::{self, Study, Withhold};

    #[test]
    fn an_empty_side_is_named_and_cannot_be_flagged() {
        let file = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("pipelines/demo.toml");
        let flagged = Study { withhold: Withhold::Flag, ..study::load(&file).expect("a study") };
        for (with, without, why) in [
            (0, 34, "nobody with the outcome"),
            (34, 0, "nobody without the outcome"),
            (0, 0, "nobody whose outcome is known"),
        ] {
            for verdict in [auc(&flagged, with, without), cutoff(&flagged, with, without, None)] {
                assert_eq!(verdict.withheld, [why]);
                assert!(!verdict.shown(&flagged));
            }
        }
        assert_eq!(auc(&flagged, 1, 34).withheld, ["fewer than 10 people with the outcome"]);
        assert!(auc(&flagged, 1, 34).shown(&flagged));
    }
}
