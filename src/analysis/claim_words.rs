//! A claim in words, with the side of the threshold that it is about.

use super::claim::Question;
use super::claim_form::{Bound, Form};
use super::context::Context;
use crate::table::number::significant;

/// The claim as a clause: `the sensitivity of HOMA-IR at or above 2 for the syndrome is at least 80 %`.
pub fn words(context: &Context, question: &Question, (position, form): (usize, &Form)) -> String {
    let index = &context.study.indices[question.index];
    let stated = question.stated[position];
    let unit = if index.row.unit == "1" { String::new() } else { format!(" {}", index.row.unit) };
    let at = format!("{}{unit}", number(stated.value));
    let outcome = question.outcome.map_or("", |o| &*context.study.outcomes[o].row.label);
    let label = &index.row.label;
    let side = form.side(&stated, index).words();
    match form {
        Form::Share(bound) | Form::ShareBeyond(bound) => {
            format!("{} of people have {label} {side} {at}", limit(*bound))
        }
        Form::Percentile { percentile, within } => {
            format!("{label} {at} is percentile {} (± {})", number(*percentile), number(*within))
        }
        Form::Accuracy { measure, bound } => {
            let measure = match *measure {
                "ppv" => "positive predictive value",
                "npv" => "negative predictive value",
                other => other,
            };
            format!("the {measure} of {label} {side} {at} for {outcome} is {}", limit(*bound))
        }
        Form::BestCutoff { within } => format!(
            "the best cutoff of {label} for {outcome} is {at} (at most {} % of everybody lie between)",
            number(*within)
        ),
    }
}

fn number(value: f64) -> String {
    significant(value, 6).replace('-', "\u{2212}")
}

fn limit(bound: Bound) -> String {
    let (words, value) = match bound {
        Bound::AtLeast(value) => ("at least", value),
        Bound::MoreThan(value) => ("more than", value),
        Bound::AtMost(value) => ("at most", value),
        Bound::LessThan(value) => ("less than", value),
        Bound::About { near, within } => {
            return format!("about {} % (± {} percentage points)", number(near), number(within));
        }
    };
    format!("{words} {} %", number(value))
}
