//! One finding of the answer: what it is about, in a sentence, and as marks.

use serde::Serialize;

use super::strip::Strip;

#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Finding {
    pub heading: &'static str,
    pub text: String,
    /// A command that asks further.
    pub command: Option<String>,
    pub strip: Option<Strip>,
}

impl Finding {
    /// A finding that is told and not drawn.
    pub(super) fn told(heading: &'static str, text: String) -> Self {
        Self { heading, text, command: None, strip: None }
    }

    /// As plain text, with what can be asked further.
    pub(super) fn into_text(self) -> String {
        let command = self.command.map(|command| format!(" For a verdict: {command}."));
        self.text + &command.unwrap_or_default()
    }
}
