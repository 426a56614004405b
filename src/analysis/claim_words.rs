//! A claim in words, with the side of the threshold that it is about.

use super::claim::Question;
use super::claim_form::{Bound, Form};
use super::claim_verdict::Region;
use super::context::Context;
use crate::definitions::answer::unit_in_print;
use crate::table::number::{reading, significant};

/// Digits of the values between which a best cutoff is as claimed.
const DIGITS: usize = 3;

/// The claim as a clause: `the sensitivity of HOMA-IR at or above 2 for the syndrome is at least 80 %`; `region` holds the
/// values with which it is true.
pub fn words(
    context: &Context,
    question: &Question,
    (position, form, region): (usize, &Form, Region),
) -> String {
    let index = &context.study.indices[question.index];
    let stated = question.stated[position];
    let unit =
        if index.row.unit == "1" { String::new() } else { format!(" {}", unit_in_print(&index.row.unit)) };
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
            "the best cutoff of {label} for {outcome} is {at} (at most {} % of everybody lie between, that is {} to {})",
            number(*within),
            short(region.from),
            short(region.to)
        ),
    }
}

fn number(value: f64) -> String {
    significant(value, 6).replace('-', "\u{2212}")
}

fn short(value: f64) -> String {
    reading(value, DIGITS)
}

fn limit(bound: Bound) -> String {
    let give_or_take = match bound {
        Bound::About { within, .. } => format!(" (± {} percentage points)", number(within)),
        _ => String::new(),
    };
    format!("{} {} %{give_or_take}", bound.words(), number(bound.limit()))
}
