//! The sample: waves, strata, PSUs, selection and weights.

use super::draws::Draws;
use super::model::{self, ANCESTRIES, REGION_SHARE, REGIONS, Sex, Traits};
use super::person::{self, Person, Place, Session};

pub const WAVES: u32 = 3;
/// People aged 12 to 85 for whom the three waves together stand.
pub const POPULATION: f64 = 2_400_000.0;
/// The region whose stratum has three PSUs; the others have two.
const REGION_OF_THREE: usize = 4;
/// Fewer people leave PSUs nearly empty.
pub const FEWEST_PEOPLE: usize = 630;
/// The committed files are made with these.
pub const USUAL_SEED: u64 = 20_261_125;
pub const USUAL_PEOPLE: usize = 6_000;
/// More would overflow the six digits of an identifier.
pub const MOST_PEOPLE: usize = 900_000;

#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DesignError {
    #[error(
        "an invented survey of {people} people was asked for: ask for {FEWEST_PEOPLE} to {MOST_PEOPLE}, \
         so that each of its 63 PSUs holds a few"
    )]
    People { people: usize },
}

/// PSUs drawn in a region in each wave.
#[must_use]
pub fn psus(region: usize) -> u32 {
    if region == REGION_OF_THREE { 3 } else { 2 }
}

/// Draws the invented survey: about `people` people in three waves of ten strata.
///
/// PSUs are drawn anew in each wave, from very many. Within a PSU people are drawn with a chance that
/// depends on age and ancestry, and the inverse of it, scaled to the PSU's share of the
/// population, is the examination weight. Weights are those of the three waves together. The
/// fasting weight divides by the chance of having fasted, known by ancestry, and adds up to the
/// same total in each PSU.
///
/// # Errors
///
/// [`DesignError::People`] if so many people cannot be spread over the design.
pub fn survey(seed: u64, people: usize) -> Result<Vec<Person>, DesignError> {
    sample(seed, people, None)
}

/// A survey of a population in which men and women differ in nothing but the level of HOMA-IR: the
/// women's is the men's times `ratio`, and so is their true cutoff. Everybody has the body that the model
/// gives a man, and sex is a coin tossed beside it. With a ratio of 1 the true cutoffs are equal.
///
/// # Errors
///
/// [`DesignError::People`] as for [`survey`].
///
/// # Checked against
///
/// [`super::truth::contrast_cutoffs`], and drawn surveys in `tests/suite/invented.rs`.
pub fn contrast_survey(seed: u64, people: usize, ratio: f64) -> Result<Vec<Person>, DesignError> {
    sample(seed, people, Some(ratio.ln()))
}

fn sample(seed: u64, people: usize, contrast: Option<f64>) -> Result<Vec<Person>, DesignError> {
    if !(FEWEST_PEOPLE..=MOST_PEOPLE).contains(&people) {
        return Err(DesignError::People { people });
    }
    let each = people as f64 / f64::from(WAVES * (0..REGIONS).map(psus).sum::<u32>());
    let mut sample = Vec::with_capacity(people);
    for wave in 1..=WAVES {
        for region in 0..REGIONS {
            for psu in 1..=psus(region) {
                sample.extend(draw_psu(seed, each, Psu { wave, region, number: psu, contrast }));
            }
        }
    }
    Ok(sample)
}

#[derive(Clone, Copy)]
struct Psu {
    wave: u32,
    region: usize,
    number: u32,
    /// What ln HOMA-IR of women lies above that of men, where nothing else differs.
    contrast: Option<f64>,
}

impl Psu {
    fn stratum(self) -> u32 {
        100 * self.wave + self.region as u32 + 1
    }

    /// People of the region for whom the PSU stands.
    fn population(self) -> f64 {
        POPULATION * REGION_SHARE[self.region] / f64::from(WAVES * psus(self.region))
    }
}

fn draw_psu(seed: u64, people: f64, psu: Psu) -> Vec<Person> {
    let mut draws = Draws::new(seed, u64::from(psu.stratum() * 10 + psu.number));
    let (_, bmi_spread) = model::log_bmi_spreads();
    let (_, homa_spread) = model::log_homa_spreads();
    let bmi_effect = bmi_spread * draws.normal();
    let homa_effect = homa_spread * draws.normal();
    let size = (people * draws.between(0.85, 1.15)).round() as usize;
    let mut members = Vec::with_capacity(size);
    while members.len() < size {
        let (sex, traits, chance) = select(&psu, bmi_effect, &mut draws);
        let session = draw_session(traits.ancestry, &mut draws);
        let place = Place {
            wave: psu.wave,
            stratum: psu.stratum(),
            psu: psu.number,
            exam_weight: 1.0 / chance,
            fasting_weight: fasting_weight(session, 1.0 / (chance * ANCESTRIES[traits.ancestry].fasted)),
        };
        let effect = homa_effect + sex.if_female(psu.contrast.unwrap_or(0.0));
        members.push(Person { sex, ..person::draw(traits, effect, place, session, &mut draws) });
    }
    scale_weights(&mut members, psu.population());
    members
}

/// Draws people of the region until one is selected: sex as recorded, traits of the body, and the chance of
/// selection.
fn select(psu: &Psu, bmi_effect: f64, draws: &mut Draws) -> (Sex, Traits, f64) {
    let shares = model::ancestry_shares(psu.region);
    loop {
        let ancestry = draws.position(&shares);
        let age = model::age_at(ancestry, draws.uniform());
        let recorded = if draws.chance(0.5) { Sex::Male } else { Sex::Female };
        let sex = psu.contrast.map_or(recorded, |_| Sex::Male);
        let chance = selection(age, ancestry);
        if draws.chance(chance) {
            let bmi = person::draw_bmi(psu.region, (sex, age, ancestry), bmi_effect, draws);
            return (recorded, Traits { sex, age, ancestry, bmi }, chance);
        }
    }
}

/// Relative chance of selection: smaller groups, the young and the old are oversampled.
fn selection(age: u32, ancestry: usize) -> f64 {
    const BY_ANCESTRY: [f64; 4] = [0.45, 0.65, 0.80, 1.00];
    BY_ANCESTRY[ancestry] * if (20..60).contains(&age) { 0.65 } else { 1.0 }
}

fn draw_session(ancestry: usize, draws: &mut Draws) -> Session {
    if !draws.chance(person::MORNING) {
        Session::Afternoon
    } else if draws.chance(ANCESTRIES[ancestry].fasted) {
        Session::Fasted
    } else {
        Session::NotFasted
    }
}

fn fasting_weight(session: Session, weight: f64) -> Option<f64> {
    match session {
        Session::Fasted => Some(weight),
        Session::NotFasted => Some(0.0),
        Session::Afternoon => None,
    }
}

/// Makes both weights add up to the people for whom the PSU stands, to two decimals.
fn scale_weights(members: &mut [Person], population: f64) {
    let total: f64 = members.iter().map(|person| person.place.exam_weight).sum();
    let fasting: f64 = members.iter().filter_map(|person| person.place.fasting_weight).sum();
    let scaled = |weight: f64, sum: f64| (weight * population / sum * 100.0).round() / 100.0;
    for Person { place, .. } in members {
        place.exam_weight = scaled(place.exam_weight, total);
        place.fasting_weight = place.fasting_weight.map(|weight| scaled(weight, fasting));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn too_few_people_are_refused() {
        assert_eq!(survey(1, 10), Err(DesignError::People { people: 10 }));
    }

    #[test]
    fn weights_add_up_to_the_population() {
        // Each of some 700 weights is rounded to 0.01.
        const ROUNDING: f64 = 10.0;
        let people = survey(5, 700).expect("enough people");
        let exam: f64 = people.iter().map(|person| person.place.exam_weight).sum();
        let fasting: f64 = people.iter().filter_map(|person| person.place.fasting_weight).sum();
        assert!((exam - POPULATION).abs() < ROUNDING, "{exam}");
        assert!((fasting - POPULATION).abs() < ROUNDING, "{fasting}");
    }
}
