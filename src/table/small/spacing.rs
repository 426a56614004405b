//! Counts that stand side by side: two that differ by few people would show how few lie between them.

/// Goes over counts of people and keeps those that differ from every one kept by nobody or by enough people.
#[derive(Debug)]
pub struct Spacing {
    limit: i64,
    kept: Vec<Vec<Option<f64>>>,
}

impl Spacing {
    #[must_use]
    pub fn of(limit: i64) -> Self {
        Self { limit, kept: Vec::new() }
    }

    /// Whether a point is kept, by the people on one side of it, of each kind that is counted; a count that is not known keeps
    /// no point away.
    pub fn keeps(&mut self, people: &[Option<f64>]) -> bool {
        let near = |(one, other): (&Option<f64>, &Option<f64>)| {
            one.zip(*other).is_some_and(|(one, other)| self.are_few((one - other).abs()))
        };
        let kept = !self.kept.iter().any(|known| people.iter().zip(known).any(near));
        if kept && !self.kept.iter().any(|known| known == people) {
            self.kept.push(people.to_vec());
        }
        kept
    }

    fn are_few(&self, people: f64) -> bool {
        (0.5..self.limit as f64 - 0.5).contains(&people)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_and_enough_are_far_enough() {
        let spacing = Spacing::of(10);
        assert_eq!(
            [0.0, 1.0, 9.0, 10.0, 11.0].map(|people| spacing.are_few(people)),
            [false, true, true, false, false]
        );
    }

    #[test]
    fn points_are_held_against_all_that_are_kept() {
        let mut spacing = Spacing::of(10);
        let kept =
            [100.0, 95.0, 120.0, 108.0, 100.0, 130.0].map(|people| spacing.keeps(&[Some(people), None]));
        assert_eq!(kept, [true, false, true, false, true, true]);
        assert!(spacing.keeps(&[None, Some(3.0)]), "what is not known keeps nothing away");
        assert!(!spacing.keeps(&[Some(200.0), Some(5.0)]));
    }
}
