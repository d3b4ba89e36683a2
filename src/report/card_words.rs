//! A card's reading in words and figures, for the text and for the page.

use super::words::{capitalised, signed};
use crate::balance::{BalanceSource, appearance, looks_in_a_sentence, preset_in_words};
use crate::card::{BalanceRecord, CardReading, CardRecord, Residual, Status};

/// Of a photo that could not be read.
pub(super) const UNREAD: &str = "could not be read";

/// How good a verdict is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Tone {
    Good,
    Fair,
    Bad,
}

pub(super) fn verdict_in_words(reading: &CardReading) -> (&'static str, Tone) {
    match reading.status {
        Status::Read if reading.card.problems.is_empty() => ("good to balance from", Tone::Good),
        Status::Read => ("can be balanced from; see the notes", Tone::Fair),
        Status::ResidualOnly => ("can be balanced from, but its light is unknown", Tone::Fair),
        Status::Refused => ("cannot be balanced from", Tone::Bad),
    }
}

pub(super) fn card_in_words(card: &CardRecord) -> String {
    let level = card.level.map(|level| {
        format!("brightest channel at {:.0} % of full scale", (level * 100.0).round())
    });
    // The note on a small card says how small.
    let coverage = (!card.problems.iter().any(|problem| problem.code == "small"))
        .then(|| format!("covers {:.0} % of the frame", (card.coverage * 100.0).round()));
    let parts: Vec<_> = coverage.into_iter().chain(level).collect();
    capitalised(&parts.join("; "))
}

pub(super) fn residual_in_words(residual: &Residual) -> String {
    let (Some(mired), Some(duv)) = (residual.mired, residual.duv) else {
        return "Came out in a colour so strong that no light explains it".to_owned();
    };
    let look = appearance(mired, duv);
    let figures = format!("{} mired and Duv {} from neutral", signed(mired, 0), signed(duv, 4));
    if look == "about right" {
        format!("Came out about neutral: {figures}")
    } else {
        format!("Came out {}: {figures}", looks_in_a_sentence(&look))
    }
}

pub(super) fn balance_in_words(balance: &BalanceRecord) -> String {
    let source = match balance.source {
        BalanceSource::Flag => "as you said",
        BalanceSource::Unknown => return "Unknown: the file does not record it".to_owned(),
        BalanceSource::Raw => "as the raw file records",
        BalanceSource::RawBeside => "as the raw file beside it records",
        BalanceSource::Xmp => "as its XMP data says",
        BalanceSource::Sidecar => "as the XMP file beside it says",
        _ => "as the camera recorded",
    };
    if let (None, Some(name)) = (balance.kelvin, &balance.name) {
        return capitalised(&format!("{name}, {source}; it is not among the presets"));
    }
    let figure = balance.kelvin.map(|figure| format!("{figure:.0} K"));
    let name = balance.name.as_deref().map(preset_in_words);
    let parts: Vec<_> = name.into_iter().chain(figure.map(Into::into)).collect();
    capitalised(&format!("{}, {source}", parts.join(", ")))
}
