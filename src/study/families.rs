//! Indices that order people in the same way, written as different formulas.

use super::Study;

impl Study {
    /// The first index of the study that is a monotone function of this one: HOMA-IR for QUICKI when both
    /// are asked for; the index itself when it has no such twin.
    #[must_use]
    pub fn representative(&self, index: usize) -> usize {
        let family = &self.indices[index].row.family;
        let same = |other: &usize| family.is_some() && self.indices[*other].row.family == *family;
        (0..index).find(same).unwrap_or(index)
    }

    /// The other indices of the study that this one stands for.
    #[must_use]
    pub fn twins(&self, representative: usize) -> Vec<usize> {
        let twin = |other: &usize| self.representative(*other) == representative;
        (representative + 1..self.indices.len()).filter(twin).collect()
    }

    /// Pairs of indices worth comparing: representatives with each other, and each with its twins.
    #[must_use]
    pub fn index_pairs(&self) -> Vec<(usize, usize)> {
        let count = self.indices.len();
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        let worth = |&(a, b): &(usize, usize)| {
            self.representative(a) == a && [a, b].contains(&self.representative(b))
        };
        pairs.filter(worth).collect()
    }
}
