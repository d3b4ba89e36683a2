//! A bar for how far off something is, with its interval.

use super::svg::Svg;
use crate::balance::HARDLY_SHOWS_MIRED;

/// What a bar's two ends stand for, mired, the same for all bars that are to be compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reach(f64);

impl Reach {
    /// As far as the farthest of these, but within reason: what lies beyond has an arrow.
    pub(super) fn of(values: impl Iterator<Item = f64>) -> Self {
        const LEAST: f64 = 60.0;
        const MOST: f64 = 240.0;
        Self((values.map(f64::abs).fold(0.0, f64::max) * 1.08).clamp(LEAST, MOST))
    }
}

const WIDTH: f64 = 200.0;
const HEIGHT: f64 = 22.0;
const MIDDLE: f64 = WIDTH / 2.0;

/// The miss as a dot, its interval as a line with ends, the tolerance as a shade about 0.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bar {
    /// Mired; + is to the right.
    pub(super) mired: f64,
    pub(super) interval: Option<[f64; 2]>,
    /// Mired to either side of 0 that count as nothing.
    pub(super) tolerance: f64,
    pub(super) reach: Reach,
    /// Whether it is said to be off: the colour of the dot says the same.
    pub(super) is_off: bool,
}

impl Bar {
    /// Of a miss, which is off if it is beyond the tolerance.
    pub(super) fn of_miss(mired: f64, interval: Option<[f64; 2]>, reach: Reach) -> Self {
        let is_off = mired.abs() >= HARDLY_SHOWS_MIRED;
        Self { mired, interval, tolerance: HARDLY_SHOWS_MIRED, reach, is_off }
    }

    pub(super) fn draw(self, alternative: &str) -> String {
        let Self { mired, interval, tolerance, reach, is_off } = self;
        let at = |mired: f64| MIDDLE + mired / reach.0 * (MIDDLE - 8.0);
        let inside = |x: f64| x.clamp(4.0, WIDTH - 4.0);
        let mut svg = Svg::default();
        let y = HEIGHT / 2.0;
        let (from, to) = (inside(at(-tolerance)), inside(at(tolerance)));
        svg.rect("tolerance", [from, 3.0], [to - from, HEIGHT - 6.0]);
        svg.line("base", [4.0, y], [WIDTH - 4.0, y]);
        svg.line("zero", [MIDDLE, 1.0], [MIDDLE, HEIGHT - 1.0]);
        if let Some([low, high]) = interval {
            let (from, to) = (at(low), at(high));
            svg.line("whisker", [inside(from), y], [inside(to), y]);
            for (end, side) in [(from, 1.0), (to, -1.0)] {
                if inside(end) == end {
                    svg.line("whisker", [end, y - 5.0], [end, y + 5.0]);
                } else {
                    let x = inside(end);
                    svg.polyline(
                        "whisker",
                        &[[x + 5.0 * side, y - 4.0], [x, y], [x + 5.0 * side, y + 4.0]],
                    );
                }
            }
        }
        let class = if !is_off {
            "dot"
        } else if mired > 0.0 {
            "dot orange"
        } else {
            "dot blue"
        };
        svg.circle(class, [inside(at(mired)), y], 4.5);
        svg.picture("bar", [WIDTH, HEIGHT], alternative)
    }
}
