//! By which laboratory method each quantity was measured in each cycle, and when that forbids a trend.

use crate::definitions::Quantity;
use crate::definitions::chain::{chains, wanted};
use crate::definitions::crosswalk::{Method, methods, released};
use crate::study::{Route, Study};

/// The quantities whose methods are known cycle by cycle.
const KNOWN: [&str; 2] = ["insulin", "glucose"];

/// The method by which a quantity of a cycle stands: the one a route converts it to, else that as released.
fn method(route: &Route, quantity: &str, cycle: &str) -> Option<&'static Method> {
    let converted = route.conversions.iter().find(|c| c.quantity == quantity && c.cycle == cycle);
    if let Some(conversion) = converted {
        return Some(conversion.chain.to);
    }
    let row = released().iter().find(|row| row.cycle == cycle)?;
    methods().iter().find(|m| m.name == row.method(quantity))
}

/// Those of the quantities whose methods are known.
fn known(quantities: &[String]) -> impl Iterator<Item = &'static str> {
    KNOWN.into_iter().filter(|known| quantities.iter().any(|q| q == known))
}

/// The methods of a cycle: `insulin by Mercodia ELISA; glucose by Roche Modular P`.
pub fn in_words(route: &Route, quantities: &[String], cycle: &str) -> String {
    let one = |quantity: &str| {
        let label = method(route, quantity, cycle).map_or("an unknown method", |m| &m.label);
        format!("{quantity} by {label}")
    };
    known(quantities).map(one).collect::<Vec<_>>().join("; ")
}

/// Why the quantities do not mean the same in all cycles; `None` where each stands by one method throughout.
pub fn refusal(route: &Route, quantities: &[String], cycles: &[&str]) -> Option<String> {
    let reasons: Vec<String> = known(quantities).filter_map(|q| changed(route, q, cycles)).collect();
    (!reasons.is_empty()).then(|| reasons.join("; "))
}

fn changed(route: &Route, quantity: &str, cycles: &[&str]) -> Option<String> {
    let by: Vec<Option<&Method>> = cycles.iter().map(|cycle| method(route, quantity, cycle)).collect();
    if let Some(position) = by.iter().position(Option::is_none) {
        return Some(format!("the method of {quantity} in {} is not known here", cycles[position]));
    }
    let mut distinct: Vec<&str> = by.iter().flatten().map(|m| m.name.as_str()).collect();
    distinct.sort_unstable();
    distinct.dedup();
    let count = distinct.len();
    if count < 2 {
        return None;
    }
    let list = spans(&by, cycles);
    Some(if route.quantities().contains(&quantity) {
        format!("by this route {quantity} stands by {count} methods that are not one ({list})")
    } else if route.conversions.is_empty() {
        format!("{quantity} was measured by {count} methods ({list})")
    } else {
        format!("{quantity}, which this route does not convert, was measured by {count} methods ({list})")
    })
}

/// Every method with the cycles in a row that it spans.
fn spans(by: &[Option<&Method>], cycles: &[&str]) -> String {
    let mut spans: Vec<(&str, &str, &str)> = Vec::new();
    for (method, &cycle) in by.iter().zip(cycles) {
        let label = method.map_or("", |m| m.label.as_str());
        match spans.last_mut() {
            Some(span) if span.0 == label => span.2 = cycle,
            _ => spans.push((label, cycle, cycle)),
        }
    }
    let one = |(label, first, last): &(&str, &str, &str)| {
        if first == last { format!("{label} {first}") } else { format!("{label} {first} to {last}") }
    };
    spans.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// Which methods published equations lead to from every cycle, for each quantity that changed.
pub fn advice(route: &Route, quantities: &[String], cycles: &[&str]) -> String {
    let one = |quantity: &str| {
        changed(route, quantity, cycles)?;
        let to: Vec<&str> = common(quantity, cycles).iter().map(|m| m.name.as_str()).collect();
        Some(match &to[..] {
            [] => format!("no published equations bring {quantity} of these cycles to one method"),
            names => format!(
                "published equations bring {quantity} of all these cycles to one method: a route to {}",
                names.join(", or ")
            ),
        })
    };
    known(quantities).filter_map(one).collect::<Vec<_>>().join("; ")
}

/// What to know of a trend among people who are left out by a quantity whose method changed.
pub fn exclusions(route: &Route, study: &Study, cycles: &[&str]) -> Vec<String> {
    let read = |quantity: &&Quantity| {
        let columns = quantity.units.iter().flat_map(|u| [quantity.column(u), quantity.reported_column(u)]);
        let mut columns =
            columns.filter(|column| study.exclusions.iter().any(|e| e.formula.contains(column)));
        KNOWN.contains(&quantity.name.as_str()) && columns.next().is_some()
    };
    let reasons = study.quantities.iter().filter(read).filter_map(|q| changed(route, &q.name, cycles));
    reasons.map(|reason| format!("who is left out rests on a changed method: {reason}")).collect()
}

/// The methods that a chain of equations reaches from every cycle.
fn common(quantity: &str, cycles: &[&str]) -> Vec<&'static Method> {
    let reached = |method: &&Method| {
        let ends = wanted(quantity, &method.name);
        cycles.iter().all(|cycle| {
            let row = released().iter().find(|row| row.cycle == *cycle);
            row.is_some_and(|row| !chains(row, quantity, &ends).is_empty())
        })
    };
    methods().iter().filter(|m| m.quantity == quantity).filter(reached).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const CYCLES: [&str; 4] = ["2009-2010", "2011-2012", "2013-2014", "2017-2020"];

    fn quantities(names: &[&str]) -> Vec<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn a_change_of_method_is_refused_by_name_and_cycle() {
        let route = Route::as_released();
        let reason = refusal(&route, &quantities(&["insulin", "age"]), &CYCLES).expect("three methods");
        assert_eq!(
            reason,
            "insulin was measured by 3 methods (Mercodia ELISA 2009-2010, Roche Elecsys 2010 2011-2012, \
             Tosoh AIA-900 2013-2014 to 2017-2020)"
        );
        assert_eq!(refusal(&route, &quantities(&["insulin"]), &CYCLES[2..]), None);
        assert_eq!(refusal(&route, &quantities(&["triglycerides", "hdl"]), &CYCLES), None);
        let unknown = refusal(&route, &quantities(&["insulin"]), &["2017-2020", "2021-2023"]);
        assert_eq!(unknown.as_deref(), Some("the method of insulin in 2021-2023 is not known here"));
    }

    #[test]
    fn advice_names_the_methods_that_equations_reach_and_says_where_there_is_a_gap() {
        let route = Route::as_released();
        let insulin = advice(&route, &quantities(&["insulin"]), &CYCLES);
        assert!(insulin.contains("mercodia_elisa") && insulin.contains("tosoh_aia_900"), "{insulin}");
        let glucose = advice(&route, &quantities(&["glucose"]), &CYCLES);
        assert_eq!(glucose, "no published equations bring glucose of these cycles to one method");
    }

    #[test]
    fn a_route_gives_a_trend_only_where_it_ends_at_one_method() {
        let route_to = |name: &str| {
            let ends = wanted("insulin", name);
            let conversion = |cycle: &&str| {
                let row = released().iter().find(|row| row.cycle == *cycle).expect("a known cycle");
                let chain = chains(row, "insulin", &ends).remove(0);
                crate::study::Conversion {
                    cycle: (*cycle).to_owned(),
                    quantity: "insulin".to_owned(),
                    chain,
                    note: String::new(),
                }
            };
            Route { conversions: CYCLES.iter().map(conversion).collect(), ..Route::as_released() }
        };
        assert_eq!(refusal(&route_to("mercodia"), &quantities(&["insulin"]), &CYCLES), None);
        // The shortest chain from Mercodia ends at the older Tosoh method, that from Roche at the newer.
        let two = refusal(&route_to("tosoh"), &quantities(&["insulin"]), &CYCLES).expect("two methods");
        assert!(two.contains("2 methods that are not one (Tosoh AIA-PACK 2009-2010, Tosoh AIA-900"), "{two}");
        let both =
            refusal(&route_to("mercodia"), &quantities(&["insulin", "glucose"]), &CYCLES).expect("glucose");
        assert!(both.starts_with("glucose, which this route does not convert, was measured by"), "{both}");
    }
}
