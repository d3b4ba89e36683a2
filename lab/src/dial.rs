//! Brackets of balance settings, rendered with the truth known.

use mirecast::balance::{AsShot, BalanceSource, PresetTable, White, light_of};
use mirecast::card::{CardOptions, CardReading, ModelError, read_card};
use mirecast::colour::{Kelvin, Matrix3, Xyz, illuminants::ENCODING_D65};
use mirecast::setups::{SetupPhoto, read_bracket};
use mirecast::still::{ReadOptions, read_bytes};
use rayon::prelude::*;

use crate::card_shot::{CardShot, Light, lights};
use crate::colorimetry::{cct_duv, to_linear_srgb};
use crate::error::LabError;
use crate::preset::dialled;
use crate::rng::Rng;
use crate::sensor::{BalancedCamera, Sensor};
use crate::spectrum::Spectrum;

/// Photographs a bracket has.
pub const SETTINGS: usize = 5;

/// One bracket, rendered and read.
#[derive(Debug, Clone)]
pub struct Bracket {
    /// Whether the lamp's spectrum has spikes.
    pub spiky: bool,
    /// The light.
    pub light: White,
    /// The white at which the card is neutral on this camera: mired and Duv.
    pub neutral: [f64; 2],
    /// The photographs, each read at its own setting, without what sensor and lamp add.
    pub photos: Vec<CardReading>,
}

/// Renders and reads `count` brackets; the same for the same count.
///
/// # Errors
/// [`LabError`] where the bench itself is broken. Brackets whose neutral setting is beyond the dial are left out.
pub fn brackets(count: u64) -> Result<Vec<Bracket>, LabError> {
    let lights = lights()?;
    let presets = PresetTable::built_in().map_err(|error| LabError::Presets(error.to_string()))?;
    let all: Result<Vec<Option<Bracket>>, LabError> =
        (0..count).into_par_iter().map(|seed| bracket(seed, &lights, &presets)).collect();
    Ok(all?.into_iter().flatten().collect())
}

/// The dial's ends, kelvin.
const DIAL: [f64; 2] = [2000.0, 15_000.0];
/// No camera's neutral setting is farther than this from the light, mired.
const FARTHEST: f64 = 90.0;

fn bracket(
    seed: u64,
    lights: &[Light],
    presets: &PresetTable,
) -> Result<Option<Bracket>, LabError> {
    let mut rng = Rng::stream(0x6469_616d, seed);
    let spiky = rng.uniform() < 0.5;
    let light = Light::drawn(lights, spiky, &mut rng)?;
    let sensor = Sensor::typical(rng.next_u64());
    let Some(neutral) = neutral_setting(&sensor, &light.spectrum)? else { return Ok(None) };
    let shot = CardShot::drawn(&mut rng);
    let style = rng.between(0.9, 1.25);
    let step = rng.between(12.0, 45.0);
    let middle = neutral[0] + step * rng.between(-2.3, 2.3);
    let mut photos = Vec::new();
    for index in 0..SETTINGS {
        let mired = middle + step * (index as f64 - 0.5 * (SETTINGS as f64 - 1.0));
        let kelvin = on_the_dial(mired);
        let mut camera = BalancedCamera::at_light(&sensor, &dialled(kelvin)?)?;
        camera.matrix = saturated(style) * camera.matrix;
        // A camera that meters anew for each photo.
        let shot = shot.exposed(rng.between(-0.4, 0.4));
        let jpeg = shot.jpeg(&camera, &light.spectrum, rng.next_u64(), 0)?;
        let Ok(still) = read_bytes(&jpeg, &ReadOptions::default()) else { continue };
        let white = White::from_dial(Kelvin::new(kelvin)?)?;
        let setting = AsShot { source: BalanceSource::Flag, name: None, white: Some(white) };
        let mut options = CardOptions::new(presets.clone());
        options.model_error = ModelError::none();
        options.shot_at = Some(setting);
        photos.push(read_card(&still, &options));
    }
    Ok(Some(Bracket { spiky, light: light.white, neutral, photos }))
}

/// A picture style: how much stronger, in linear sRGB, it makes colours about their luminance (IEC 61966-2-1).
fn saturated(gain: f64) -> Matrix3 {
    let luminance = [0.2126, 0.7152, 0.0722];
    let mut rows = [luminance.map(|part| part * (1.0 - gain)); 3];
    for (channel, row) in rows.iter_mut().enumerate() {
        row[channel] += gain;
    }
    Matrix3(rows)
}

/// The number on the dial nearest to a place on the mired scale.
fn on_the_dial(mired: f64) -> f64 {
    let kelvin = if mired > 1e6 / DIAL[1] { 1e6 / mired } else { DIAL[1] };
    let step = if kelvin < 4000.0 { 50.0 } else { 100.0 };
    ((kelvin / step).round() * step).clamp(DIAL[0], DIAL[1])
}

/// The setting, in mired, at which the card's residual vanishes on this camera as its sensor sees it, without curve,
/// noise or rounding; and the Duv of the white that it then is seen as. This is the truth about a bracket: it asks what
/// to dial, and what this sensor sees otherwise than the standard observer belongs to the answer.
pub(crate) fn neutral_setting(
    sensor: &Sensor,
    light: &Spectrum,
) -> Result<Option<[f64; 2]>, LabError> {
    let ends = [1e6 / DIAL[1], 1e6 / DIAL[0]];
    let lit = cct_duv(light)?.cct.mired().get();
    let (mut low, mut high) = ((lit - FARTHEST).max(ends[0]), (lit + FARTHEST).min(ends[1]));
    let to_xyz = to_linear_srgb(ENCODING_D65.to_xyz()).inverse().ok_or(LabError::SingularFit)?;
    let residual = |mired: f64| -> Result<Option<[f64; 2]>, LabError> {
        let kelvin = 1e6 / mired;
        let camera = BalancedCamera::at_light(sensor, &dialled(kelvin)?)?;
        let raw = sensor.response_to_green(light);
        let linear = camera.matrix.apply(std::array::from_fn(|c| raw[c] * camera.gains[c]));
        let card = Xyz::from(to_xyz.apply(linear));
        let setting = White::from_dial(Kelvin::new(kelvin)?)?;
        let seen = light_of(card, ENCODING_D65.to_xyz(), setting).ok();
        Ok(seen.map(|seen| [seen.mired().get() - mired, (seen.duv - setting.duv).get()]))
    };
    for _ in 0..40 {
        let middle = f64::midpoint(low, high);
        match residual(middle)? {
            Some([mired, _]) if mired > 0.0 => low = middle,
            Some(_) => high = middle,
            None => return Ok(None),
        }
    }
    let mired = f64::midpoint(low, high);
    let inside = mired > ends[0] + 1.0 && mired < ends[1] - 1.0;
    let dialled = White::from_dial(Kelvin::new(1e6 / mired)?)?.duv.get();
    Ok(residual(mired)?.filter(|_| inside).map(|[_, duv]| [mired, dialled + duv]))
}

/// How well brackets were read.
#[derive(Debug, Clone, Default)]
pub struct Score {
    /// Neutral setting as found less the truth, mired.
    pub neutral: Vec<f64>,
    /// Whether its interval holds the truth.
    pub neutral_held: Vec<bool>,
    /// Whether the interval of its Duv does.
    pub duv_held: Vec<bool>,
    /// The light as read less the true light, mired: what the sensor sees otherwise counts as error.
    pub light: Vec<f64>,
    /// Whether its interval holds the truth.
    pub light_held: Vec<bool>,
}

/// Reads the brackets of one kind (`None` for all) that enclose neutral, or all others, and compares with the truth.
#[must_use]
pub fn score(brackets: &[Bracket], spiky: Option<bool>, enclosed: bool) -> Score {
    let mut score = Score::default();
    let of_kind = |bracket: &&Bracket| spiky.is_none_or(|spiky| bracket.spiky == spiky);
    for bracket in brackets.iter().filter(of_kind) {
        let photo = |reading: &CardReading| SetupPhoto {
            path: "photo.jpg".into(),
            reading: Ok(reading.clone()),
            apparent: None,
            is_raw: false,
        };
        let photos: Vec<SetupPhoto> = bracket.photos.iter().map(photo).collect();
        let reading = read_bracket(&photos, ModelError::default());
        let (Some(neutral), Some(light)) = (reading.neutral_at, reading.light) else { continue };
        if neutral.enclosed != enclosed {
            continue;
        }
        let holds = |[low, high]: [f64; 2], truth: f64| low <= truth && truth <= high;
        let [mired, duv] = bracket.neutral;
        let lit = bracket.light.mired().get();
        score.neutral.push(neutral.mired - mired);
        score.neutral_held.push(holds(neutral.mired_interval, mired));
        score.duv_held.push(holds(neutral.duv_interval, duv));
        score.light.push(light.mired - lit);
        score.light_held.push(holds(light.mired_interval, lit));
    }
    score
}

impl Score {
    /// One line of figures.
    #[must_use]
    pub fn summary(&self) -> String {
        let part = |held: &[bool]| {
            held.iter().filter(|held| **held).count() as f64 / held.len().max(1) as f64
        };
        format!(
            "{} brackets; setting: median error {:.2} mired, p90 {:.2}, held {:.3}, Duv held {:.3}; \
             light: median {:.2}, p90 {:.2}, held {:.3}",
            self.neutral.len(),
            quantile(&self.neutral, 0.5),
            quantile(&self.neutral, 0.9),
            part(&self.neutral_held),
            part(&self.duv_held),
            quantile(&self.light, 0.5),
            quantile(&self.light, 0.9),
            part(&self.light_held),
        )
    }
}

/// A quantile of errors without sign.
fn quantile(errors: &[f64], part: f64) -> f64 {
    let mut sizes: Vec<f64> = errors.iter().map(|error| error.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let place = (part * sizes.len().saturating_sub(1) as f64).round() as usize;
    sizes.get(place).copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bracket_finds_the_setting_far_more_closely_than_a_card_the_light() -> Result<(), LabError>
    {
        let brackets = brackets(8)?;
        assert!(brackets.len() >= 6, "{}", brackets.len());
        let score = score(&brackets, None, true);
        assert!(score.neutral.len() >= 5, "{score:?}");
        assert!(quantile(&score.neutral, 0.5) < 1.5, "{score:?}");
        assert!(quantile(&score.neutral, 1.0) < 6.0, "{score:?}");
        Ok(())
    }
}
