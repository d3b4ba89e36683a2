//! What values options may have.

use clap::{Args, ValueEnum};
use mirecast::card::Area;

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Text to read
    #[default]
    Text,
    /// One JSON object a line
    Json,
    /// A table for a spreadsheet
    Csv,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum LampKind {
    /// Any lamp or daylight
    #[default]
    Any,
    /// Smooth: tungsten, daylight, flash
    #[value(aliases = ["smooth", "tungsten", "halogen", "daylight", "flash"])]
    Continuous,
    /// With spikes: most fluorescent tubes, many LEDs
    #[value(alias = "fluorescent")]
    Spiky,
}

/// A card's CIE L*a*b*.
pub(crate) type CardLab = [f64; 3];

pub(crate) fn area(text: &str) -> Result<Area, String> {
    let usage = "write the left edge, the top edge, the width and the height in pixels, with \
                 commas between, as in 1200,800,900,600";
    let [x, y, width, height] = numbers(text).ok_or(usage)?;
    if x < 0.0 || y < 0.0 || width <= 0.0 || height <= 0.0 {
        return Err(format!("the edges cannot be below 0, nor the sizes 0; {usage}"));
    }
    Ok(Area { x, y, width, height })
}

pub(crate) fn lab(text: &str) -> Result<CardLab, String> {
    let usage = "write the card's L*, a* and b* with commas between, as in 95.2,-0.4,1.1";
    let [l, a, b] = numbers(text).ok_or(usage)?;
    // A card of less than a tenth of white's luminance or of a strong colour is no such card; most
    // likely the figures are something else.
    if !(38.0..=100.0).contains(&l) || a.abs() > 30.0 || b.abs() > 30.0 {
        return Err(format!("no white or grey card has such a colour; {usage}"));
    }
    Ok([l, a, b])
}

/// Exactly `N` finite numbers with commas between.
fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let numbers: Option<Vec<f64>> = text
        .split(',')
        .map(|part| part.trim().parse().ok().filter(|number: &f64| number.is_finite()))
        .collect();
    numbers?.try_into().ok()
}

/// What may happen to a file that is there already.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(crate) struct Existing {
    /// Write over files that are there already; never over pictures, proofs aside, or what is read
    /// in this run
    #[arg(long)]
    pub(crate) force: bool,
}
