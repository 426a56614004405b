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

/// In an answer about one person.
pub(super) fn to_a_person(invented: &Invented) -> Option<String> {
    match invented {
        Invented::Nobody => None,
        Invented::Some(names) => Some(format!(
            "CAUTION: the people of {} are invented and stand among the study's: nothing here says anything of a real person.",
            listed(names)
        )),
        Invented::Everybody => Some(
            "CAUTION: the study's people are invented: nothing here says anything of a real person."
                .to_owned(),
        ),
    }
}

/// On the picture of one person's value.
pub(super) fn on_picture(invented: &Invented) -> Option<String> {
    match invented {
        Invented::Nobody => None,
        Invented::Some(names) => Some(format!("The people of {} are invented.", listed(names))),
        Invented::Everybody => Some("The people are invented.".to_owned()),
    }
}

/// Before a claim's answer, and on its picture.
#[must_use]
pub fn invented_data(invented: &Invented) -> Option<String> {
    match invented {
        Invented::Nobody => None,
        Invented::Some(names) => Some(format!("INVENTED DATA: the people of {} do not exist", listed(names))),
        Invented::Everybody => Some("INVENTED DATA: these people do not exist".to_owned()),
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
        let all = Invented::Everybody;
        for said in [to_a_person(&some), on_picture(&some), invented_data(&some)] {
            assert!(
                said.is_some_and(|said| said.contains("the people of v (invented) ")
                    || said.starts_with("The people of v "))
            );
        }
        for said in [to_a_person(&all), on_picture(&all), invented_data(&all)] {
            assert!(said.is_some_and(|said| !said.contains("people of ")));
        }
        let nobody = Invented::Nobody;
        assert_eq!((to_a_person(&nobody), on_picture(&nobody), invented_data(&nobody)), (None, None, None));
    }
}
