use super::{Drawing, Source};
pub(super) fn draw(_: &Source<'_>) -> Vec<Drawing> { Vec::new() }
pub(super) fn draw_groups(_: &Source<'_>) -> Vec<Drawing> { Vec::new() }
