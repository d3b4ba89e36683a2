//! A distribution over casts, as weighted points.

use crate::colour::{Duv, MiredShift};

/// One cast and how probable it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CastPoint {
    /// Light − as-shot balance, + orange.
    pub mired: MiredShift,
    /// Light − as-shot balance, + green.
    pub duv: Duv,
    /// Share of the whole probability, 0–1.
    pub weight: f64,
}

/// What the cast of a frame may be: weighted points on the plane of mired and Duv.
#[derive(Debug, Clone, PartialEq)]
pub struct CastPosterior {
    points: Vec<CastPoint>,
}

impl CastPosterior {
    /// A posterior of these points; weights may have any sum. `None` where no weight is left:
    /// weights that are not finite and positive count as nothing.
    #[must_use]
    pub fn new(points: Vec<CastPoint>) -> Option<Self> {
        let counts = |point: &CastPoint| {
            let CastPoint { mired, duv, weight } = point;
            weight.is_finite() && *weight > 0.0 && mired.get().is_finite() && duv.get().is_finite()
        };
        let mut points: Vec<_> = points.into_iter().filter(counts).collect();
        let sum: f64 = points.iter().map(|point| point.weight).sum();
        if points.is_empty() || !sum.is_finite() {
            return None;
        }
        points.iter_mut().for_each(|point| point.weight /= sum);
        Some(Self { points })
    }

    /// Independent normal distributions of mired and Duv, each by its mean and its standard
    /// deviation, cut at three of these.
    #[must_use]
    pub fn gaussian(mired: (MiredShift, f64), duv: (Duv, f64)) -> Self {
        const HALF: i32 = 12;
        let steps = || (-HALF..=HALF).map(|step| 3.0 * f64::from(step) / f64::from(HALF));
        let points = steps().flat_map(|x| {
            steps().map(move |y| CastPoint {
                mired: mired.0 + MiredShift::new(x * mired.1),
                duv: duv.0 + Duv::new(y * duv.1),
                weight: (-0.5 * (x * x + y * y)).exp(),
            })
        });
        let sole = CastPoint { mired: mired.0, duv: duv.0, weight: 1.0 };
        Self::new(points.collect()).unwrap_or(Self { points: vec![sole] })
    }

    /// What is left to say where nothing can be weighed: about as often orange as blue.
    pub(in crate::frames) fn of_no_evidence() -> Self {
        Self::gaussian((MiredShift::new(0.0), 60.0), (Duv::new(0.0), 0.004))
    }

    /// The points; their weights add up to 1.
    #[must_use]
    pub fn points(&self) -> &[CastPoint] {
        &self.points
    }

    /// The mean cast.
    #[must_use]
    pub fn mean(&self) -> (MiredShift, Duv) {
        let sum = |of: fn(&CastPoint) -> f64| self.points.iter().map(|p| p.weight * of(p)).sum();
        (MiredShift::new(sum(|p| p.mired.get())), Duv::new(sum(|p| p.duv.get())))
    }

    /// The interval in mired that holds `level` (0–1) of the probability, as much to either side.
    #[must_use]
    pub fn mired_interval(&self, level: f64) -> [MiredShift; 2] {
        self.interval(level, |point| point.mired.get()).map(MiredShift::new)
    }

    /// The interval in Duv that holds `level` (0–1) of the probability, as much to either side.
    #[must_use]
    pub fn duv_interval(&self, level: f64) -> [Duv; 2] {
        self.interval(level, |point| point.duv.get()).map(Duv::new)
    }

    /// The probability, 0–1, that the cast is less than this in mired.
    #[must_use]
    pub fn mired_below(&self, value: MiredShift) -> f64 {
        part_below(&self.along(|point| point.mired.get()), value.get())
    }

    /// The probability, 0–1, that the cast is less than this in Duv.
    #[must_use]
    pub fn duv_below(&self, value: Duv) -> f64 {
        part_below(&self.along(|point| point.duv.get()), value.get())
    }

    fn interval(&self, level: f64, of: impl Fn(&CastPoint) -> f64) -> [f64; 2] {
        let along = self.along(of);
        let tail = (1.0 - level.clamp(0.0, 1.0)) / 2.0;
        [quantile(&along, tail), quantile(&along, 1.0 - tail)]
    }

    /// Values and their weights, in order.
    fn along(&self, of: impl Fn(&CastPoint) -> f64) -> Vec<(f64, f64)> {
        let mut along: Vec<_> = self.points.iter().map(|p| (of(p), p.weight)).collect();
        along.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Points of one value share one place, so that weight is spread between values only.
        along.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        along
    }
}

/// The value below which so much of the weight lies; each point's weight is spread halfway to its
/// neighbours.
fn quantile(along: &[(f64, f64)], part: f64) -> f64 {
    match around(along, |_, middle| middle >= part) {
        [Some((previous, at)), Some((value, middle))] if middle > at => {
            previous + (value - previous) * (part - at) / (middle - at)
        }
        [_, Some((value, _))] | [Some((value, _)), None] => value,
        [None, None] => 0.0,
    }
}

/// How much of the weight lies below a value, spread as for [`quantile`].
fn part_below(along: &[(f64, f64)], value: f64) -> f64 {
    match around(along, |at, _| at >= value) {
        [Some((previous, part)), Some((at, middle))] => {
            part + (middle - part) * (value - previous) / (at - previous)
        }
        [None, Some(_)] => 0.0,
        [_, None] => 1.0,
    }
}

/// The last point before what is beyond, and the first one beyond: each one's value, and how much of the weight lies
/// below the middle of its own.
fn around(along: &[(f64, f64)], is_beyond: impl Fn(f64, f64) -> bool) -> [Option<(f64, f64)>; 2] {
    let mut below = 0.0;
    let mut before = None;
    for &(value, weight) in along {
        let middle = below + weight / 2.0;
        if is_beyond(value, middle) {
            return [before, Some((value, middle))];
        }
        before = Some((value, middle));
        below += weight;
    }
    [before, None]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_normal_posterior_has_the_intervals_of_its_distribution() {
        let normal =
            CastPosterior::gaussian((MiredShift::new(40.0), 10.0), (Duv::new(-0.002), 0.004));
        let (mired, duv) = normal.mean();
        assert!((mired.get() - 40.0).abs() < 1e-9 && (duv.get() + 0.002).abs() < 1e-12);
        // ±1.645 standard deviations hold 90 %.
        for (got, wanted) in normal.mired_interval(0.9).into_iter().zip([23.55, 56.45]) {
            assert!((got.get() - wanted).abs() < 0.3, "{got:?}");
        }
        for (got, wanted) in normal.duv_interval(0.9).into_iter().zip([-0.00858, 0.00458]) {
            assert!((got.get() - wanted).abs() < 0.0002, "{got:?}");
        }
        for (below, wanted) in [(20.0, 0.023), (35.0, 0.309), (50.0, 0.841), (53.0, 0.903)] {
            let got = normal.mired_below(MiredShift::new(below));
            assert!((got - wanted).abs() < 0.005, "{below}: {got}");
        }
        for (below, wanted) in [(-0.02, 0.0), (-0.002, 0.5), (0.001, 0.773), (0.02, 1.0)] {
            let got = normal.duv_below(Duv::new(below));
            assert!((got - wanted).abs() < 0.005, "{below}: {got}");
        }
    }

    #[test]
    fn weights_are_shares_and_nonsense_is_no_evidence() {
        let point =
            |mired, weight| CastPoint { mired: MiredShift::new(mired), duv: Duv::new(0.0), weight };
        let posterior =
            CastPosterior::new(vec![point(10.0, 3.0), point(20.0, 1.0), point(5.0, f64::NAN)])
                .unwrap();
        assert_eq!(posterior.points().len(), 2);
        assert_eq!(posterior.mean().0.get(), 12.5);
        assert_eq!(CastPosterior::new(vec![point(1.0, 0.0), point(f64::INFINITY, 1.0)]), None);
    }
}
