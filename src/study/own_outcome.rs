//! How an outcome that is unknown comes to be known: by a row of its own over a quantity or a column of a table.

use super::error::{StudyError, Text};
use super::file::At;
use crate::definitions::quantity::quantity;
use crate::definitions::{ColumnKind, Definitions, Quantity};

/// An error about an outcome that no row defines, with what to write.
pub(super) fn unknown(name: &At<String>, definitions: &Definitions, text: Text<'_>) -> StudyError {
    let known = definitions.outcomes.iter().map(|row| row.name.as_str());
    let found = name.get_ref();
    // The label of a quantity that `cutspan new` writes is the name of its column.
    let is_meant = |quantity: &&Quantity| {
        quantity.name == *found || (own(quantity) && quantity.label.eq_ignore_ascii_case(found))
    };
    match definitions.quantities.iter().find(is_meant) {
        Some(quantity) => {
            let called = if quantity.name == *found {
                "a quantity"
            } else {
                &format!("the quantity \"{}\"", quantity.name)
            };
            let problem = format!("\"{found}\" is {called} and no outcome yet: {}", over(quantity));
            text.problem(name.span(), problem)
        }
        None => text.unknown_or_own("outcome", name, known, &over_a_column(found)),
    }
}

/// Whether a quantity is the study's own.
fn own(row: &Quantity) -> bool {
    quantity(&row.name).is_none()
}

/// The row that makes an outcome of a quantity.
fn over(quantity: &Quantity) -> String {
    let name = &quantity.name;
    let column = quantity.columns().pop().unwrap_or_default();
    let row = |formula: &str| {
        format!(
            "add [[define.outcome]] with name, label, formula = \"{formula}\" and source, and name that under outcomes"
        )
    };
    match quantity.kind {
        ColumnKind::YesNo => row(name),
        ColumnKind::Number => row(&format!("{column} >= 1.0")) + ", with the limit that is meant",
        ColumnKind::Category if !own(quantity) => {
            row(&format!("{name} = '…'")) + ", with the text that is meant"
        }
        ColumnKind::Category => format!(
            "write kind = \"yes_no\" in its [[define.quantity]] (other texts than words for yes and no need codes in the braces \
             of its column), and {}",
            row(name)
        ),
    }
}

/// The lines that make an outcome of a column of a table.
fn over_a_column(name: &str) -> String {
    format!(
        "A column of a table that holds yes and no is an outcome once three places say so: [source.columns] ({name} = {{ column \
         = \"{name}\" }}), [[define.quantity]] (name, label, kind = \"yes_no\", subsample = \"interview\") and \
         [[define.outcome]] (name, label, formula = \"{name}\", source): cutspan new --table writes all three"
    )
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use crate::study::parse;

    fn said(outcome: &str, more: &str) -> Result<(), String> {
        let text = format!(
            "title = \"t\"\n[[source]]\nsurvey = \"table\"\nname = \"t\"\nfiles = [\"t.csv\"]\nid = \"id\"\n[source.columns]\n\
             glucose = {{ column = \"g\", unit = \"mg/dL\" }}\ninsulin = {{ column = \"i\", unit = \"uU/mL\" }}\n\
             liver = {{ column = \"Leber\" }}\n[analysis]\nindices = [\"homa_ir\"]\noutcomes = [\"{outcome}\"]\n\
             [[define.quantity]]\nname = \"liver\"\nlabel = \"fatty liver\"\nsubsample = \"interview\"\nkind = {more}"
        );
        parse(&text, "s.toml", Path::new(".")).map(|_| ()).map_err(|error| error.to_string())
    }

    #[test]
    fn an_outcome_that_is_a_quantity_is_told_the_row_it_lacks() {
        let told = said("liver", "\"category\"\n").expect_err("no outcome");
        assert!(told.contains("write kind = \"yes_no\"") && told.contains("formula = \"liver\""), "{told}");
        let told = said("liver", "\"yes_no\"\n").expect_err("no outcome");
        assert!(told.contains("add [[define.outcome]]") && !told.contains("write kind"), "{told}");
        let row = "\"yes_no\"\n[[define.outcome]]\nname = \"liver\"\nlabel = \"l\"\nformula = \"liver\"\nsource = \"s\"\n";
        assert_eq!(said("liver", row), Ok(()));
        let told = said("Fatty Liver", "\"yes_no\"\n").expect_err("its label");
        assert!(told.contains("\"Fatty Liver\" is the quantity \"liver\" and no outcome yet"), "{told}");
        assert!(said("glucose", "\"yes_no\"\n").expect_err("a number").contains(">= 1.0\" and source"));
        assert!(said("sex", "\"yes_no\"\n").expect_err("a text").contains("formula = \"sex = '…'\""));
    }

    #[test]
    fn an_outcome_that_nothing_knows_is_told_the_three_places() {
        let told = said("fatty_liver", "\"yes_no\"\n").expect_err("unknown");
        for part in [
            "unknown outcome \"fatty_liver\"",
            "[source.columns] (fatty_liver = { column = \"fatty_liver\" })",
            "[[define.quantity]] (name, label, kind = \"yes_no\"",
            "formula = \"fatty_liver\"",
        ] {
            assert!(told.contains(part), "{part}: {told}");
        }
        let slip = said("raised_a1", "\"yes_no\"\n").expect_err("a slip");
        assert!(slip.contains("Did you mean \"raised_a1c\"?") && !slip.contains("three places"), "{slip}");
    }
}
