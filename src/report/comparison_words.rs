//! A comparison of set-ups in words and figures, for the text and for the page.

use super::words::{kelvin, light_in_figures, light_in_words, lower_first, signed};
use crate::balance::{appearance, looks, looks_in_a_sentence};
use crate::setups::{CameraOffset, GelChoice, OneBalance, SetupRecord, SetupStatus, Shift};

/// What is known of a set-up's light.
pub(super) fn setup_in_words(setup: &SetupRecord) -> String {
    match (&setup.light, setup.status) {
        (Some(_), SetupStatus::Stated) => "as you said".to_owned(),
        (Some(light), _) => lower_first(&light_in_words(light)),
        (None, SetupStatus::ResidualOnly) => "its light is unknown".to_owned(),
        (None, SetupStatus::Refused) => "its card cannot be balanced from".to_owned(),
        (None, _) if setup.left_out.is_empty() => {
            "there is no photo that is read in this folder".to_owned()
        }
        (None, _) => "could not be read".to_owned(),
    }
}

pub(super) fn setup_in_figures(setup: &SetupRecord) -> Option<String> {
    let light = setup.light.as_ref()?;
    Some(if setup.status == SetupStatus::Stated {
        format!("{:.0} K, Duv {}", light.cct_kelvin, signed(light.duv, 4))
    } else {
        light_in_figures(light)
    })
}

/// How far a set-up's photos lie apart, where there are several.
pub(super) fn spread_in_words(setup: &SetupRecord) -> Option<String> {
    let spread = setup.spread_mired?;
    let apart = if spread < 0.5 {
        "less than a mired apart".to_owned()
    } else {
        format!("up to {spread:.0} mired apart")
    };
    Some(format!("From {} photos, {apart}", setup.photos))
}

/// How it looks, the figures, and whether it is real.
pub(super) fn shift_in_words(shift: &Shift) -> [String; 3] {
    let Shift { from, to, .. } = shift;
    let looks = match shift.appearance.as_str() {
        "about right" => format!("With the balance right for {from}, {to} looks about right too."),
        look => {
            format!("With the balance right for {from}, {to} looks {}.", looks_in_a_sentence(look))
        }
    };
    let figures = format!(
        "{}, Duv {}",
        mired(shift.mired, shift.mired_interval),
        with_interval(shift.duv, shift.duv_interval, 4)
    );
    // As between stated lights.
    let exact = [shift.mired_interval, shift.duv_interval].iter().all(|[low, high]| low == high);
    let real = match (shift.mired_is_real, shift.duv_is_real) {
        (false, false) if exact => "The two are the same.",
        _ if exact && is_nothing(shift) => "The two are as good as the same.",
        (false, false) => "The difference is within the uncertainty: it may be none.",
        _ if shift.appearance == "about right" => "The difference is real, but hardly shows.",
        (true, true) if tint_hardly_shows(shift) => {
            "The difference in mired is real; that in tint is too small to show."
        }
        (true, true) => "The difference is real, in mired and in tint.",
        (true, false) if exact => "The difference is real, in mired alone.",
        (false, true) if exact => "The difference is real, in tint alone.",
        (true, false) => "The difference in mired is real; that in tint is within the uncertainty.",
        (false, true) => "The difference in tint is real; that in mired is within the uncertainty.",
    };
    [looks, figures, real.to_owned()]
}

/// Whether the tint by itself would hardly show.
fn tint_hardly_shows(shift: &Shift) -> bool {
    appearance(0.0, shift.duv) == "about right"
}

/// Whether the figures shown are nothing.
fn is_nothing(shift: &Shift) -> bool {
    signed(shift.mired, 0) == "0" && signed(shift.duv, 4) == "0.0000"
}

/// How it looks, the figures, and what to dial.
pub(super) fn camera_in_words(offset: &CameraOffset) -> [String; 3] {
    let camera = &offset.camera;
    let looks = match appearance(offset.mired, offset.duv).as_str() {
        "about right" => "about the same at one setting".to_owned(),
        look => format!("{} beside the other at one setting", looks_in_a_sentence(look)),
    };
    let looks = format!("The pictures of {camera} look {looks}.");
    let figures = format!(
        "{}, Duv {}",
        mired(offset.mired, offset.mired_interval),
        with_interval(offset.duv, offset.duv_interval, 4)
    );
    let dial = if offset.is_real {
        what_to_dial(offset)
    } else {
        "That is within the uncertainty: leave both cameras at the same setting.".to_owned()
    };
    [looks, figures, dial]
}

/// No camera's dial is marked in Duv.
const STEPS: &str = "a step at a time, and photograph the card again";

fn what_to_dial(offset: &CameraOffset) -> String {
    let CameraOffset { reference, camera, .. } = offset;
    let [low, high] = offset.duv_interval;
    let tint = match signed(offset.duv, 4).as_str() {
        // Within the uncertainty.
        _ if low <= 0.0 && high >= 0.0 => "leave its tint".to_owned(),
        shown if shown.starts_with('+') => {
            format!("turn its tint toward magenta by {:.4} Duv, {STEPS}", offset.duv)
        }
        _ => format!("turn its tint toward green by {:.4} Duv, {STEPS}", -offset.duv),
    };
    match (offset.reference_kelvin, offset.setting_kelvin) {
        (Some(from), Some(to)) => format!(
            "Where {reference} is set to {} K, set {camera} to {} K ({} mired), and {tint}.",
            kelvin(from),
            kelvin(to),
            signed(offset.mired, 0)
        ),
        _ => format!(
            "Set {camera} {} mired from {reference}'s setting, and {tint}.",
            signed(offset.mired, 0)
        ),
    }
}

/// From this on a tint shows, in Duv.
const TINT_SHOWS: f64 = 0.003;

pub(super) fn nearest_preset(balance: &OneBalance) -> Option<String> {
    let preset = balance.preset.as_ref()?;
    let tint = match preset.worst_miss_duv {
        duv if duv >= TINT_SHOWS => format!(" and {duv:.4} Duv"),
        _ => String::new(),
    };
    Some(format!(
        "The preset that comes nearest is {} ({:.0} K), at worst {:.0} mired{tint} off.",
        preset.name, preset.kelvin, preset.worst_miss_mired
    ))
}

/// The gel, and what it leaves over.
pub(super) fn gel_in_words(choice: &GelChoice) -> [String; 2] {
    let gel = format!(
        "On {}, toward {}: {}; {:.1} stops less light",
        choice.on, choice.toward, choice.gel, choice.stops
    );
    let left = format!(
        "Left over: {} mired, Duv {}: {}",
        signed(choice.left_mired, 0),
        signed(choice.left_duv, 4),
        looks(&choice.appearance)
    );
    [gel, left]
}

fn mired(value: f64, interval: [f64; 2]) -> String {
    format!("{} mired{}", signed(value, 0), in_brackets(interval, 0))
}

fn with_interval(value: f64, interval: [f64; 2], decimals: usize) -> String {
    format!("{}{}", signed(value, decimals), in_brackets(interval, decimals))
}

/// Nothing for a figure that is exact, as between stated lights.
fn in_brackets(interval: [f64; 2], decimals: usize) -> String {
    let [low, high] = interval;
    if low < high {
        format!(" ({} to {})", signed(low, decimals), signed(high, decimals))
    } else {
        String::new()
    }
}
