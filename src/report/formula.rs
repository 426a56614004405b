//! SQL formulas as a paper prints them: quantities by name and unit, and the signs of arithmetic.

use crate::definitions::answer::unit_in_print;
use crate::definitions::{ColumnKind, Quantity, UnitRow};

/// Functions and operators of the formulas, as printed.
const WORDS: [(&str, &str); 6] =
    [("AND", "and"), ("OR", "or"), ("NOT", "not"), ("LN", "ln"), ("LOG10", "log₁₀"), ("EXP", "exp")];

/// Words that part a choice, `CASE WHEN … THEN … ELSE … END`.
const CHOICE_WORDS: [&str; 4] = ["WHEN", "THEN", "ELSE", "END"];

type Tokens<'t> = std::iter::Peekable<std::vec::IntoIter<&'t str>>;

/// A formula in plain notation: `ln(triglycerides [mg/dL] × fasting plasma glucose [mg/dL] / 2)`.
pub(super) fn plain(formula: &str, quantities: &[Quantity]) -> String {
    let formula = powers(formula);
    expression(&mut tokens(&formula).into_iter().peekable(), quantities)
}

fn tokens(formula: &str) -> Vec<&str> {
    let mut tokens = Vec::new();
    let mut rest = formula;
    while let Some(first) = rest.chars().next() {
        let (token, after) = rest.split_at(token_length(rest, first));
        tokens.push(token);
        rest = after;
    }
    tokens
}

/// What stands before the next word of a choice; a choice within it in brackets unless it stands alone.
fn expression(tokens: &mut Tokens<'_>, quantities: &[Quantity]) -> String {
    let mut parts: Vec<(String, bool)> = Vec::new();
    while let Some(token) = tokens.next_if(|token| !CHOICE_WORDS.contains(token)) {
        let is_choice = token == "CASE";
        let text = if is_choice { choice(tokens, quantities) } else { printed(token, quantities) };
        parts.push((text, is_choice));
    }
    let alone = parts.iter().filter(|(text, _)| !text.trim().is_empty()).count() == 1;
    let mut out = String::new();
    for (text, is_choice) in &parts {
        let brackets = if *is_choice && !alone { ("(", ")") } else { ("", "") };
        out.extend([brackets.0, text, brackets.1]);
    }
    let spaced = out.split_whitespace().collect::<Vec<_>>().join(" ");
    spaced.replace("( ", "(").replace(" )", ")")
}

/// `CASE … END` in words.
fn choice(tokens: &mut Tokens<'_>, quantities: &[Quantity]) -> String {
    let subject = expression(tokens, quantities);
    let (mut branches, mut otherwise) = (Vec::new(), None);
    while let Some(word) = tokens.next() {
        match word {
            "WHEN" => {
                let asked = expression(tokens, quantities);
                let asked = if subject.is_empty() { asked } else { format!("{subject} = {asked}") };
                tokens.next_if_eq(&"THEN");
                branches.push((asked, expression(tokens, quantities)));
            }
            "ELSE" => otherwise = Some(expression(tokens, quantities)),
            _ => break,
        }
    }
    choice_in_words(&branches, otherwise.as_deref())
}

/// `1 if …, else 0`; `…, where …` of a single condition; `if …: …; if …: …` of several formulas.
fn choice_in_words(branches: &[(String, String)], otherwise: Option<&str>) -> String {
    if let ([(condition, value)], None) = (branches, otherwise) {
        return format!("{value}, where {condition}");
    }
    let is_number = |value: &str| value.parse::<f64>().is_ok();
    let numbers = branches.iter().all(|(_, value)| is_number(value)) && otherwise.is_none_or(is_number);
    let one = |(condition, value): &(String, String)| {
        if numbers { format!("{value} if {condition}") } else { format!("if {condition}: {value}") }
    };
    let mut said: Vec<String> = branches.iter().map(one).collect();
    said.extend(otherwise.map(|value| format!("else {value}")));
    said.join(if numbers { ", " } else { "; " })
}

/// The quantity that a formula is, when it is nothing but its column.
pub(super) fn sole_quantity<'a>(formula: &str, quantities: &'a [Quantity]) -> Option<&'a Quantity> {
    let column = formula.trim();
    quantities.iter().find(|quantity| quantity.columns().iter().any(|name| name == column))
}

/// Letters, figures and underscores stay together, as do the two signs of a comparison and a quoted text.
fn token_length(rest: &str, first: char) -> usize {
    if first.is_ascii_alphanumeric() || first == '_' {
        let inside = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '.';
        return rest.find(|c| !inside(c)).unwrap_or(rest.len());
    }
    if first == '\'' {
        return rest[1..].find('\'').map_or(rest.len(), |end| end + 2);
    }
    if rest.starts_with(">=") || rest.starts_with("<=") { 2 } else { first.len_utf8() }
}

fn printed(token: &str, quantities: &[Quantity]) -> String {
    match token {
        "*" => "×".to_owned(),
        "-" => "\u{2212}".to_owned(),
        ">=" => "≥".to_owned(),
        "<=" => "≤".to_owned(),
        "SQRT" => "√".to_owned(),
        _ if token.starts_with('\'') => token.trim_matches('\'').to_owned(),
        _ if token.starts_with(|c: char| c.is_ascii_digit()) => {
            token.strip_suffix(".0").unwrap_or(token).to_owned()
        }
        _ => WORDS
            .iter()
            .find(|(word, _)| *word == token)
            .map(|(_, printed)| (*printed).to_owned())
            .or_else(|| column(token, quantities))
            .unwrap_or_else(|| token.to_owned()),
    }
}

/// The quantity of a column with its unit; none for a word that is no column.
fn column(name: &str, quantities: &[Quantity]) -> Option<String> {
    quantities.iter().find_map(|quantity| {
        if quantity.kind != ColumnKind::Number {
            return (quantity.name == name).then(|| quantity.label.clone());
        }
        let unit = quantity.units.iter().find(|unit| is_column(quantity, unit, name))?;
        Some(format!("{} [{}]", quantity.label, unit_in_print(&unit.unit)))
    })
}

fn is_column(quantity: &Quantity, unit: &UnitRow, name: &str) -> bool {
    quantity.column(unit) == name || quantity.reported_column(unit) == name
}

/// `POWER(x, 0.2)` as `x^0.2`.
fn powers(formula: &str) -> String {
    let Some((before, rest)) = formula.split_once("POWER(") else { return formula.to_owned() };
    let parts = rest.split_once(')').and_then(|(inside, after)| Some((inside.rsplit_once(", ")?, after)));
    match parts {
        Some(((base, power), after)) if !base.contains('(') => {
            powers(&format!("{before}{base}^{power}{after}"))
        }
        _ => formula.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::definitions::indices;
    use crate::definitions::quantity::quantities;

    #[test]
    fn formulas_are_printed_without_the_names_of_columns() {
        let plain = |formula: &str| plain(formula, quantities());
        assert_eq!(
            plain("LN(triglycerides_mg_dl * glucose_mg_dl / 2.0)"),
            "ln(fasting triglycerides [mg/dL] × fasting plasma glucose [mg/dL] / 2)"
        );
        assert_eq!(
            plain("600.0 * POWER(hdl_mg_dl, 0.185) - insulin_uu_ml"),
            "600 × HDL cholesterol [mg/dL]^0.185 \u{2212} fasting insulin [µU/mL]"
        );
        assert_eq!(
            plain("CASE WHEN sex = 'male' THEN waist_cm - 65.0 WHEN sex = 'female' THEN waist_cm END"),
            "if sex = male: waist circumference [cm] \u{2212} 65; if sex = female: waist circumference [cm]"
        );
        let either = "CASE WHEN glucose_mg_dl > 0.0 THEN
            CASE WHEN glucose_mg_dl >= 100.0 OR glucose_drug THEN 1.0 ELSE 0.0 END END";
        let drug = plain("glucose_drug");
        assert_eq!(
            plain(either),
            format!(
                "1 if fasting plasma glucose [mg/dL] ≥ 100 or {drug}, else 0, where fasting plasma glucose [mg/dL] > 0"
            )
        );
        assert_eq!(
            plain("CASE WHEN CASE WHEN waist_cm >= 88.0 THEN 1 ELSE 0 END + 1 >= 2 THEN 1.0 ELSE 0.0 END"),
            "1 if (1 if waist circumference [cm] ≥ 88, else 0) + 1 ≥ 2, else 0"
        );
        let sole = sole_quantity("insulin_uu_ml", quantities());
        assert_eq!(sole.map(|quantity| quantity.name.as_str()), Some("insulin"));
        for index in indices() {
            let text = plain(&index.formula);
            assert!(!text.contains(['_', '*', '\'']), "{}: {text}", index.name);
        }
    }
}
