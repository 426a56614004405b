//! Sentences that say whose data are invented.

use super::methods::listed;
use crate::study::Invented;

/// At the top of the page; empty where nobody is invented.
pub(super) fn on_page(invented: &Invented) -> String {
    match invented {
        Invented::Nobody => String::new(),
        Invented::Some(names) => format!(
            "Every person of {} is made up, and no number of theirs says anything about real people.",
            listed(names)
        ),
        Invented::Everybody => {
            "Every person, place and group on this page is made up. Nothing here says anything about \
                                real people."
                .to_owned()
        }
    }
}

/// First of the methods.
pub(super) fn in_methods(invented: &Invented) -> Option<String> {
    match invented {
        Invented::Nobody => None,
        Invented::Some(names) => Some(format!(
            "The people of {} are invented: no number of theirs is about anybody.",
            listed(names)
        )),
        Invented::Everybody => Some(
            "The people, the place and the survey are invented: no number here is about anybody.".to_owned(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_those_who_are_invented_are_called_so() {
        let some = Invented::Some(vec!["v (invented)".to_owned()]);
        assert!(on_page(&some).starts_with("Every person of v (invented) is made up, "));
        let said = in_methods(&some).expect("a sentence");
        assert!(said.starts_with("The people of v (invented) are invented"), "{said}");
        assert_eq!((on_page(&Invented::Nobody).as_str(), in_methods(&Invented::Nobody)), ("", None));
        assert!(on_page(&Invented::Everybody).contains("on this page is made up"));
    }
}
