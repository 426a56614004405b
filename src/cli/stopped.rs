//! Ctrl-C while a run goes on: nothing half done stays, and it is said.

use std::path::Path;
use std::thread;

use indicatif::ProgressBar;
use signal_hook::consts::SIGINT;
use signal_hook::iterator::Signals;
use signal_hook::low_level::emulate_default_handler;

use super::say::tell;
use crate::output;

/// Waits for Ctrl-C beside the run, and then ends the program as Ctrl-C does.
pub(super) fn watch(out: &Path, bar: &ProgressBar) {
    // Where the system does not tell of it, the next run clears away what is left.
    let Ok(mut signals) = Signals::new([SIGINT]) else { return };
    let (out, bar) = (out.to_owned(), bar.clone());
    thread::spawn(move || {
        if signals.forever().next().is_some() {
            bar.finish_and_clear();
            if output::break_off(&out) {
                tell(format!("stopped before the run was complete: {} is as it was before", out.display()));
            }
            let _ = emulate_default_handler(SIGINT);
        }
    });
}
