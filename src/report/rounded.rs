//! Rounding, alike in all records.

use crate::card::{LightReading, Residual, ShotRecord};
use crate::setups::{BracketReading, Comparison};

/// Steps to the unit.
pub(super) const KELVIN: f64 = 10.0;
pub(super) const MIRED: f64 = 100.0;
pub(super) const DUV: f64 = 1e5;

/// Rounds to `steps` to the unit. Adding zero makes −0 a plain 0.
pub(super) fn round(value: &mut f64, steps: f64) {
    *value = (*value * steps).round() / steps + 0.0;
}

/// The comparison with its figures rounded as those of all records are: kelvin to 0.1, mired and
/// stops to 0.01, Duv to 0.000 01.
#[must_use]
pub fn rounded_comparison(mut comparison: Comparison) -> Comparison {
    for setup in &mut comparison.setups {
        setup.light.iter_mut().for_each(round_light);
        setup.spread_mired.iter_mut().for_each(|mired| round(mired, MIRED));
    }
    for shift in &mut comparison.shifts {
        round_figure(&mut shift.mired, &mut shift.mired_interval, MIRED);
        round_figure(&mut shift.duv, &mut shift.duv_interval, DUV);
    }
    if let Some(balance) = &mut comparison.balance {
        round(&mut balance.kelvin, KELVIN);
        round(&mut balance.worst_miss_mired, MIRED);
        round(&mut balance.duv, DUV);
        round(&mut balance.worst_miss_duv, DUV);
        for miss in &mut balance.misses {
            round(&mut miss.mired, MIRED);
            round(&mut miss.duv, DUV);
        }
        if let Some(preset) = &mut balance.preset {
            round(&mut preset.kelvin, KELVIN);
            round(&mut preset.worst_miss_mired, MIRED);
            round(&mut preset.worst_miss_duv, DUV);
        }
    }
    for gel in &mut comparison.gels {
        round(&mut gel.left_mired, MIRED);
        round(&mut gel.left_duv, DUV);
        round(&mut gel.stops, 100.0);
    }
    for camera in &mut comparison.cameras {
        round_figure(&mut camera.mired, &mut camera.mired_interval, MIRED);
        round_figure(&mut camera.duv, &mut camera.duv_interval, DUV);
        for kelvin in [&mut camera.reference_kelvin, &mut camera.setting_kelvin] {
            kelvin.iter_mut().for_each(|kelvin| round(kelvin, KELVIN));
        }
        for duv in [&mut camera.reference_duv, &mut camera.setting_duv] {
            duv.iter_mut().for_each(|duv| round(duv, DUV));
        }
    }
    comparison
}

/// The bracket with its figures rounded as those of all records are.
#[must_use]
pub fn rounded_bracket(mut bracket: BracketReading) -> BracketReading {
    for photo in &mut bracket.photos {
        photo.setting_kelvin.iter_mut().for_each(|kelvin| round(kelvin, KELVIN));
        photo.setting_duv.iter_mut().for_each(|duv| round(duv, DUV));
        photo.residual.iter_mut().for_each(round_residual);
    }
    if let Some(neutral) = &mut bracket.neutral_at {
        round_figure(&mut neutral.kelvin, &mut neutral.kelvin_interval, KELVIN);
        round_figure(&mut neutral.mired, &mut neutral.mired_interval, MIRED);
        round_figure(&mut neutral.duv, &mut neutral.duv_interval, DUV);
        round(&mut neutral.tint_left_duv, DUV);
        neutral.line.iter_mut().flatten().for_each(|mired| round(mired, MIRED));
    }
    bracket.light.iter_mut().for_each(round_light);
    bracket
}

pub(super) fn round_residual(residual: &mut Residual) {
    residual.white_linear_srgb.iter_mut().for_each(|channel| round(channel, 1e4));
    residual.mired.iter_mut().for_each(|mired| round(mired, MIRED));
    residual.duv.iter_mut().for_each(|duv| round(duv, DUV));
}

pub(super) fn round_light(light: &mut LightReading) {
    round_figure(&mut light.cct_kelvin, &mut light.cct_interval_kelvin, KELVIN);
    round_figure(&mut light.mired, &mut light.mired_interval, MIRED);
    round_figure(&mut light.duv, &mut light.duv_interval, DUV);
}

/// A figure and the ends of its interval.
pub(super) fn round_figure(value: &mut f64, interval: &mut [f64; 2], steps: f64) {
    round(value, steps);
    interval.iter_mut().for_each(|end| round(end, steps));
}

pub(super) fn round_shot(shot: &mut ShotRecord) {
    shot.balance.kelvin.iter_mut().for_each(|kelvin| round(kelvin, KELVIN));
    shot.balance.duv.iter_mut().for_each(|duv| round(duv, DUV));
    shot.shutter_seconds.iter_mut().for_each(|seconds| round(seconds, 1e6));
}
