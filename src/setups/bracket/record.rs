//! What a bracket says, as a record.

use schemars::JsonSchema;
use serde::Serialize;

use super::fit::Fit;
use crate::balance::{White, distance_off_loci, kelvin_number};
use crate::card::{CardReading, LightReading, ModelError, Residual};
use crate::colour::{Duv, Kelvin, Mired};
use crate::setups::comparison::ComparisonNote;
use crate::setups::setup::{LeftOut, SetupPhoto, SetupStatus};

/// What a bracket says.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Dial record")]
pub struct BracketReading {
    /// The photos, in the order given.
    pub photos: Vec<BracketPhoto>,
    /// The setting at which the card is neutral on this camera; null where it could not be found, as
    /// where the photos contradict each other.
    pub neutral_at: Option<NeutralAt>,
    /// The light: `neutral_at` with what the camera's sensor and the lamp's spectrum add to the
    /// intervals.
    pub light: Option<LightReading>,
    /// Everything found wrong.
    pub problems: Vec<ComparisonNote>,
    /// What to do next, a sentence each.
    pub advice: Vec<String>,
}

/// One photo of a bracket.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BracketPhoto {
    /// The file as given; what is not Unicode is replaced by U+FFFD.
    pub path: String,
    /// Whether its light is known. It counts if this is `read` and `left_out` is null.
    pub status: SetupStatus,
    /// What the balance was set to, kelvin; null where that is not known.
    pub setting_kelvin: Option<f64>,
    /// Its tint: Duv, + green, − magenta.
    pub setting_duv: Option<f64>,
    /// The colour that the card has in the picture; null where it has none that counts.
    pub residual: Option<Residual>,
    /// Why it does not count; null where it does.
    pub left_out: Option<LeftOut>,
}

/// The white at which the card is neutral on this camera. Intervals are 90 %.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NeutralAt {
    /// What to set the camera to, kelvin.
    pub kelvin: f64,
    /// Its interval, low to high.
    pub kelvin_interval: [f64; 2],
    /// 10⁶ / kelvin.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// The tint to set with it: Duv, + for a light greener than the Planckian locus.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
    /// What the card is still off by in Duv at the bare kelvin number, with no tint dialled:
    /// + green, − magenta.
    pub tint_left_duv: f64,
    /// Whether settings lie on both sides of neutral in temperature.
    pub enclosed: bool,
    /// Whether they do in tint.
    pub tint_enclosed: bool,
    /// The line fitted to the photos, from point to point: setting and residual, both in mired. It
    /// passes 0 at `mired`.
    pub line: Vec<[f64; 2]>,
}

/// A tint smaller than this is not worth a bracket of its own.
pub(super) const TINT_SHOWS: f64 = 0.003;

impl BracketPhoto {
    pub(super) fn of(photo: &SetupPhoto) -> Self {
        let reading = photo.reading.as_ref().ok();
        let setting = reading.and_then(CardReading::balance);
        Self {
            path: photo.path.to_string_lossy().into_owned(),
            status: photo.status(),
            setting_kelvin: setting.map(|white| white.cct.get()),
            setting_duv: setting.map(|white| white.duv.get()),
            residual: reading.and_then(|reading| reading.residual.clone()),
            left_out: photo.left_out().filter(|_| !photo.is_raw).or_else(|| raw(photo)),
        }
    }

    /// Leaves it out, since the others say something else.
    pub(super) fn contradicts(&mut self) {
        // What to do is said of the bracket.
        self.leave_out("contradiction", "it does not fit the other photos".to_owned(), &[]);
    }

    /// Leaves it out, since it is not of the camera that the bracket is of.
    pub(super) fn is_of_another_camera(&mut self, [own, others]: [&str; 2]) {
        let message = format!("it was shot with {own}, the others with {others}");
        self.leave_out("other-camera", message, &["Bracket each camera by itself."]);
    }

    fn leave_out(&mut self, code: &str, message: String, advice: &[&str]) {
        self.left_out = Some(LeftOut {
            path: self.path.clone(),
            code: code.to_owned(),
            message,
            advice: advice.iter().map(|&sentence| sentence.to_owned()).collect(),
        });
    }
}

/// Why a raw file has no part in a bracket.
fn raw(photo: &SetupPhoto) -> Option<LeftOut> {
    let path = photo.path.to_string_lossy().into_owned();
    photo.is_raw.then(|| LeftOut {
        code: "raw-file".to_owned(),
        message: "a raw file holds what the sensor saw, whatever the balance was set to, so it \
                  does not show what the dial does"
            .to_owned(),
        advice: vec![format!(
            "Take the camera's JPEG of that shot; the light itself is told by mirecast card {path}."
        )],
        path,
    })
}

impl NeutralAt {
    /// `None` where the place is no colour temperature.
    pub(super) fn of(found: &Fit, enclosed: bool, tint_enclosed: bool) -> Option<Self> {
        let around = |value: f64, half: f64| [value - half, value + half];
        let [low, high] = around(found.at.mired, found.half.mired);
        let kelvin = Mired::new(found.at.mired).ok()?.kelvin();
        let untinted = White::from_dial(kelvin).ok()?.duv.get();
        Some(Self {
            kelvin: kelvin.get(),
            kelvin_interval: [1e6 / high, 1e6 / low.max(1.0)],
            mired: found.at.mired,
            mired_interval: [low, high],
            duv: found.at.duv,
            duv_interval: around(found.at.duv, found.half.duv),
            tint_left_duv: found.at.duv - untinted,
            enclosed,
            tint_enclosed,
            line: found.line.clone(),
        })
    }

    pub(super) fn light(&self, model: ModelError) -> LightReading {
        let wider = |value: f64, [low, high]: [f64; 2], model: f64| {
            [value - model.hypot(value - low), value + model.hypot(high - value)]
        };
        let off_loci = Kelvin::new(self.kelvin)
            .map_or(0.0, |kelvin| distance_off_loci(kelvin, Duv::new(self.duv)));
        let [mired, duv] =
            [model.mired_half_width(0.0, off_loci), model.duv_half_width(0.0, off_loci)];
        let [low, high] = wider(self.mired, self.mired_interval, mired);
        LightReading {
            cct_kelvin: self.kelvin,
            cct_interval_kelvin: [1e6 / high, 1e6 / low.max(1.0)],
            mired: self.mired,
            mired_interval: [low, high],
            duv: self.duv,
            duv_interval: wider(self.duv, self.duv_interval, duv),
        }
    }

    pub(super) fn advice(&self) -> String {
        let tint = match self.tint_left_duv {
            left if left.abs() < TINT_SHOWS => String::new(),
            left => format!(
                ", and turn its tint toward {} by {:.4} Duv",
                if left > 0.0 { "magenta" } else { "green" },
                left.abs()
            ),
        };
        format!("Set this camera to {} K for this light{tint}.", kelvin_number(self.kelvin))
    }
}
