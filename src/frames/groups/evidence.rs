//! What one frame's record says of the cast, as a likelihood.

use std::borrow::Cow;
use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use crate::frames::{Cast, Clock, FrameReading, natural_order};
use crate::normal::HALF_90;

/// Degrees of freedom of the likelihood (Student's t): single frames are sometimes far off.
const FREEDOM: f64 = 4.0;
/// Half the width of the 90 % interval of that t distribution, in its scale.
const HALF_WIDTH: f64 = 2.132;
/// How far the cast of a frame moves about its group's own: mired, Duv. The light is never quite
/// the same twice.
const WITHIN_GROUP: [f64; 2] = [4.0, 0.0008];
/// How far casts are from none, as far as a frame's estimate takes for granted (one standard
/// deviation): mired, Duv. Each estimate is drawn toward no cast by this once; a group's, made of
/// many, must not be drawn many times. Not so the tint: frames tell so little of it that their
/// estimates, as they are, are still half as much again as the truth on scenes left out.
pub(super) const TAKEN_FOR_GRANTED: [f64; 2] = [70.0, f64::INFINITY];
/// No frame is surer than this.
const LEAST_SCALE: [f64; 2] = [3.0, 0.0005];

/// A frame that tells hardly more than was taken for granted keeps so much of its precision.
const LEAST_LEFT: f64 = 0.3;

/// What frames share that can share a group at all: camera, balance, reference.
pub(super) type Key<'a> = (Camera<'a>, Option<[u64; 2]>, Option<&'a str>);

/// What tells cameras apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Camera<'a> {
    /// Its name, and its body where there are several of that name.
    Named(&'a str, Option<&'a str>),
    /// The file does not say; what lies in one folder is taken to be of one camera, if the records
    /// come from one place.
    OfFolder(u32, &'a str),
}

/// The names that several bodies have.
pub(super) struct SharedNames<'a>(BTreeSet<&'a str>);

impl<'a> SharedNames<'a> {
    pub(super) fn among(readings: impl Iterator<Item = &'a FrameReading>) -> Self {
        let mut bodies = BTreeMap::<&str, BTreeSet<&str>>::new();
        for shot in readings.map(|reading| &reading.shot) {
            if let Some((camera, body)) = shot.camera.as_deref().zip(shot.body.as_deref()) {
                bodies.entry(camera).or_default().insert(body);
            }
        }
        Self(bodies.into_iter().filter(|(_, of)| of.len() > 1).map(|(name, _)| name).collect())
    }

    /// What a frame's camera is called, so that two of one name stay apart.
    pub(super) fn name(&self, reading: &FrameReading) -> Option<String> {
        let camera = reading.shot.camera.as_deref()?;
        Some(match self.body(camera, reading) {
            Some(body) => format!("{camera} (body {body})"),
            None => camera.to_owned(),
        })
    }

    /// The frame's body, where that tells it from another.
    fn body<'b>(&self, camera: &str, reading: &'b FrameReading) -> Option<&'b str> {
        reading.shot.body.as_deref().filter(|_| self.0.contains(camera))
    }
}

/// The key of a frame whose record is from a source.
pub(super) fn key<'a>(
    path: &'a str,
    reading: &'a FrameReading,
    source: u32,
    shared: &SharedNames<'_>,
) -> Key<'a> {
    let folder = path.rfind(['/', '\\']).and_then(|end| path.get(..end)).unwrap_or_default();
    let camera = reading.shot.camera.as_deref();
    let camera = camera.map_or(Camera::OfFolder(source, folder), |name| {
        Camera::Named(name, shared.body(name, reading))
    });
    let balance = &reading.shot.balance;
    let white = balance.kelvin.map(|kelvin| [kelvin, balance.duv.unwrap_or(0.0)].map(f64::to_bits));
    let card = reading.reference.as_ref().map(|card| card.path.as_str());
    (camera, white, card)
}

/// A location and a scale on one axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Likelihood {
    pub(super) centre: f64,
    pub(super) scale: f64,
}

impl Likelihood {
    /// From an estimate and its 90 % interval.
    fn of(estimate: f64, interval: [f64; 2], axis: usize) -> Self {
        let at = |of: [f64; 2]| of.get(axis).copied().unwrap_or(1.0);
        let [low, high] = interval;
        let half = (high - low).abs() / 2.0;
        // As of normal distributions: precisions add up, so the prior's is taken off again.
        let prior = HALF_90 * at(TAKEN_FOR_GRANTED);
        let left = (1.0 - (half / prior).powi(2)).max(LEAST_LEFT);
        let scale = (half / left.sqrt() / HALF_WIDTH).max(at(LEAST_SCALE));
        let (centre, scale) = (estimate / left, scale.hypot(at(WITHIN_GROUP)));
        if centre.is_finite() && scale.is_finite() {
            Self { centre, scale }
        } else {
            Self::of_nothing(axis)
        }
    }

    /// As good as the same everywhere.
    fn of_nothing(axis: usize) -> Self {
        Self { centre: 0.0, scale: 1e3 * LEAST_SCALE.get(axis).copied().unwrap_or(1.0) }
    }

    /// Its logarithm at a value.
    pub(super) fn ln_at(&self, value: f64) -> f64 {
        let off = (value - self.centre) / self.scale;
        -0.5 * (FREEDOM + 1.0) * (off * off / FREEDOM).ln_1p() - self.scale.ln()
    }

    /// How much the frame counts toward a mean at `value`.
    pub(super) fn weight_at(&self, value: f64) -> f64 {
        let off = (value - self.centre) / self.scale;
        (FREEDOM + 1.0) / (FREEDOM + off * off) / (self.scale * self.scale)
    }

    /// Its part, where so many tell only what one of them does.
    pub(super) fn as_one_of(self, many: usize) -> Self {
        self.widened((many.max(1) as f64).sqrt())
    }

    /// As of an estimate that is so many times less sure.
    pub(super) fn widened(self, times: f64) -> Self {
        Self { scale: self.scale * times, ..self }
    }

    /// What it tells of a mean, whatever its value (Fisher's information).
    pub(super) fn information(&self) -> f64 {
        (FREEDOM + 1.0) / (FREEDOM + 3.0) / (self.scale * self.scale)
    }

    /// The estimate and its interval that a frame of this likelihood has.
    #[cfg(test)]
    pub(super) fn estimate(centre: f64, scale: f64) -> (f64, [f64; 2]) {
        let half = HALF_WIDTH * scale;
        let prior = HALF_90 * TAKEN_FOR_GRANTED[0];
        let left = 1.0 / (1.0 + (half / prior).powi(2));
        let (estimate, half) = (centre * left, half * left.sqrt());
        (estimate, [estimate - half, estimate + half])
    }

    /// Half the width of its 90 % interval.
    pub(super) fn half_width(&self) -> f64 {
        HALF_WIDTH * self.scale
    }

    /// How many half-widths of its 90 % interval a value is off.
    pub(super) fn half_widths_to(&self, value: f64) -> f64 {
        (value - self.centre).abs() / self.half_width()
    }
}

/// One frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Evidence<'a> {
    /// Its place among the frames given.
    pub(super) index: usize,
    pub(super) path: &'a str,
    pub(super) taken: Option<&'a str>,
    /// `taken` in seconds by the clock for all frames, where that gives an order.
    pub(super) at: Option<i64>,
    pub(super) clock: Clock,
    pub(super) mired: Likelihood,
    pub(super) duv: Likelihood,
    pub(super) reading: &'a FrameReading,
    /// Whether an earlier one is of the same picture, which tells nothing twice.
    pub(super) is_copy: bool,
    /// The number of its burst, once they have been numbered.
    pub(super) burst: usize,
    /// The same of its view.
    pub(super) view: usize,
}

impl<'a> Evidence<'a> {
    pub(super) fn of(index: usize, path: &'a str, reading: &'a FrameReading, clock: Clock) -> Self {
        let cast = &reading.cast;
        let taken = reading.shot.taken.as_deref();
        // What an interval says of nothing is not said by the frame.
        let told = |likelihood, axis| match reading.reason {
            None => likelihood,
            Some(_) => Likelihood::of_nothing(axis),
        };
        Self {
            index,
            path,
            taken,
            at: clock.seconds(&reading.shot),
            clock,
            mired: told(Likelihood::of(cast.mired, cast.mired_interval, 0), 0),
            duv: told(Likelihood::of(cast.duv, cast.duv_interval, 1), 1),
            reading,
            is_copy: false,
            burst: index,
            view: index,
        }
    }

    /// When it was taken, by the clock for all frames.
    pub(super) fn time(&self) -> Option<String> {
        self.clock.time(&self.reading.shot).map(Cow::into_owned)
    }

    /// What is the same for two copies of a picture, and for hardly any two pictures: all that was read of the
    /// cast, and the time.
    fn mark(&self) -> ([u64; 9], Option<&'a str>) {
        let Cast {
            mired, mired_interval: [low, high], duv, duv_interval: [green, magenta], ..
        } = self.reading.cast;
        let [r, g, b] = self.reading.cast.white_linear_srgb;
        ([mired, low, high, duv, green, magenta, r, g, b].map(f64::to_bits), self.taken)
    }

    /// Its logarithm at a cast.
    pub(super) fn ln_at(&self, mired: f64, duv: f64) -> f64 {
        self.mired.ln_at(mired) + self.duv.ln_at(duv)
    }
}

/// Puts frames in the order in which they were taken. Those that do not say come after the others, as a sequence
/// of their own in the order of their names: where among the others they belong nothing says.
pub(super) fn in_order(frames: &mut [Evidence<'_>]) {
    frames.sort_by(earlier);
}

/// So many frames that all say one time were hardly taken at once: the clock was not set, or not running.
const STOPPED: usize = 3;

/// Takes times away where they are all the same, since they give no order, and says whether it has.
pub(super) fn forget_a_stopped_clock(frames: &mut [Evidence<'_>]) -> bool {
    let times: Vec<_> = frames.iter().filter_map(|frame| frame.at).collect();
    let stands = times.len() >= STOPPED && times.windows(2).all(|two| two[0] == two[1]);
    if stands {
        frames.iter_mut().for_each(|frame| frame.at = None);
    }
    stands
}

/// Finds the copies among frames.
pub(super) fn mark_copies(frames: &mut [Evidence<'_>]) {
    let mut known = BTreeSet::new();
    for frame in frames {
        frame.is_copy |= !known.insert(frame.mark());
    }
}

/// The order of frames, and of groups by their first frames.
pub(super) fn earlier(a: &Evidence<'_>, b: &Evidence<'_>) -> Ordering {
    let time = |frame: &Evidence<'_>| frame.at.unwrap_or(i64::MAX);
    time(a).cmp(&time(b)).then_with(|| natural_order(a.path, b.path)).then(a.index.cmp(&b.index))
}
