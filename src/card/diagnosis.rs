//! What is wrong with a photo of a card, each by itself: what the file says, how it was exposed, what lies
//! on the card, and a light that no lamp has.

use super::banding::Banding;
use super::evenness::Evenness;
use super::found::Found;
use super::options::CardOptions;
use super::problem::Problem;
use super::record::LightReading;
use super::sample::{FEWEST_SAMPLES, Samples};
use super::uncertainty::Estimate;
use crate::balance::AsShot;
use crate::colour::TransferCurve;
use crate::still::{Note, Still};

/// Darker than this in its brightest channel (linear, 1 is full scale) a card's colour is mostly
/// black level, quantisation and noise.
const DARKEST_LEVEL: f64 = 0.016;
/// A well exposed card's brightest channel, linear.
const GOOD_LEVEL: f64 = 0.5;
/// Below this level in its brightest channel, encoded, a card is worth more exposure.
const DIM: f64 = 0.25;
/// Above this level a card's saturated spots are where it is brightest itself: a reflection need not be
/// the reason.
const NEAR_THE_TOP: f64 = 0.88;
/// Steps of a JPEG's colours below this, in levels, are no strong compression.
const COARSE_STEP: f64 = 2.0;
/// And what they leave open of the light matters from this many mired on.
const COARSE_MIRED: f64 = 8.0;
/// A card is small below this part of the frame.
const SMALL: f64 = 0.2;
/// Where this part of a card is saturated it is lost, unless the rest tells its colour.
pub(super) const MUCH_CLIPPED: f64 = 0.05;
/// Less than this of an area that is not the card is a finger or a slip of the hand.
const BEYOND: f64 = 0.05;
/// Light is uneven from this many stops on.
const UNEVEN_STOPS: f64 = 0.6;
/// A light that changes by so many mired over a card is worth a word. Over 143 rendered cards in one light it
/// was 8 at the most.
const DRIFT_MIRED: f64 = 15.0;
/// Glare and marks smaller than this part of the card are not worth a word.
pub(super) const NOTEWORTHY: f64 = 0.003;

/// What Exif and the encoding say against a reading.
pub(super) fn shot_problems(still: &Still, as_shot: &AsShot) -> Vec<Problem> {
    let shot = &still.shot;
    let automatic = shot.white_balance_auto == Some(true);
    let mut problems = Vec::new();
    if as_shot.white.is_none() && still.raw.is_none() {
        problems.push(match &as_shot.name {
            Some(name) => Problem::PresetUnknown { name: name.clone() },
            None if automatic => Problem::AutoBalance,
            None => Problem::BalanceUnknown,
        });
    }
    if shot.flash_fired == Some(true) {
        problems.push(Problem::FlashFired);
    }
    problems.extend(shot.notes.iter().map(|note| match note {
        Note::Grey => Problem::NoColour,
        Note::BadExif { .. } | Note::MissingEnd => Problem::Incomplete { what: note.to_string() },
        Note::BadXmp { .. } | Note::BesideIgnored { .. } => {
            Problem::Ignored { what: note.to_string() }
        }
        _ => Problem::OddEncoding { what: note.to_string() },
    }));
    problems
}

/// Where the user states another balance than the file records.
pub(super) fn other_balance(still: &Still, options: &CardOptions) -> Option<Problem> {
    let stated = options.shot_at.clone()?;
    let recorded = stated.overrules(still, &options.presets)?;
    Some(Problem::OtherBalance { recorded, stated })
}

/// Whether a light is such as hardly any lamp or sky is, so that the card's own colour is the likelier reason.
/// What was searched for has a card's shape; what the user named may be wood.
pub(super) fn unlikely(light: &LightReading, is_stated: bool) -> Option<Problem> {
    /// Beyond the tubes that are farthest from the Planckian locus.
    const TINT: f64 = 0.025;
    /// From a candle to the clear sky away from the sun.
    const KELVIN: [f64; 2] = [1600.0, 25_000.0];
    /// Below the lamps and the skies that anybody balances for.
    const KELVIN_OF_STATED: f64 = 2200.0;
    let lowest = if is_stated { KELVIN_OF_STATED } else { KELVIN[0] };
    let side = match (light.duv, light.cct_kelvin) {
        (duv, _) if duv > TINT => "green",
        (duv, _) if duv < -TINT => "magenta",
        (_, kelvin) if kelvin < lowest => "orange",
        (_, kelvin) if kelvin > KELVIN[1] => "blue",
        _ => return None,
    };
    Some(Problem::Coloured { side })
}

/// Whether the steps that a JPEG stores colours in leave much of the light open.
pub(super) fn coarse(samples: &Samples, estimate: &Estimate) -> Option<Problem> {
    let steps = samples.stored.as_ref()?.steps;
    let step = f64::from(steps[0].max(steps[1]));
    let half_mired = estimate.recorded_half_mired;
    (step > COARSE_STEP && half_mired > COARSE_MIRED)
        .then_some(Problem::Coarse { step, half_mired })
}

/// Over- or under-exposure that leaves nothing to read.
pub(super) fn exposure_problem(samples: &Samples) -> Option<Problem> {
    // Where much is saturated the rest may still be good, in a shadow across the card; not where
    // it too is close to the top.
    let little_left = samples.cells.len() < FEWEST_SAMPLES;
    if samples.clipped > 0.7
        || (samples.clipped > 0.3 && samples.level > 0.93)
        || (samples.clipped > MUCH_CLIPPED && little_left)
    {
        return Some(Problem::Clipped { share: samples.clipped });
    }
    let mean = samples.mean(|v| v)?;
    let brightest = mean.into_iter().fold(0.0, f64::max);
    (brightest < DARKEST_LEVEL).then(|| Problem::Dark { stops: stops_to_good(brightest) })
}

/// The stops from a linear level to a well exposed card's.
fn stops_to_good(level: f64) -> f64 {
    (GOOD_LEVEL / level.max(1e-4)).log2()
}

/// What is worth a word of a card that can be read.
pub(super) fn card_problems(
    found: &Found,
    samples: &Samples,
    banding: Option<&Banding>,
    evenness: &Evenness,
) -> Vec<Problem> {
    let mut problems = Vec::new();
    if let Some(stated) = found.stated {
        let share = stated.beyond;
        problems.extend((share > BEYOND).then_some(Problem::AreaBeyond { share }));
    } else if found.coverage < SMALL {
        problems.push(Problem::Small { coverage: found.coverage });
    }
    if evenness.ends.is_none() && evenness.drift > DRIFT_MIRED {
        problems.push(Problem::Drift { mired: evenness.drift });
    }
    if evenness.stops > UNEVEN_STOPS {
        problems.push(Problem::Uneven { stops: evenness.stops });
    }
    if banding.is_some() {
        problems.push(Problem::Banding);
    }
    if samples.level < DIM {
        let stops = stops_to_good(TransferCurve::Srgb.decode(samples.level));
        problems.push(Problem::Dim { level: samples.level, stops });
    }
    let with_spots = samples.level > NEAR_THE_TOP;
    let share = samples.clipped + if with_spots { samples.glare } else { 0.0 };
    if !with_spots && samples.glare > NOTEWORTHY {
        // It may reach the card's edge, and is why something there is saturated.
        problems.push(Problem::Glare { share: samples.glare });
    } else if share > NOTEWORTHY {
        problems.push(Problem::PartlyClipped { share, with_spots });
    }
    if samples.marked > NOTEWORTHY {
        problems.push(Problem::Marked { share: samples.marked });
    }
    problems
}
