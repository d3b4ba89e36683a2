//! What the casts of frames say whatever their order: of so many lights, or of no countable ones.

use super::evidence::Likelihood;
use super::pool::centre;

/// What frames tell in mired, each with the share that it has in its view.
pub(super) type Told = [(Likelihood, f64)];

/// Schwarz's criterion (1978), halved: the larger, the better. `count` is how much was told.
pub(super) fn merit(ln_likelihood: f64, parameters: usize, count: f64) -> f64 {
    ln_likelihood - 0.5 * parameters as f64 * count.max(1.0).ln()
}

/// How many frames there are, a view's counting as one.
pub(super) fn count(told: &Told) -> f64 {
    told.iter().map(|(_, share)| share).sum()
}

/// The merit of casts that lie round one middle, however far apart: as many lights as frames.
pub(super) fn merit_of_spread(told: &Told) -> f64 {
    /// How much wider than one light's, at most by ten times.
    const STEPS: i32 = 24;
    const STEP: f64 = 1.1;
    let ln_at = |wider: f64| -> f64 {
        let wide = |(one, share): &(Likelihood, f64)| (one.widened(wider), *share);
        let wide: Vec<_> = told.iter().map(wide).collect();
        let alone: Vec<_> = wide.iter().map(|(likelihood, _)| *likelihood).collect();
        let (middle, _) = centre(&alone);
        wide.iter().map(|(likelihood, share)| share * likelihood.ln_at(middle)).sum()
    };
    let best = (0..=STEPS).map(|step| ln_at(STEP.powi(step))).fold(f64::NEG_INFINITY, f64::max);
    merit(best, 2, count(told))
}

/// Lights, of which each frame is under one, with the part of the frames that each has.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mixture {
    /// Cast in mired and part.
    lights: Vec<(f64, f64)>,
    pub(super) merit: f64,
}

impl Mixture {
    /// As many lights as have the most merit.
    pub(super) fn of(told: &Told) -> Self {
        /// More are not told apart by casts alone.
        const MOST_LIGHTS: usize = 5;
        let mut best = Self::fitted(told, 1);
        for lights in 2..=MOST_LIGHTS {
            let next = Self::fitted(told, lights);
            if next.merit > best.merit {
                best = next;
            } else if lights > 2 {
                break;
            }
        }
        best
    }

    /// How many lights it has.
    pub(super) fn lights(&self) -> usize {
        self.lights.len()
    }

    /// By expectation and maximisation (Dempster, Laird and Rubin 1977), from lights spread over the frames.
    fn fitted(told: &Told, lights: usize) -> Self {
        const ROUNDS: usize = 60;
        const SETTLED: f64 = 1e-4;
        let mut casts: Vec<_> = told.iter().map(|(likelihood, _)| likelihood.centre).collect();
        casts.sort_by(f64::total_cmp);
        let begin = |light: usize| {
            let place = (2 * light + 1) * casts.len() / (2 * lights);
            (casts.get(place).copied().unwrap_or(0.0), (lights as f64).recip())
        };
        let mut mixture = Self { lights: (0..lights).map(begin).collect(), merit: 0.0 };
        let mut ln = f64::NEG_INFINITY;
        for _ in 0..ROUNDS {
            let before = ln;
            ln = mixture.refine(told);
            if ln - before < SETTLED {
                break;
            }
        }
        // A cast for each light, and the parts, which sum to one.
        mixture.merit = merit(ln, 2 * lights - 1, count(told));
        mixture
    }

    /// Moves the lights to where the frames that they are likeliest for would have them; the logarithm of how
    /// likely the frames were before.
    fn refine(&mut self, told: &Told) -> f64 {
        let mut ln = 0.0;
        let mut sums = vec![(0.0, 0.0, 0.0); self.lights.len()];
        for (likelihood, share) in told {
            let (parts, ln_all) = self.parts(likelihood);
            ln += share * ln_all;
            for ((sum, part), (cast, _)) in sums.iter_mut().zip(parts).zip(&self.lights) {
                let weight = share * part * likelihood.weight_at(*cast);
                sum.0 += weight * likelihood.centre;
                sum.1 += weight;
                sum.2 += share * part;
            }
        }
        let all = count(told);
        for ((cast, part), (moment, weight, count)) in self.lights.iter_mut().zip(sums) {
            if weight > 0.0 && all > 0.0 {
                (*cast, *part) = (moment / weight, count / all);
            }
        }
        ln
    }

    /// How probable each light is for a frame, and the logarithm of how likely all together make it.
    fn parts(&self, likelihood: &Likelihood) -> (Vec<f64>, f64) {
        let ln = |(cast, part): &(f64, f64)| part.ln() + likelihood.ln_at(*cast);
        let mut parts: Vec<_> = self.lights.iter().map(ln).collect();
        // Finite, so that a frame beyond all measure is no likelier for any of them.
        let most = parts.iter().copied().fold(f64::MIN, f64::max);
        parts.iter_mut().for_each(|part| *part = (*part - most).exp());
        let sum: f64 = parts.iter().sum();
        if sum > 0.0 {
            parts.iter_mut().for_each(|part| *part /= sum);
        }
        (parts, most + sum.max(f64::MIN_POSITIVE).ln())
    }

    /// The most probable light of a frame, and how probable it is.
    pub(super) fn light_of(&self, likelihood: &Likelihood) -> (usize, f64) {
        let parts = self.parts(likelihood).0.into_iter().enumerate();
        parts.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, 1.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(casts: &[f64]) -> Vec<(Likelihood, f64)> {
        casts.iter().map(|centre| (Likelihood { centre: *centre, scale: 12.0 }, 1.0)).collect()
    }

    #[test]
    fn lights_are_counted() {
        let one = [38.0, 52.0, 44.0, 21.0, 60.0, 41.0, 35.0, 47.0, -30.0, 43.0];
        assert_eq!(Mixture::of(&told(&one)).lights(), 1);
        let two = [38.0, -61.0, 44.0, -48.0, 60.0, -55.0, 35.0, -70.0, 47.0, -58.0];
        let mixture = Mixture::of(&told(&two));
        assert_eq!(mixture.lights(), 2, "{mixture:?}");
        let [low, high] = [-58.0, 45.0].map(|cast| {
            let (light, probability) = mixture.light_of(&Likelihood { centre: cast, scale: 12.0 });
            assert!(probability > 0.99, "{cast}: {probability}");
            light
        });
        assert_ne!(low, high);
        assert!(mixture.merit > merit_of_spread(&told(&two)));
    }

    #[test]
    fn casts_all_over_are_of_no_number_of_lights() {
        let casts: Vec<_> = (0..24).map(|i| f64::from(i * 101 % 240) - 120.0).collect();
        assert!(merit_of_spread(&told(&casts)) > Mixture::of(&told(&casts)).merit);
    }

    #[test]
    fn nothing_and_nonsense_are_survived() {
        assert_eq!(Mixture::of(&[]).lights(), 1);
        let mixture = Mixture::of(&told(&[1e300, -1e300, 0.0, 3.0]));
        assert!(mixture.light_of(&Likelihood { centre: 1e300, scale: 1.0 }).0 < mixture.lights());
        assert!(!merit_of_spread(&[]).is_nan());
    }
}
