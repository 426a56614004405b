//! `cutspan plan --width`: how many people an interval of the area so wide needs.

use anyhow::{Result, anyhow, bail, ensure};

use super::plan::PlanArgs;
use crate::analysis::plan::{Assumed, people_for_width};
use crate::stats::plan_size::Parted;
use crate::table::number;

/// Digits of a width in the text.
const DIGITS: usize = 3;

/// What was asked: the width, and what is known of the people.
pub(super) fn wanted(args: &PlanArgs) -> Result<Option<(f64, Parted)>> {
    let Some(width) = args.width else {
        ensure!(
            !args.with.is_empty() && !args.without.is_empty(),
            "give the numbers of people, --with 100 --without 300; or ask for them by the width that the interval of the \
             area shall have: --width 0.1 --prevalence 0.3 --auc 0.8"
        );
        return Ok(None);
    };
    ensure!(
        width > 0.0 && width < 1.0,
        "--width lies between 0 and 1, such as 0.1 for 0.75 to 0.85, got {width}"
    );
    let parted = match (args.prevalence, args.with.as_slice(), args.without.as_slice()) {
        (Some(share), [], []) if share > 0.0 && share < 1.0 => Parted::Share(share),
        (Some(share), [], []) => bail!("--prevalence is a share between 0 and 1, such as 0.3, got {share}"),
        (None, [with], []) => Parted::With(*with),
        (None, [], [without]) => Parted::Without(*without),
        _ => bail!(
            "--width asks for numbers of people: give one of --prevalence 0.3, --with N and --without N beside it"
        ),
    };
    Ok(Some((width, parted)))
}

/// Puts the people that are enough into what is assumed, and says how many they are.
pub(super) fn fill(assumed: &mut Assumed, (width, parted): (f64, Parted)) -> Result<String> {
    let auc = assumed
        .auc
        .ok_or_else(|| anyhow!("--width is that of the area: give --auc 0.8, or --from with --outcome"))?;
    let asked = number::significant(width, DIGITS);
    let Some((with, without)) = people_for_width(assumed, (auc, parted, width))? else {
        bail!(
            "not even ten million people make the interval of the area {asked} wide: ask for a wider one; where the class \
             that is given is too small, give more of it, or --prevalence"
        );
    };
    (assumed.with, assumed.without) = (vec![with], vec![without]);
    let whole = |people: u64| number::whole(people as i64);
    Ok(format!(
        "An interval of the area no wider than {asked} needs {} people with and {} without the outcome, {} in all; one \
         fewer is too few.",
        whole(with),
        whole(without),
        whole(with + without)
    ))
}
