//! A cutoff without an outcome: where two overlapping populations of values part.

use linfa::DatasetBase;
use linfa::traits::Fit;
use linfa_clustering::GaussianMixtureModel;
use ndarray::Array2;

use super::{Sample, StatError};

/// Gain in mean log-likelihood at which the fit stops.
pub(super) const CONVERGED: f64 = 1e-9;
/// Overlapping components converge slowly.
pub(super) const MOST_ITERATIONS: u64 = 5000;
/// Fewer people cannot show two components.
const FEWEST_PEOPLE: usize = 20;
/// Halvings of the gap between the means until no digit is left.
const HALVINGS: usize = 100;

/// One of the two populations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// Share of all people.
    pub share: f64,
    pub mean: f64,
    pub sd: f64,
}

/// Two normal components and the cutoff between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixture {
    pub lower: Component,
    pub upper: Component,
    pub cutoff: f64,
    /// BIC of one normal distribution less that of two: above 10 the second component is well supported,
    /// below 0 it is not supported at all and the cutoff means nothing.
    pub bic_gain: f64,
    pub people: usize,
}

/// Value between two means at which a person belongs to either component with the same probability.
///
/// # Formula
///
/// The `c` between the means with `π₀ φ((c − μ₀)/σ₀)/σ₀ = π₁ φ((c − μ₁)/σ₁)/σ₁`.
///
/// # Errors
///
/// [`StatError::Undefined`] if the weighted densities do not cross between the means: one component
/// lies inside the other. [`StatError::Parameter`] for a share or spread that is not positive.
///
/// # Examples
///
/// ```
/// # use cutspan::stats::mixture::{Component, crossing};
/// let lower = Component { share: 0.7, mean: 1.5_f64.ln(), sd: 0.45 };
/// let upper = Component { share: 0.3, mean: 4.5_f64.ln(), sd: 0.50 };
/// assert!((crossing(lower, upper)?.exp() - 3.057_024_266_84).abs() < 1e-10);
/// # Ok::<(), cutspan::stats::StatError>(())
/// ```
pub fn crossing(lower: Component, upper: Component) -> Result<f64, StatError> {
    for value in [lower.share, lower.sd, upper.share, upper.sd] {
        if !(value > 0.0 && value.is_finite()) {
            return Err(StatError::Parameter {
                what: "share or SD of a component", range: "(0, ∞)", value
            });
        }
    }
    let advantage = |x: f64| log_density(lower, x) - log_density(upper, x);
    let (mut low, mut high) = (lower.mean, upper.mean);
    if low >= high || advantage(low) <= 0.0 || advantage(high) >= 0.0 {
        return Err(StatError::Undefined("the two components do not part between their means"));
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if advantage(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// Two normal components fitted to the values by expectation–maximisation, and where they part.
///
/// Weights and the design are ignored: every person counts once. Say so beside the number.
///
/// # Formula
///
/// ```text
/// maximise Σ ln(π₀ N(x; μ₀, σ₀²) + π₁ N(x; μ₁, σ₁²)), then [`crossing`]
/// BIC gain = 2 (ℓ₂ − ℓ₁) − 3 ln n
/// ```
///
/// The start is a k-means partition from a fixed seed, so the answer is the same in every run.
///
/// # Units
///
/// That of the values. Pass skewed indices on their logarithm ([`super::scale::Scale`]); the cutoff is then a logarithm.
///
/// # Errors
///
/// [`StatError::Undefined`] with fewer than 20 people, if the fit fails or does not converge, or if the components
/// do not part; what [`Sample::check`] refuses.
///
/// # Source
///
/// Dempster, Laird and Rubin 1977, J R Stat Soc B 39:1–38.
///
/// # Checked against
///
/// scikit-learn, `GaussianMixture`: `tests/reference/mixture_cutoff/`.
pub fn mixture(sample: &Sample) -> Result<Mixture, StatError> {
    fit(&people(sample)?)
}

/// One value per person.
pub(super) fn people(sample: &Sample) -> Result<Vec<f64>, StatError> {
    sample.check()?;
    let each = sample.value.iter().zip(&sample.people);
    let values: Vec<f64> = each.flat_map(|(&x, &n)| std::iter::repeat_n(x, n as usize)).collect();
    if values.len() < FEWEST_PEOPLE {
        return Err(StatError::Undefined("fewer than 20 people cannot show two components"));
    }
    Ok(values)
}

pub(super) fn fit(values: &[f64]) -> Result<Mixture, StatError> {
    let failed = StatError::Undefined("two components could not be fitted to the values");
    let whole = one_component(values);
    if whole.sd <= 0.0 {
        return Err(failed);
    }
    // In standard units, so that the stopping rule means the same for every index.
    let standard: Vec<f64> = values.iter().map(|x| (x - whole.mean) / whole.sd).collect();
    let column = Array2::from_shape_vec((standard.len(), 1), standard).map_err(|_| failed.clone())?;
    let model = GaussianMixtureModel::params(2)
        .tolerance(CONVERGED)
        .max_n_iterations(MOST_ITERATIONS)
        .fit(&DatasetBase::from(column))
        .map_err(|_| failed)?;
    let component = |k: usize| Component {
        share: model.weights()[k],
        mean: whole.mean + whole.sd * model.means()[[k, 0]],
        sd: whole.sd * model.covariances()[[k, 0, 0]].sqrt(),
    };
    let [lower, upper] = if component(0).mean <= component(1).mean { [0, 1] } else { [1, 0] }.map(component);
    let log_likelihood = |of: &dyn Fn(f64) -> f64| values.iter().map(|&x| of(x)).sum::<f64>();
    let two = log_likelihood(&|x| (log_density(lower, x).exp() + log_density(upper, x).exp()).ln());
    let one = log_likelihood(&|x| log_density(whole, x));
    Ok(Mixture {
        lower,
        upper,
        cutoff: crossing(lower, upper)?,
        bic_gain: 2.0 * (two - one) - 3.0 * (values.len() as f64).ln(),
        people: values.len(),
    })
}

/// A single normal distribution by maximum likelihood.
pub(super) fn one_component(values: &[f64]) -> Component {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / n;
    Component { share: 1.0, mean, sd: variance.sqrt() }
}

/// `ln(π φ((x − μ)/σ)/σ)`.
fn log_density(component: Component, x: f64) -> f64 {
    let z = (x - component.mean) / component.sd;
    (component.share / component.sd).ln() - 0.5 * (z * z + std::f64::consts::TAU.ln())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::stats::interval::normal_quantile;

    pub fn two_populations() -> Sample {
        let z = |i: usize, n: usize| normal_quantile((i as f64 + 0.5) / n as f64);
        let mut value: Vec<f64> = (0..280).map(|i| 1.5_f64.ln() + 0.45 * z(i, 280)).collect();
        value.extend((0..120).map(|i| 4.5_f64.ln() + 0.5 * z(i, 120)));
        Sample::from_people(&value, &[1.0; 400], &[0; 400]).expect("usable rows")
    }

    #[test]
    fn components_are_found_and_part_where_they_should() {
        let got = mixture(&two_populations()).expect("two populations");
        assert!(
            (got.lower.share - 0.7).abs() < 0.03 && (got.lower.mean - 1.5_f64.ln()).abs() < 0.03,
            "{got:?}"
        );
        assert!((got.cutoff.exp() / 3.057 - 1.0).abs() < 0.05 && got.people == 400, "{got:?}");
        assert!(got.bic_gain > 0.0, "{got:?}");
        assert_eq!(mixture(&two_populations()), Ok(got), "the same in every run");
    }

    #[test]
    fn no_cutoff_where_nothing_parts() {
        let wide = Component { share: 0.5, mean: 0.1, sd: 3.0 };
        let narrow = Component { share: 0.5, mean: 0.0, sd: 1.0 };
        assert!(matches!(crossing(narrow, wide), Err(StatError::Undefined(_))));
        assert!(matches!(crossing(narrow, Component { sd: 0.0, ..wide }), Err(StatError::Parameter { .. })));
        let few = Sample::from_people(&[1.0; 19], &[1.0; 19], &[0; 19]).expect("usable rows");
        assert!(matches!(mixture(&few), Err(StatError::Undefined(_))));
        let flat = Sample::from_people(&[1.0; 30], &[1.0; 30], &[0; 30]).expect("usable rows");
        assert!(matches!(mixture(&flat), Err(StatError::Undefined(_))));
    }
}
