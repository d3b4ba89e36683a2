//! Which of a frame's plain surfaces is the card.

use super::banding::Banding;
use super::found::Found;
use super::grid::Mask;
use super::held::held;
use super::outline::{Outline, area};
use super::outshone::{Bright, Outshone, outshone};
use super::problem::Problem;
use super::sample::{Samples, Spots};
use super::surfaces::{Scene, outlined, parted_by_light, trimmed};
use crate::still::LinearFrame;

/// Edges, as steps on the encoded scale, at which surfaces are looked for: a faint one parts a
/// card from a background much like it, a coarse one does not break a card under mains banding.
pub(crate) const EDGE_STEPS: [f32; 3] = [0.012, 0.025, 0.05];

/// A card covers at least this much of the frame; a smaller one has too few pixels, and too
/// many things in a place are small, flat and four-sided.
const LEAST_COVERAGE: f64 = 0.04;

/// A card that covers less than this lies wholly within the frame, as one that somebody pointed
/// the camera at does.
const CUT_OFF_COVERAGE: f64 = 0.3;

/// A surface that leaves the frame on three sides, with one edge in the picture, is as likely
/// the sky, a wall or a table; it counts as a card only when it covers this much.
const LEAST_COVERAGE_OPEN: f64 = 0.75;

/// How many of the largest surfaces are tried, alone and in pairs.
const CANDIDATES: usize = 8;

/// Strong flicker in many bands breaks a card even at the coarsest of these. At this one it does not,
/// but all kinds of things pass for plain: only bands make what is found a card.
const BANDED_STEP: f32 = 0.12;

/// The card in a frame; or why there is none.
pub(crate) fn find(frame: &LinearFrame, scene: &Scene) -> Result<Found, Problem> {
    let is_blown = |Bright { share, cells }| Problem::Blown { share, place: cells.pixels(frame) };
    let blown = match among(frame, scene, &EDGE_STEPS) {
        Ok(found) => return Ok(found),
        Err(Nothing::Outshone { bright, blown: true }) => return Err(is_blown(bright)),
        Err(Nothing::Outshone { bright: Bright { share, cells }, .. }) => {
            return Err(Problem::Outshone { share, place: cells.pixels(frame) });
        }
        Err(Nothing::Seen { blown }) => blown,
    };
    let nothing = || blown.map_or(Problem::NotFound, is_blown);
    let found = among(frame, scene, &[BANDED_STEP]).map_err(|_| nothing())?;
    if scene.is_printed(&found.whole) {
        return Err(nothing());
    }
    let samples = Samples::of(frame, scene, &found, Spots::Mirror);
    Banding::of(&samples).map(|_| found).ok_or_else(nothing)
}

/// Why no surface is the card.
enum Nothing {
    /// Something brighter lies on what would be it.
    Outshone {
        /// What is brighter.
        bright: Bright,
        /// Whether that is saturated.
        blown: bool,
    },
    /// None is like one.
    Seen {
        /// A surface that has a card's shape, but is saturated: it is what somebody who looks at the picture
        /// would point to.
        blown: Option<Bright>,
    },
}

/// The card among the surfaces that edges of these steps part.
fn among(frame: &LinearFrame, scene: &Scene, steps: &[f32]) -> Result<Found, Nothing> {
    let least = (LEAST_COVERAGE * scene.encoded.len() as f64) as usize;
    let mut best: Option<Candidate> = None;
    let mut brighter_part: Option<Bright> = None;
    let mut blown_part: Option<Bright> = None;
    let mut blown: Option<Bright> = None;
    for &step in steps {
        let mut surfaces = scene.surfaces(step, least.max(1));
        surfaces.truncate(CANDIDATES);
        // Half a card in one of two lights is four-sided too; the whole is the better guess.
        let pairs = halves(scene, &surfaces);
        let trims: Vec<Mask> = surfaces.iter().filter_map(trimmed).collect();
        // Fingers may leave a rag of other things that touch it.
        let held: Vec<_> = surfaces
            .iter()
            .chain(&trims)
            .filter_map(|surface| Some((surface.clone(), held(surface)?)))
            .collect();
        let outlined = |plain: Mask| {
            let outlined = outlined(&plain)?;
            Some((plain, outlined, false))
        };
        let alone: Vec<_> = surfaces.into_iter().chain(trims).filter_map(outlined).collect();
        if best.is_none() {
            let such = alone.iter().filter_map(|(_, outlined, _)| blown_card(frame, outlined));
            blown = Bright::largest(such.chain(blown));
        }
        let seen_whole = alone.into_iter().chain(pairs.into_iter().filter_map(outlined));
        let held = held.into_iter().map(|(plain, outlined)| (plain, outlined, true));
        for (plain, outlined, is_held) in seen_whole.chain(held) {
            let Some((worth, found)) = judged(frame, plain, outlined) else { continue };
            let doubtful = match outshone(frame, scene, &found) {
                Outshone::Outright { bright, blown } => {
                    let part = if blown { &mut blown_part } else { &mut brighter_part };
                    *part = Bright::largest(part.iter().copied().chain([bright]));
                    continue;
                }
                Outshone::ByItsOwnColour => true,
                Outshone::No => is_held,
            };
            let candidate = Candidate { certain: !doubtful, worth, found };
            if best.as_ref().is_none_or(|best| candidate.beats(best)) {
                best = Some(candidate);
            }
        }
    }
    if let Some(best) = best {
        return Ok(best.found);
    }
    // Of two as large the one that is not saturated, which a search comes to last.
    let brightest = Bright::largest(blown_part.into_iter().chain(brighter_part));
    Err(match brightest {
        Some(bright) => Nothing::Outshone { bright, blown: brighter_part != Some(bright) },
        None => Nothing::Seen { blown },
    })
}

/// Surfaces that may be one card in two lights: two beside each other, and two with a strip between them that
/// goes with either.
fn halves(scene: &Scene, surfaces: &[Mask]) -> Vec<Mask> {
    let places = 0..surfaces.len();
    let pairs: Vec<([usize; 2], Mask)> = places
        .clone()
        .flat_map(|i| (i + 1..surfaces.len()).map(move |j| [i, j]))
        .filter_map(|[i, j]| Some(([i, j], parted_by_light(scene, &surfaces[i], &surfaces[j])?)))
        .collect();
    let beside = |strip: usize| pairs.iter().filter(move |(pair, _)| pair.contains(&strip));
    let mut whole: Vec<Mask> = places
        .flat_map(|strip| {
            let both: Vec<&Mask> = beside(strip).map(|(_, both)| both).collect();
            (0..both.len())
                .flat_map(|i| (i + 1..both.len()).map(move |j| [i, j]))
                .map(|[i, j]| both[i].union(both[j]))
                .collect::<Vec<_>>()
        })
        .collect();
    whole.extend(pairs.into_iter().map(|(_, both)| both));
    whole
}

/// A surface that has a card's shape and is saturated.
fn blown_card(frame: &LinearFrame, (whole, outline): &(Mask, Outline)) -> Option<Bright> {
    let bright = Bright::of(whole)?;
    let is_shaped = is_card_shaped(outline, bright.share, whole);
    (is_shaped && is_blown(frame, whole)).then_some(bright)
}

/// A surface that may be the card.
struct Candidate {
    /// One that is not stands back behind all that are.
    certain: bool,
    worth: f64,
    found: Found,
}

impl Candidate {
    fn beats(&self, other: &Self) -> bool {
        (self.certain, self.worth) > (other.certain, other.worth)
    }
}

/// A surface as a card, with what speaks for it; `None` for one that cannot be a card.
fn judged(
    frame: &LinearFrame,
    plain: Mask,
    (whole, outline): (Mask, Outline),
) -> Option<(f64, Found)> {
    let frame_area = whole.len() as f64;
    let coverage = whole.count() as f64 / frame_area;
    if coverage < LEAST_COVERAGE || !is_card_shaped(&outline, coverage, &whole) {
        return None;
    }
    let corners = outline.quadrilateral();
    let filled = plain.count() as f64 / whole.count() as f64;
    let small = coverage < CUT_OFF_COVERAGE;
    let brightness = brightness_against_rest(frame, &whole);
    let brightest_needed = if small { SMALL_BRIGHTNESS } else { BRIGHTNESS };
    if filled < LEAST_PLAIN || brightness < brightest_needed || (small && is_blown(frame, &whole)) {
        return None;
    }
    // A larger card is the better guess, so long as its shape is as good; one that runs into the
    // frame's border has likely taken something in that lies behind the card.
    let shape = outline.solidity * outline.straightness.min(1.0 / outline.straightness);
    let uncut = if coverage > 0.9 { 1.0 } else { 0.95_f64.powi(outline.borders_touched as i32) };
    // Among small surfaces the card is the bright one.
    let bright = if small { (brightness / 4.0).min(1.0).sqrt() } else { 1.0 };
    let worth = shape * uncut * bright * filled.sqrt() * coverage.powf(0.3);
    Some((worth, Found { whole, plain, corners, coverage, stated: None }))
}

/// Of what lies inside a card's outline at least this much is plain card: glare may take a good
/// part of it.
const LEAST_PLAIN: f64 = 0.55;

fn is_card_shaped(outline: &Outline, coverage: f64, whole: &Mask) -> bool {
    if outline.solidity < 0.93 || outline.straightness < 0.95 {
        return false;
    }
    if coverage > 0.9 {
        return true;
    }
    if outline.borders_touched > 0 && coverage < CUT_OFF_COVERAGE {
        return false;
    }
    if outline.free_sides <= 1 || (outline.free_sides == 2 && outline.borders_touched >= 3) {
        return coverage >= LEAST_COVERAGE_OPEN;
    }
    let (columns, rows) = (whole.columns(), whole.rows());
    let diagonal = (columns as f64).hypot(rows as f64);
    if outline.free_sides > 4 || outline.shortest_free_side(columns, rows) < 0.04 * diagonal {
        return false;
    }
    let four_sided = area(&outline.quadrilateral()) / area(&outline.corners) > 0.95;
    let (skew, aspect) = outline.skew_and_aspect();
    outline.borders_touched > 0 || (four_sided && skew < MOST_SKEW && aspect < MOST_ASPECT)
}

/// How far a card's corners depart from right angles when it is held towards the camera, degrees.
const MOST_SKEW: f64 = 22.0;

/// Longer side over shorter: cards and sheets of paper are not strips.
const MOST_ASPECT: f64 = 2.4;

/// A white card gives back more light than nearly everything lit alike. How much brighter than
/// the rest of the frame a card is at the least: one that covers much of the frame may hide all
/// that is dark, a small one does not.
const BRIGHTNESS: f64 = 0.9;
const SMALL_BRIGHTNESS: f64 = 1.3;

/// Whether most of a region is saturated in every channel. A small one is then a window or a lamp
/// as likely as a card.
fn is_blown(frame: &LinearFrame, whole: &Mask) -> bool {
    let blown = |index: usize| {
        let (column, row) = whole.place(index);
        frame
            .get(column as u32, row as u32)
            .is_some_and(|cell| cell.clipped_channels.iter().all(|&share| share > 0.5))
    };
    2 * whole.indices().filter(|&index| blown(index)).count() > whole.count()
}

/// Median level of the region over that of the rest of the frame.
fn brightness_against_rest(frame: &LinearFrame, whole: &Mask) -> f64 {
    let mut card = Vec::new();
    let mut rest = Vec::new();
    for index in 0..whole.len() {
        let (column, row) = whole.place(index);
        let Some(cell) = frame.get(column as u32, row as u32) else { continue };
        let level = cell.mean.iter().sum::<f32>();
        if whole.get(index) { card.push(level) } else { rest.push(level) }
    }
    match (median(&mut card), median(&mut rest)) {
        (Some(card), Some(rest)) => f64::from(card / rest.max(1e-6)),
        _ => f64::INFINITY,
    }
}

fn median(values: &mut [f32]) -> Option<f32> {
    let middle = values.len().checked_sub(1)? / 2;
    Some(*values.select_nth_unstable_by(middle, f32::total_cmp).1)
}
