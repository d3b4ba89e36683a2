//! The card where the user says it is.

use super::find::{EDGE_STEPS, find};
use super::found::{Found, Stated};
use super::grid::Mask;
use super::options::Area;
use super::outline::Point;
use super::problem::Problem;
use super::sample::{FEWEST_SAMPLES, clipped_among};
use super::surfaces::{RIM, Scene};
use crate::still::LinearFrame;

/// Side of the smallest square, in cells, that leaves [`FEWEST_SAMPLES`] without its [`RIM`].
const LEAST_AREA_CELLS: u32 = FEWEST_SAMPLES.isqrt() as u32 + 1 + 2 * RIM as u32;

/// With so much of an area plain it is the card, less a mark or a thumb. Of less a card that lies in the area
/// may be what is meant, and the rest what it lies on.
const PLAIN: f64 = 0.9;
/// Less than this, marks and what is saturated counted in, is no card. Within 145 cards of all kinds it was 0.97.
const LEAST_PLAIN: f64 = 0.75;
/// So much of the one must lie within the other to be in it.
const WITHIN: f64 = 0.85;

/// The card in that area; or what is wrong with it.
pub(crate) fn stated_area(
    frame: &LinearFrame,
    scene: &Scene,
    area: Area,
) -> Result<Found, Problem> {
    let place = Place::of(frame, scene, area)?;
    let rectangle = &place.cells;
    let clipped = clipped_among(frame, rectangle);
    let share = |mask: &Mask| mask.count() as f64 / rectangle.count().max(1) as f64;
    let kept = |plain: &Mask| plain.union(&clipped).without_holes().intersection(rectangle);
    let mut plain = scene
        .surfaces(EDGE_STEPS[EDGE_STEPS.len() - 1], 1)
        .into_iter()
        .map(|surface| surface.intersection(rectangle))
        .max_by_key(Mask::count)
        .filter(|plain| plain.count() > 0)
        .unwrap_or_else(|| rectangle.clone());
    let mut whole = kept(&plain);
    if share(&plain.union(&clipped)) < PLAIN {
        // What a search finds there knows more: two halves in two lights, bands, a small card.
        let card = find(frame, scene).ok();
        let common = card.as_ref().map(|card| card.whole.intersection(rectangle));
        let seen = card.zip(common).filter(|(_, common)| common.count() > 0);
        if let Some((card, common)) = seen {
            if share(&common) > WITHIN {
                plain = plain.union(&card.plain.intersection(rectangle));
                whole = kept(&plain);
            } else if common.count() as f64 > WITHIN * card.whole.count() as f64 {
                let beyond = 1.0 - share(&common);
                let plain = card.plain.intersection(rectangle);
                return Ok(place.found(common, plain, card.corners, beyond));
            }
        }
    }
    if share(&whole) < LEAST_PLAIN {
        return Err(Problem::AreaNotPlain { plain: share(&whole) });
    }
    let beyond = 1.0 - share(&whole);
    Ok(place.found(whole, plain, place.corners, beyond))
}

/// Where an area lies in a frame.
struct Place {
    cells: Mask,
    corners: [Point; 4],
    is_cut: bool,
}

impl Place {
    fn of(frame: &LinearFrame, scene: &Scene, area: Area) -> Result<Self, Problem> {
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
        let cells =
            Mask::from_fn(columns, rows, |c, r| inside(c, left, right) && inside(r, top, bottom));
        if cells.eroded(RIM).count() < FEWEST_SAMPLES {
            let least = LEAST_AREA_CELLS * frame.cell;
            // Of a picture that is no larger itself no area can be named that would do.
            let may_be_named = picture.iter().all(|&side| least <= side);
            return Err(match may_be_named {
                true => Problem::AreaTooSmall { least },
                false => Problem::NotFound,
            });
        }
        let corners = [[left, top], [right, top], [right, bottom], [left, bottom]]
            .map(|[x, y]| [x.clamp(0.0, columns as f64), y.clamp(0.0, rows as f64)]);
        // A hand that types figures rounds them up.
        let is_beyond = |from: f64, length: f64, end: f64| from < 0.0 || from + length > end + 1.0;
        let is_cut = is_beyond(area.x, area.width, across) || is_beyond(area.y, area.height, down);
        Ok(Self { cells, corners, is_cut })
    }

    fn found(&self, whole: Mask, plain: Mask, corners: [Point; 4], beyond: f64) -> Found {
        let coverage = whole.count() as f64 / whole.len() as f64;
        let stated = Some(Stated { beyond, is_cut: self.is_cut });
        Found { whole, plain, corners, coverage, stated }
    }
}
