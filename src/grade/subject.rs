//! What a correction is for, in words and figures.

use std::path::Path;

use super::neutral_to_correct;
use crate::balance::appearance;
use crate::card::{BalanceRecord, CardReading, Residual, Status};
use crate::frames::{
    Cast, Drift, DriftKind, FrameReading, GroupReading, ReferenceRecord, Tolerance, Verdict,
};
use crate::told::Told;

/// What a correction is for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Subject {
    /// The colour, in linear sRGB, that is to become neutral; `None` where there is nothing to correct, or
    /// nothing to correct by.
    pub(super) neutral: Option<[f64; 3]>,
    /// What was called neutral: mired, Duv.
    pub(super) tolerance: [f64; 2],
    pub(super) descriptions: Vec<String>,
    pub(super) warnings: Vec<String>,
    /// What all of the correction takes out.
    pub(super) takes_out: &'static str,
}

impl Subject {
    pub(super) fn of_group(group: &GroupReading, told: Told) -> Self {
        let frames = if group.frames == 1 { "frame" } else { "frames" };
        let camera = group.camera.as_ref().map(|camera| format!(" of {camera}"));
        let when = match (&group.from, &group.to) {
            (Some(from), Some(to)) if from != to => format!(", {}", from_to(from, to)),
            (Some(from), _) => format!(", {}", to_the_minute(from)),
            _ => String::new(),
        };
        let what = format!(
            "group {}, {} {frames}{}{when}",
            group.group,
            group.frames,
            camera.unwrap_or_default()
        );
        let mut subject = Self::of_cast(
            &what,
            group.verdict,
            &group.cast,
            &group.balance,
            &group.reference,
            group.tolerance,
        );
        subject.descriptions.insert(1, which_frames(group));
        // Lights that were not told apart: what is right for the group is wrong for these.
        if 4 * group.odd.len() >= group.frames.max(1) {
            subject.warnings.push(format!(
                "{} of its {} frames {} otherwise than the group: look at {}, and {} if their \
                 lights differ.",
                group.odd.len(),
                group.frames,
                if group.odd.len() == 1 { "looks" } else { "look" },
                if group.odd.len() == 1 { "it" } else { "them" },
                told.either("give frames --each-frame", "correct each frame by itself")
            ));
        }
        if let Some(moves) = group.drift.as_ref().and_then(moves_in_words) {
            subject.descriptions.push(format!("{moves}: this fits the middle of it at best."));
            subject.warnings.push(format!(
                "{moves}, and one correction fits the middle of it at best: {} suits better.",
                told.either("frames --each-frame", "a correction of each frame by itself")
            ));
        }
        subject
    }

    pub(super) fn of_frame(path: &Path, frame: &FrameReading) -> Self {
        let what = path.to_string_lossy();
        let balance = &frame.shot.balance;
        Self::of_cast(&what, frame.verdict, &frame.cast, balance, &frame.reference, frame.tolerance)
    }

    fn of_cast(
        what: &str,
        verdict: Verdict,
        cast: &Cast,
        balance: &BalanceRecord,
        reference: &Option<ReferenceRecord>,
        tolerance: Tolerance,
    ) -> Self {
        let looks = appearance(cast.mired, cast.duv);
        let takes_cast = format!("Takes the cast out of {what}: {looks}.");
        let of_card_alone = verdict == Verdict::Neutral && reference.is_some();
        let mut descriptions = match reference {
            None => vec![takes_cast, light(balance, cast)],
            Some(card) if of_card_alone => vec![
                format!("Balances {what} from the card in {}.", card.path),
                "Beyond the card no cast is sure, so nothing more is taken out.".to_owned(),
            ],
            Some(card) => vec![
                takes_cast,
                format!(
                    "Balances from the card in {} and takes out what is left beyond it.",
                    card.path
                ),
            ],
        };
        descriptions.push(figures(
            if reference.is_some() { "Cast beyond the card" } else { "Cast" },
            cast.mired,
            cast.mired_interval,
            cast.duv,
            cast.duv_interval,
        ));
        Self {
            neutral: neutral_to_correct(verdict, cast, reference.as_ref()),
            tolerance: [tolerance.mired, tolerance.duv],
            descriptions,
            warnings: Vec::new(),
            takes_out: if of_card_alone { "what the card shows" } else { "the cast" },
        }
    }

    pub(super) fn of_card(path: &Path, card: &CardReading, residual: &Residual) -> Self {
        let name = path.to_string_lossy();
        // The balance that it chose for the photo it need not have chosen for anything else.
        let automatic = card.card.problems.iter().any(|problem| problem.code == "auto-balance");
        let fits = match automatic {
            false => "for footage of the same camera at the same balance in the same light",
            true => {
                "for this photo, as the camera balanced automatically, and for no other footage"
            }
        };
        let mut descriptions =
            vec![format!("Balances for the light on the card in {name}: {fits}.")];
        let mut warnings = Vec::new();
        match &card.light {
            Some(light) => descriptions.push(format!(
                "Light: {:.0} K ({:.0} to {:.0}, nine times in ten), Duv {:+.4} ({:+.4} to {:+.4}){}.",
                light.cct_kelvin,
                light.cct_interval_kelvin[0],
                light.cct_interval_kelvin[1],
                light.duv,
                light.duv_interval[0],
                light.duv_interval[1],
                balanced_for(&card.shot.balance),
            )),
            None => descriptions.push(
                "Light: not known, since the camera's balance is not; only the colour that the \
                 card has in the picture is neutralised."
                    .to_owned(),
            ),
        }
        let cast = residual.mired.zip(residual.duv);
        if let Some((mired, duv)) = cast {
            descriptions.push(format!(
                "Cast: {mired:+.1} mired, Duv {duv:+.4}: {}.",
                appearance(mired, duv)
            ));
        }
        if card.status == Status::ResidualOnly {
            let colour = cast.map_or_else(
                || "a strong colour".to_owned(),
                |(mired, duv)| format!("{mired:+.0} mired, Duv {duv:+.4}"),
            );
            let only = match automatic {
                false => {
                    "use it on footage shot at the very same setting only, and not where the balance \
                     was automatic"
                }
                true => {
                    "the camera balanced automatically, perhaps otherwise in every shot, so it fits \
                     this photo only. Set a fixed balance and photograph the card again"
                }
            };
            warnings.push(format!(
                "It neutralises the colour that the card has in this picture ({colour}), not a \
                 known light: {only}."
            ));
        }
        Self {
            neutral: Some(residual.white_linear_srgb),
            tolerance: [0.0; 2],
            descriptions,
            warnings,
            takes_out: "the cast",
        }
    }
}

/// A time as in a record, YYYY-MM-DDThh:mm:ss, as one to read.
fn to_the_minute(time: &str) -> String {
    time.get(..16).unwrap_or(time).replace('T', " ")
}

/// Two such times, the day said once.
fn from_to(from: &str, to: &str) -> String {
    let (from, to) = (to_the_minute(from), to_the_minute(to));
    match (from.split_once(' '), to.split_once(' ')) {
        _ if from == to => from,
        (Some((day, _)), Some((same, clock))) if day == same => format!("{from} to {clock}"),
        _ => format!("{from} to {to}"),
    }
}

/// Which frames a group has, so that its files say what they are for.
fn which_frames(group: &GroupReading) -> String {
    let folder = |path: &str| path.rfind(['/', '\\']).map_or(0, |end| end + 1);
    let (first, last) = (group.first.as_str(), group.last.as_str());
    let shared = folder(first);
    let same_folder = shared == folder(last) && first.get(..shared) == last.get(..shared);
    // The folder is said once.
    let last = if same_folder { last.get(shared..).unwrap_or(last) } else { last };
    match group.frames {
        1 => format!("Its frame: {}.", shortened(first)),
        2 => format!("Its 2 frames: {} and {}.", shortened(first), shortened(last)),
        frames => format!("Its {frames} frames: from {} to {}.", shortened(first), shortened(last)),
    }
}

/// The end of a path, where all of it would be long.
fn shortened(path: &str) -> String {
    const LONGEST: usize = 60;
    match path.char_indices().rev().nth(LONGEST) {
        Some((from, _)) => format!("…{}", path.get(from..).unwrap_or(path)),
        None => path.to_owned(),
    }
}

/// How the light moves under a group's frames; `None` where the balance jumps back and forth, since its groups are
/// then the settings between which it does, each with a cast of its own.
fn moves_in_words(drift: &Drift) -> Option<String> {
    if drift.kind == DriftKind::Hunting {
        return None;
    }
    let [low, high] = drift.mired_interval;
    let over = match (&drift.from, &drift.to) {
        (Some(from), Some(to)) => format!("from {}", from_to(from, to)),
        _ => format!("over {} frames", drift.frames),
    };
    Some(format!(
        "The cast {} {over}, by {:+.0} mired ({low:+.0} to {high:+.0})",
        drift.kind.moves(),
        drift.mired
    ))
}

/// The light that a cast amounts to.
fn light(balance: &BalanceRecord, cast: &Cast) -> String {
    let unknown = || {
        "Light: not known, since the camera's balance is not; mired are counted at 5500 K."
            .to_owned()
    };
    let Some(shot_at) = balance.kelvin else { return unknown() };
    let kelvin = |mired: f64| {
        let place = 1e6 / shot_at + mired;
        (25.0..1000.0).contains(&place).then(|| ((1e5 / place).round() * 10.0).round())
    };
    let [low, high] = cast.mired_interval;
    match (kelvin(cast.mired), kelvin(high), kelvin(low)) {
        (Some(about), Some(least), Some(most)) => format!(
            "Light: about {about} K ({least} to {most}, nine times in ten){}.",
            balanced_for(balance)
        ),
        (Some(about), ..) => format!("Light: about {about} K{}.", balanced_for(balance)),
        _ => "Light: beyond what has a colour temperature.".to_owned(),
    }
}

fn balanced_for(balance: &BalanceRecord) -> String {
    match (balance.kelvin, &balance.name) {
        (Some(kelvin), Some(name)) => {
            format!("; the camera was balanced for {kelvin:.0} K, {name}")
        }
        (Some(kelvin), None) => format!("; the camera was balanced for {kelvin:.0} K"),
        _ => String::new(),
    }
}

fn figures(what: &str, mired: f64, [low, high]: [f64; 2], duv: f64, duvs: [f64; 2]) -> String {
    format!(
        "{what}: {mired:+.0} mired ({low:+.0} to {high:+.0}, nine times in ten), Duv {duv:+.4} \
         ({:+.4} to {:+.4}); plus is orange and green, minus blue and magenta.",
        duvs[0], duvs[1]
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_as_a_clock_says_them() {
        let [from, to] = ["2026-05-14T09:01:11", "2026-05-14T10:39:36"];
        assert_eq!(from_to(from, to), "2026-05-14 09:01 to 10:39");
        assert_eq!(from_to(from, "2026-05-14T09:01:50"), "2026-05-14 09:01");
        assert_eq!(from_to(from, "2026-05-15T00:10:00"), "2026-05-14 09:01 to 2026-05-15 00:10");
        assert_eq!(to_the_minute("noon"), "noon");
    }
}
