//! Chains of official equations from the method a cycle holds as released to another method.

use super::crosswalk::{Crosswalk, Method, Released, crosswalks, methods};

/// Equations applied one after the other; none where the cycle already holds a wanted method.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    pub from: &'static Method,
    pub steps: Vec<&'static Crosswalk>,
    pub to: &'static Method,
}

/// The methods of a quantity that a name asks for: one method, or all of a maker.
#[must_use]
pub fn wanted(quantity: &str, name: &str) -> Vec<&'static Method> {
    methods().iter().filter(|m| m.quantity == quantity && (m.name == name || m.maker == name)).collect()
}

/// The names by which methods of a quantity can be asked for.
#[must_use]
pub fn names(quantity: &str) -> Vec<&'static str> {
    let of = || methods().iter().filter(|m| m.quantity == quantity);
    let mut names: Vec<&str> = of().map(|m| m.maker.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    names.extend(of().map(|m| m.name.as_str()).filter(|name| !names.contains(name)).collect::<Vec<_>>());
    names
}

/// Every official chain from what a cycle holds as released to one of `ends`, fewest equations first.
/// A chain stops at the first end and meets no method twice. It starts from the released method, so an
/// adjustment that the agency already made is never made again: values of 2009–2010 were released as
/// Mercodia-equivalent, and no Roche equation begins there.
#[must_use]
pub fn chains(released: &Released, quantity: &str, ends: &[&'static Method]) -> Vec<Chain> {
    let Some(from) = method(released.method(quantity)) else { return Vec::new() };
    let mut found = Vec::new();
    let mut open = vec![Chain { from, steps: Vec::new(), to: from }];
    while let Some(chain) = open.pop() {
        if ends.contains(&chain.to) {
            found.push(chain);
            continue;
        }
        for step in crosswalks().iter().filter(|step| step.from == chain.to.name && !chain.meets(&step.to)) {
            let Some(to) = method(&step.to) else { continue };
            let mut longer = Chain { to, ..chain.clone() };
            longer.steps.push(step);
            open.push(longer);
        }
    }
    found.sort_by_key(|chain| chain.steps.len());
    found
}

fn method(name: &str) -> Option<&'static Method> {
    methods().iter().find(|m| m.name == name)
}

impl Chain {
    /// Whether the chain starts at, passes or ends at a method.
    #[must_use]
    pub fn meets(&self, method: &str) -> bool {
        self.from.name == method || self.steps.iter().any(|step| step.to == method)
    }

    /// Its methods in words: `Mercodia ELISA → Roche Elecsys 2010 → Tosoh AIA-900`.
    #[must_use]
    pub fn path(&self) -> String {
        let ends = self.steps.iter().filter_map(|step| method(&step.to));
        std::iter::once(self.from).chain(ends).map(|m| m.label.as_str()).collect::<Vec<_>>().join(" → ")
    }

    /// Its equations in order, each with `x` for the value before it.
    #[must_use]
    pub fn equations(&self) -> String {
        self.steps.iter().map(|step| step.formula.replace("{x}", "x")).collect::<Vec<_>>().join(", then ")
    }

    /// Where its equations are printed, each source once.
    #[must_use]
    pub fn sources(&self) -> String {
        let mut sources: Vec<&str> = self.steps.iter().map(|step| step.source.as_str()).collect();
        sources.dedup();
        sources.join("; ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::crosswalk::released;

    fn of(cycle: &str, quantity: &str, to: &str) -> Vec<String> {
        let row = released().iter().find(|row| row.cycle == cycle).expect("a known cycle");
        chains(row, quantity, &wanted(quantity, to)).iter().map(Chain::path).collect()
    }

    #[test]
    fn both_published_ways_from_mercodia_to_tosoh_are_found_the_shorter_first() {
        let found = of("2007-2008", "insulin", "tosoh");
        assert_eq!(
            found,
            ["Mercodia ELISA → Tosoh AIA-PACK", "Mercodia ELISA → Roche Elecsys 2010 → Tosoh AIA-900"]
        );
        assert_eq!(of("2013-2014", "insulin", "tosoh"), ["Tosoh AIA-900"]);
    }

    #[test]
    fn no_chain_leads_over_the_gap_between_the_glucose_methods_of_2011_and_2013() {
        assert!(of("2011-2012", "glucose", "c501").is_empty());
        assert_eq!(of("2015-2016", "glucose", "c501"), ["Roche Cobas C311 → Roche Cobas C501"]);
    }

    #[test]
    fn a_cycle_already_adjusted_is_not_adjusted_again() {
        assert_eq!(of("2009-2010", "insulin", "mercodia"), ["Mercodia ELISA"]);
    }
}
