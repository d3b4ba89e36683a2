//! Parts of frames: the same light on less of the scene.

use mirecast::still::LinearFrame;

use crate::Rng;

/// A part's sides, of the frame's.
const SIDES: [f64; 2] = [0.4, 0.8];

/// A rectangle of cells somewhere in the frame.
pub(super) fn crop(frame: &LinearFrame, rng: &mut Rng) -> LinearFrame {
    let mut side = |whole: u32| {
        let length = ((f64::from(whole) * rng.between(SIDES[0], SIDES[1])) as u32).max(1);
        let first = rng.between(0.0, f64::from(whole.saturating_sub(length) + 1)) as u32;
        first..(first + length).min(whole)
    };
    let (columns, rows) = (side(frame.columns), side(frame.rows));
    let cells = rows
        .clone()
        .flat_map(|row| columns.clone().filter_map(move |column| frame.get(column, row).copied()));
    let mut part = frame.clone();
    part.stored = None;
    (part.columns, part.rows) = (columns.len() as u32, rows.len() as u32);
    (part.width, part.height) = (part.columns * part.cell, part.rows * part.cell);
    part.cells = cells.collect();
    part
}
