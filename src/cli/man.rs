//! `cutspan man`: the help of every verb as manual pages.

use std::fs;
use std::path::PathBuf;

use anyhow::{Context, Result};
use clap::Args;

use super::say::say;

/// Write manual pages: one for the program and one for each verb.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  cutspan man --out man                          writes man/cutspan.1, man/cutspan-run.1 …
  cutspan man --out man && ls man                then: man -l man/cutspan-run.1

Output: one file for each page; its name is printed. Pages of these names are replaced.")]
pub struct ManArgs {
    /// Folder for the pages; made when it is not there
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
}

pub fn run(args: &ManArgs) -> Result<()> {
    let folder = args.out.display();
    fs::create_dir_all(&args.out).with_context(|| format!("the folder {folder} cannot be made"))?;
    for (name, page) in pages()? {
        let file = args.out.join(name);
        fs::write(&file, page).with_context(|| format!("{} cannot be written", file.display()))?;
        say(format!("{}\n", file.display()))?;
    }
    Ok(())
}

/// File name and text of every page.
fn pages() -> Result<Vec<(String, Vec<u8>)>> {
    let mut program = super::command().disable_help_subcommand(true);
    program.build();
    let verbs = program.get_subcommands().cloned().collect::<Vec<_>>();
    let mut pages = Vec::new();
    for command in std::iter::once(program).chain(verbs) {
        let name = command.get_display_name().unwrap_or_else(|| command.get_name()).to_owned();
        let mut page = Vec::new();
        clap_mangen::Man::new(command.display_name(name.clone())).render(&mut page)?;
        pages.push((format!("{name}.1"), page));
    }
    Ok(pages)
}
