//! What changes glucose or insulin and is not asked for, as this program cannot account for it.

/// Beginnings of words for what changes glucose or insulin and is not asked for.
const UNASKED: [&str; 11] = [
    "haemoly",
    "hemoly",
    "steroid",
    "corticoster",
    "glucocort",
    "cortiso",
    "predniso",
    "dexameth",
    "illness",
    "infection",
    "antibod",
];
/// What is said of it, after its name.
pub(super) const NOT_ACCOUNTED_FOR: &str = "cannot be accounted for: steroids, acute illness, haemolysis of the sample and insulin antibodies \
                                 change glucose or insulin (common practice), and the answer is of somebody without them; leave \
                                 it out, and read the answer so";

/// Whether a name is of something that matters and that this program cannot account for.
pub(super) fn is_not_accounted_for(name: &str) -> bool {
    let words = name.to_lowercase();
    words
        .split(|c: char| !c.is_alphanumeric())
        .any(|word| UNASKED.iter().any(|known| word.starts_with(known)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_matters_and_is_not_asked_for_is_known_by_its_name() {
        for name in ["steroids", "haemolysis", "acute_illness", "insulin-antibodies", "--prednisolone"] {
            assert!(is_not_accounted_for(name), "{name}");
        }
        for name in ["asteroid", "glucose", "insulin", "trigs"] {
            assert!(!is_not_accounted_for(name), "{name}");
        }
    }
}
