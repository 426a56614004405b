//! Help for a misspelt name.

/// Names further apart than this many edits (or a third of the name) are not worth suggesting.
const MOST_EDITS: usize = 4;

/// The known name nearest to `found`, if any is near enough to be meant.
#[must_use]
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let most = MOST_EDITS.min(found.chars().count().div_ceil(3));
    known
        .into_iter()
        .map(|name| (edits(found, name), name))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, name)| name)
}

/// "Did you mean …? Known: …", the hint that ends a message about an unknown name.
#[must_use]
pub fn hint<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    let known: Vec<&str> = known.into_iter().collect();
    let list = known.join(", ");
    match nearest(found, known.iter().copied()) {
        Some(name) => format!("Did you mean \"{name}\"? Known: {list}"),
        None => format!("Known: {list}"),
    }
}

/// Insertions, deletions, replacements and swaps of neighbours that turn one name into the other;
/// letters of both cases count as equal.
fn edits(a: &str, b: &str) -> usize {
    strsim::osa_distance(&a.to_lowercase(), &b.to_lowercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_name_is_suggested_and_a_far_one_is_not() {
        let known = ["homa_ir", "homa_beta", "quicki"];
        assert_eq!(nearest("homair", known), Some("homa_ir"));
        assert_eq!(nearest("QUICKY", known), Some("quicki"));
        assert_eq!(nearest("glucose", known), None);
    }
}
