//! Laboratory methods of insulin and glucose that an assay route can convert to.

use super::list_rows::Listing;
use crate::definitions::crosswalk::{Method, crosswalks, methods, released};

pub(super) fn assay_rows() -> Listing {
    Listing {
        columns: &["name", "label", "quantity", "maker", "released_in", "equations_from"],
        in_text: 6,
        rows: methods().iter().map(row).collect(),
        note: "[[sensitivity.route]] converts by official equations: insulin = \"mercodia_elisa\", or by its maker, which asks \
               for\nany of its methods. A value can be converted where the method of its cycle leads to the wanted one.",
    }
}

fn row(method: &Method) -> Vec<String> {
    let holds = released().iter().filter(|row| row.method(&method.quantity) == method.name);
    let cycles: Vec<&str> = holds.map(|row| row.cycle.as_str()).collect();
    let leads = crosswalks().iter().filter(|step| step.to == method.name && step.quantity == method.quantity);
    let mut from: Vec<&str> = leads.map(|step| step.from.as_str()).collect();
    from.dedup();
    vec![
        method.name.clone(),
        method.label.clone(),
        method.quantity.clone(),
        method.maker.clone(),
        cycles.join(", "),
        from.join(", "),
    ]
}
