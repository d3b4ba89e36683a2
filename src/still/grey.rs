//! Whether a picture holds any colour, or was shot or made black and white.

use super::sniff::PictureFormat;
use super::{Cell, LinearFrame};

/// Whether a linear colour has red, green and blue alike, to a ten-thousandth: no photograph of things is
/// as neutral as that everywhere.
pub(crate) fn is_neutral([red, green, blue]: [f32; 3]) -> bool {
    const NEUTRAL: f32 = 1e-4;
    (red - green).abs().max((blue - green).abs()) <= NEUTRAL * green.abs()
}

/// Whether a picture of three channels is black and white all the same: everything in it that is neither
/// clipped nor black is neutral, and a photograph in colour would not be, by its noise or by what is in it.
///
/// A file that rounds colour away proves nothing by a plain neutral surface. There more must be in the
/// picture than one surface.
pub(super) fn is_black_and_white(frame: &LinearFrame, format: PictureFormat) -> bool {
    let mut seen = false;
    for cell in frame.cells.iter().filter(|cell| tells(cell)) {
        if !is_neutral(cell.mean) {
            return false;
        }
        seen = true;
    }
    seen && (keeps_noise(frame, format) || has_contrast(frame))
}

fn tells(cell: &Cell) -> bool {
    cell.weight > 0.0 && cell.clipped < 0.5 && cell.black < 0.5
}

/// Whether the file would have kept the colour noise of a camera.
fn keeps_noise(frame: &LinearFrame, format: PictureFormat) -> bool {
    /// Levels of 8 bits: cameras' usual JPEGs have steps of an eighth to three eighths.
    const FINE: f32 = 0.4;
    match format {
        PictureFormat::Png | PictureFormat::Tiff => true,
        _ => frame.stored.as_ref().is_some_and(|stored| stored.steps.iter().all(|s| *s < FINE)),
    }
}

/// Whether there is more in the picture than one surface: light falls off by less.
fn has_contrast(frame: &LinearFrame) -> bool {
    const MORE_THAN_FALLOFF: f32 = 5.0;
    let cells = frame.cells.iter().filter(|cell| cell.weight > 0.0);
    let mut levels: Vec<f32> = cells.map(|cell| cell.mean[1]).collect();
    levels.sort_by(f32::total_cmp);
    let few = levels.len() / 50;
    match (levels.get(few), levels.iter().nth_back(few)) {
        (Some(dark), Some(bright)) => *bright > MORE_THAN_FALLOFF * dark,
        _ => false,
    }
}
