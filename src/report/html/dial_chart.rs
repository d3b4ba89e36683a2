//! A bracket of settings: how the card came out at each, and where it would be neutral.

use super::svg::{Anchor, Svg};
use super::ticks::ticks;
use crate::report::words::kelvin;
use crate::setups::NeutralAt;

const SIZE: [f64; 2] = [420.0, 320.0];
const PLOT_AT: [f64; 2] = [48.0, 10.0];
const PLOT: [f64; 2] = [362.0, 256.0];

/// `points` are settings and residuals in mired, in the order of the photos. Higher kelvin stands
/// to the right.
pub(super) fn draw(points: &[[f64; 2]], neutral: Option<&NeutralAt>, alternative: &str) -> String {
    let settings = || {
        let at = neutral.iter().map(|neutral| neutral.mired);
        points.iter().map(|[setting, _]| *setting).chain(at)
    };
    let (low, high) =
        (settings().fold(f64::INFINITY, f64::min), settings().fold(f64::NEG_INFINITY, f64::max));
    let room = ((high - low) * 0.12).max(4.0);
    let (low, high) = (low - room, high + room);
    let most = points.iter().map(|[_, off]| off.abs()).fold(8.0, f64::max) * 1.25;
    let at = |[setting, off]: [f64; 2]| {
        [(high - setting) / (high - low).max(1.0) * PLOT[0], PLOT[1] / 2.0 * (1.0 - off / most)]
    };

    let mut outer = Svg::default();
    let mut plot = Svg::default();
    let every = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0]
        .into_iter()
        .find(|every| most / every <= 5.0)
        .unwrap_or(200.0);
    for (class, off, text) in ticks(most, every) {
        let [_, y] = at([high, off]);
        plot.line(class, [0.0, y], [PLOT[0], y]);
        let place = [PLOT_AT[0] - 6.0, PLOT_AT[1] + y + 4.0];
        outer.text("tick", place, Anchor::End, &text);
    }
    if let Some(neutral) = neutral {
        let [from, to] = neutral.mired_interval;
        let [[left, _], [right, _]] = [at([to, 0.0]), at([from, 0.0])];
        plot.rect("interval", [left, 0.0], [(right - left).max(1.5), PLOT[1]]);
        plot.polyline("fitted", &neutral.line.iter().map(|point| at(*point)).collect::<Vec<_>>());
    }
    let mut taken: Vec<f64> = Vec::new();
    for point in points {
        let [x, y] = at(*point);
        plot.circle(if point[1] > 0.0 { "dot orange" } else { "dot blue" }, [x, y], 5.0);
        if taken.iter().all(|other| (other - x).abs() > 44.0) {
            taken.push(x);
            let place = [PLOT_AT[0] + x, PLOT_AT[1] + PLOT[1] + 16.0];
            outer.line("axis", [place[0], place[1] - 16.0], [place[0], place[1] - 11.0]);
            outer.text("tick", place, Anchor::Middle, &format!("{:.0} K", 1e6 / point[0]));
        }
    }
    if let Some(neutral) = neutral {
        let [x, y] = at([neutral.mired, 0.0]);
        plot.line("balance", [x - 7.0, y], [x + 7.0, y]);
        plot.line("balance", [x, y - 7.0], [x, y + 7.0]);
        let (anchor, x) =
            if x > PLOT[0] / 2.0 { (Anchor::End, x - 12.0) } else { (Anchor::Start, x + 12.0) };
        let text = format!("neutral at {} K", kelvin(neutral.kelvin));
        let below = if anchor == Anchor::Start { y + 20.0 } else { y - 12.0 };
        plot.text("label strong haloed", [x, below], anchor, &text);
    }
    outer.nested(PLOT_AT, PLOT, &plot);
    outer.rect("frame", PLOT_AT, PLOT);
    let below = PLOT_AT[1] + PLOT[1] + 36.0;
    outer.text("axis-name", [PLOT_AT[0], below], Anchor::Start, "↑ residual, mired");
    outer.text("axis-name", [PLOT_AT[0] + PLOT[0], below], Anchor::End, "setting →");
    outer.picture("fig dial", SIZE, alternative)
}
