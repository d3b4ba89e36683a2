//! The card where the user says it is.

use super::find::EDGE_STEPS;
use super::found::Found;
use super::grid::Mask;
use super::options::Area;
use super::problem::Problem;
use super::sample::FEWEST_SAMPLES;
use super::surfaces::{RIM, Scene};
use crate::still::LinearFrame;

/// Side of the smallest square, in cells, that leaves [`FEWEST_SAMPLES`] without its [`RIM`].
const LEAST_AREA_CELLS: u32 = FEWEST_SAMPLES.isqrt() as u32 + 1 + 2 * RIM as u32;

/// The card in that area; or what is wrong with it.
pub(crate) fn stated_area(
    frame: &LinearFrame,
    scene: &Scene,
    area: Area,
) -> Result<Found, Problem> {
    let picture = [frame.width, frame.height];
    let [across, down] = picture.map(f64::from);
    let overlaps = |from: f64, length: f64, end: f64| from < end && from + length > 0.0;
    if !overlaps(area.x, area.width, across) || !overlaps(area.y, area.height, down) {
        return Err(Problem::AreaOutside { area, picture });
    }
    let (columns, rows) = (scene.encoded.columns(), scene.encoded.rows());
    let cell = f64::from(frame.cell);
    let (left, right) = (area.x / cell, (area.x + area.width) / cell);
    let (top, bottom) = (area.y / cell, (area.y + area.height) / cell);
    let inside = |at: usize, from: f64, to: f64| (from..to).contains(&(at as f64 + 0.5));
    let whole =
        Mask::from_fn(columns, rows, |c, r| inside(c, left, right) && inside(r, top, bottom));
    if whole.eroded(RIM).count() < FEWEST_SAMPLES {
        let least = LEAST_AREA_CELLS * frame.cell;
        // Of a picture that is no larger itself no area can be named that would do.
        let may_be_named = picture.iter().all(|&side| least <= side);
        return Err(match may_be_named {
            true => Problem::AreaTooSmall { least },
            false => Problem::NotFound,
        });
    }
    let plain = scene
        .surfaces(EDGE_STEPS[EDGE_STEPS.len() - 1], 1)
        .into_iter()
        .map(|surface| surface.intersection(&whole))
        .max_by_key(Mask::count)
        .filter(|plain| plain.count() > 0)
        .unwrap_or_else(|| whole.clone());
    let coverage = whole.count() as f64 / whole.len() as f64;
    let corners = [[left, top], [right, top], [right, bottom], [left, bottom]]
        .map(|[x, y]| [x.clamp(0.0, columns as f64), y.clamp(0.0, rows as f64)]);
    Ok(Found { whole, plain, corners, coverage })
}
