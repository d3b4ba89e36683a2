//! The mired scale: presets, the light and its interval, blue to the left and orange to the right.

use super::svg::{Anchor, CHARACTER, Svg};

/// What stands on a scale.
#[derive(Debug, Clone, Default)]
pub(super) struct Scale {
    lights: Vec<(String, f64, [f64; 2])>,
    presets: Vec<(String, f64)>,
}

const WIDTH: f64 = 420.0;
const LEFT: f64 = 14.0;
const ACROSS: f64 = WIDTH - 2.0 * LEFT;
const ROW: f64 = 15.0;

impl Scale {
    /// A light and its interval, mired.
    pub(super) fn light(&mut self, name: &str, mired: f64, interval: [f64; 2]) {
        self.lights.push((name.to_owned(), mired, interval));
    }

    pub(super) fn preset(&mut self, name: &str, mired: f64) {
        self.presets.push((name.to_owned(), mired));
    }

    pub(super) fn draw(&self, alternative: &str) -> String {
        let ends = self.lights.iter().flat_map(|(_, at, [low, high])| [*at, *low, *high]);
        let all = || ends.clone().chain(self.presets.iter().map(|(_, at)| *at));
        let low = all().fold(f64::INFINITY, f64::min);
        let high = all().fold(f64::NEG_INFINITY, f64::max);
        let room = ((high - low) * 0.06).max(12.0);
        let (low, high) = ((low - room).max(0.0), high + room);
        let at = |mired: f64| LEFT + (mired - low) / (high - low).max(1.0) * ACROSS;

        let mut svg = Svg::default();
        let lights_end = ROW * self.lights.len() as f64 + 4.0;
        let axis = lights_end + 26.0;
        // Above the axis the lights, each on a row with its interval.
        for (row, (name, mired, [from, to])) in self.lights.iter().enumerate() {
            let y = ROW * row as f64 + 12.0;
            let x = at(*mired);
            let [from, to] = [at(*from), at(*to)];
            svg.rect("interval", [from, y + 4.0], [(to - from).max(1.0), axis - y - 4.0]);
            svg.line("light", [x, y + 4.0], [x, axis + 5.0]);
            let anchor = if x > WIDTH / 2.0 { Anchor::End } else { Anchor::Start };
            let beside = if x > WIDTH / 2.0 { to.max(x) + 0.0 } else { from.min(x) };
            svg.text("label strong", [beside.clamp(2.0, WIDTH - 2.0), y], anchor, name);
        }
        svg.line("axis", [LEFT, axis], [LEFT + ACROSS, axis]);
        let step = [10.0, 20.0, 25.0, 50.0, 100.0]
            .into_iter()
            .find(|step| step / (high - low) * ACROSS >= 42.0)
            .unwrap_or(200.0);
        let mut tick = (low / step).ceil() * step;
        while tick <= high {
            svg.line("axis", [at(tick), axis], [at(tick), axis + 4.0]);
            svg.text("tick", [at(tick), axis + 16.0], Anchor::Middle, &format!("{tick:.0}"));
            tick += step;
        }
        // Below it the presets, on as many rows as keep their names apart.
        let mut rows: Vec<f64> = Vec::new();
        let mut presets = self.presets.clone();
        presets.sort_by(|a, b| a.1.total_cmp(&b.1));
        let top = axis + 30.0;
        for (name, mired) in &presets {
            let x = at(*mired);
            let half = name.chars().count() as f64 * CHARACTER / 2.0;
            let middle = x.clamp(half + 2.0, (WIDTH - half - 2.0).max(half + 2.0));
            let row = rows.iter().position(|end| *end < middle - half - 4.0).unwrap_or(rows.len());
            match rows.get_mut(row) {
                Some(end) => *end = middle + half,
                None => rows.push(middle + half),
            }
            let y = top + ROW * row as f64;
            svg.line("leader", [x, axis], [x, y - 1.0]);
            svg.polygon("preset", &[[x, axis - 1.0], [x - 3.5, axis - 8.0], [x + 3.5, axis - 8.0]]);
            svg.text("label haloed", [middle, y + 10.0], Anchor::Middle, name);
        }
        let bottom = top + ROW * rows.len() as f64 + 16.0;
        svg.text("axis-name", [LEFT, bottom], Anchor::Start, "← bluer");
        svg.text("axis-name", [WIDTH / 2.0, bottom], Anchor::Middle, "mired");
        svg.text("axis-name", [LEFT + ACROSS, bottom], Anchor::End, "more orange →");
        svg.picture("fig scale", [WIDTH, bottom + 6.0], alternative)
    }
}
