//! The chromaticity diagram: CIE 1976 u′v′ with the Planckian and the daylight locus.

use super::labels::Labels;
use super::svg::{Anchor, Hex, Svg};
use super::swatch::hex;
use crate::balance::{White, neutral_in_srgb};
use crate::card::LightReading;
use crate::colour::{CctDuv, Duv, Kelvin, Mired, UvPrime, daylight};

/// What is drawn on the diagram.
#[derive(Debug, Clone, Default)]
pub(super) struct Diagram {
    lights: Vec<(String, LightReading)>,
    marks: Vec<(Mark, String, UvPrime)>,
    paths: Vec<(Path, UvPrime, UvPrime)>,
}

/// A place that is no measured light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mark {
    /// A preset.
    Preset,
    /// What the camera is or could be set to.
    Balance,
    /// A gelled source.
    Gelled,
}

/// A way from one place to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Path {
    /// How far one light is from another.
    Shift,
    /// What a gel does to a light.
    Gel,
}

const SIZE: [f64; 2] = [420.0, 372.0];
const PLOT_AT: [f64; 2] = [44.0, 8.0];
const PLOT: [f64; 2] = [370.0, 322.0];

/// Lines of equal temperature, kelvin.
const EQUAL_KELVIN: [f64; 15] = [
    1500.0, 2000.0, 2500.0, 3000.0, 3500.0, 4000.0, 4500.0, 5000.0, 6000.0, 7000.0, 8000.0,
    10_000.0, 15_000.0, 20_000.0, 40_000.0,
];
/// How far they reach to either side, Duv.
const EQUAL_REACH: f64 = 0.02;

impl Diagram {
    pub(super) fn light(&mut self, name: &str, light: &LightReading) {
        self.lights.push((name.to_owned(), *light));
    }

    pub(super) fn mark(&mut self, mark: Mark, name: &str, kelvin: f64, duv: f64) {
        if let Some(place) = place(1e6 / kelvin, duv) {
            self.marks.push((mark, name.to_owned(), place));
        }
    }

    /// From and to are mired and Duv.
    pub(super) fn path(&mut self, path: Path, from: [f64; 2], to: [f64; 2]) {
        if let Some((from, to)) = place(from[0], from[1]).zip(place(to[0], to[1])) {
            self.paths.push((path, from, to));
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.lights.is_empty() && self.marks.is_empty()
    }

    /// The drawing; `alternative` says what it shows.
    pub(super) fn draw(&self, alternative: &str) -> String {
        let view = View::around(self.places());
        let mut outer = Svg::default();
        let mut plot = Svg::default();
        view.grid(&mut plot, &mut outer);
        let mut labels = Labels::within(PLOT);
        ribbon(&view, &mut plot);
        equal_temperatures(&view, &mut plot, &mut labels);
        loci(&view, &mut plot);
        for (_, light) in &self.lights {
            plot.polygon("interval", &view.all(&region(light)));
        }
        for (path, from, to) in &self.paths {
            arrow(*path, view.at(*from), view.at(*to), &mut plot);
        }
        // Dots before any label, so that labels keep clear of all of them.
        let dots = self.lights.iter().filter_map(|(_, light)| place(light.mired, light.duv));
        let dots: Vec<_> = dots.chain(self.marks.iter().map(|(.., place)| *place)).collect();
        dots.iter().for_each(|dot| labels.keep_clear(view.at(*dot)));
        for (_, from, to) in &self.paths {
            let [from, to] = [from, to].map(|end| view.at(*end));
            along(from, to).for_each(|place| labels.avoid(place));
        }
        for (mark, name, at) in &self.marks {
            let at = view.at(*at);
            match mark {
                Mark::Preset => plot.rect("preset", [at[0] - 3.0, at[1] - 3.0], [6.0, 6.0]),
                Mark::Balance => {
                    plot.line("balance", [at[0] - 6.0, at[1]], [at[0] + 6.0, at[1]]);
                    plot.line("balance", [at[0], at[1] - 6.0], [at[0], at[1] + 6.0]);
                }
                Mark::Gelled => plot.circle("gelled", at, 4.0),
            }
            labels.beside(&mut plot, "label", at, name);
        }
        for (name, light) in &self.lights {
            let Some(at) = place(light.mired, light.duv) else { continue };
            let at = view.at(at);
            plot.circle("light", at, 4.5);
            labels.beside(&mut plot, "label strong", at, name);
        }
        outer.nested(PLOT_AT, PLOT, &plot);
        outer.rect("frame", PLOT_AT, PLOT);
        outer.picture("fig uv", SIZE, alternative)
    }

    /// Everything that the view must hold.
    fn places(&self) -> Vec<UvPrime> {
        let mut places: Vec<UvPrime> = self.marks.iter().map(|(.., place)| *place).collect();
        places.extend(self.paths.iter().flat_map(|(_, from, to)| [*from, *to]));
        places.extend(self.lights.iter().flat_map(|(_, light)| region(light)));
        places
    }
}

/// Places along an arrow, so near each other that no label fits between.
fn along(from: [f64; 2], to: [f64; 2]) -> impl Iterator<Item = [f64; 2]> {
    const APART: f64 = 8.0;
    let length = (to[0] - from[0]).hypot(to[1] - from[1]);
    let steps = (length / APART).clamp(1.0, 200.0).ceil();
    (1..steps as u32).map(move |step| {
        let part = f64::from(step) / steps;
        [0, 1].map(|i| from[i] + (to[i] - from[i]) * part)
    })
}

/// `None` outside of what has a temperature.
fn place(mired: f64, duv: f64) -> Option<UvPrime> {
    let cct = Mired::new(mired).ok()?.kelvin();
    Some(CctDuv::new(cct, Duv::new(duv)).ok()?.to_uv().to_uv_prime())
}

/// The nearest that has a temperature.
fn clamped(mired: f64, duv: f64) -> Option<UvPrime> {
    place(mired.clamp(25.0, 1000.0), duv.clamp(-0.05, 0.05))
}

/// The outline of what mired and Duv lie in with their intervals.
fn region(light: &LightReading) -> Vec<UvPrime> {
    const STEPS: i32 = 12;
    let [low, high] = light.mired_interval;
    let [below, above] = light.duv_interval;
    let along = |step: i32| low + (high - low) * f64::from(step) / f64::from(STEPS);
    let upper = (0..=STEPS).filter_map(|step| clamped(along(step), above));
    let lower = (0..=STEPS).rev().filter_map(|step| clamped(along(step), below));
    upper.chain(lower).collect()
}

/// What part of the diagram is shown, and how large.
struct View {
    /// u′ at the left and v′ at the bottom.
    origin: [f64; 2],
    /// Units of the drawing to one of u′ or v′: equal on both axes.
    scale: f64,
}

impl View {
    fn around(places: Vec<UvPrime>) -> Self {
        /// No closer than this, or a sure light would fill the drawing.
        const LEAST: [f64; 2] = [0.05, 0.044];
        let bounds = |of: fn(&UvPrime) -> f64, least: f64| {
            let values = || places.iter().map(of).filter(|value| value.is_finite());
            let low = values().fold(f64::INFINITY, f64::min);
            let high = values().fold(f64::NEG_INFINITY, f64::max);
            if low > high {
                return (0.21, least * 2.0);
            }
            (f64::midpoint(low, high), ((high - low) * 1.34).max(least))
        };
        let (u, across) = bounds(|place| place.u, LEAST[0]);
        let (v, up) = bounds(|place| place.v, LEAST[1]);
        let scale = (PLOT[0] / across).min(PLOT[1] / up);
        Self { origin: [u - PLOT[0] / scale / 2.0, v - PLOT[1] / scale / 2.0], scale }
    }

    fn at(&self, place: UvPrime) -> [f64; 2] {
        let [left, bottom] = self.origin;
        [(place.u - left) * self.scale, PLOT[1] - (place.v - bottom) * self.scale]
    }

    fn all(&self, places: &[UvPrime]) -> Vec<[f64; 2]> {
        places.iter().map(|place| self.at(*place)).collect()
    }

    fn grid(&self, plot: &mut Svg, outer: &mut Svg) {
        let step = [0.005, 0.01, 0.02, 0.05, 0.1, 0.2]
            .into_iter()
            .find(|step| step * self.scale >= 44.0)
            .unwrap_or(0.5);
        let decimals = if step < 0.01 { 3 } else { 2 };
        let ticks = |from: f64, length: f64| {
            let first = (from / step).ceil() as i64;
            let last = ((from + length / self.scale) / step).floor() as i64;
            (first..=last).map(move |tick| tick as f64 * step)
        };
        for u in ticks(self.origin[0], PLOT[0]) {
            let x = (u - self.origin[0]) * self.scale;
            plot.line("grid", [x, 0.0], [x, PLOT[1]]);
            let at = [PLOT_AT[0] + x, PLOT_AT[1] + PLOT[1] + 15.0];
            outer.text("tick", at, Anchor::Middle, &format!("{u:.decimals$}"));
        }
        for v in ticks(self.origin[1], PLOT[1]) {
            let y = PLOT[1] - (v - self.origin[1]) * self.scale;
            plot.line("grid", [0.0, y], [PLOT[0], y]);
            let at = [PLOT_AT[0] - 6.0, PLOT_AT[1] + y + 4.0];
            outer.text("tick", at, Anchor::End, &format!("{v:.decimals$}"));
        }
        let below = PLOT_AT[1] + PLOT[1] + 31.0;
        outer.text("axis", [PLOT_AT[0] + PLOT[0], below], Anchor::End, "u′ →  CIE 1976");
        outer.text("axis", [PLOT_AT[0], below], Anchor::Start, "↑ v′");
    }

    fn shows(&self, [x, y]: [f64; 2]) -> bool {
        (0.0..=PLOT[0]).contains(&x) && (0.0..=PLOT[1]).contains(&y)
    }
}

/// The Planckian locus as a ribbon in the colours of its lights, as daylight balance shows them.
fn ribbon(view: &View, plot: &mut Svg) {
    let mut mired = 25.0;
    while mired < 700.0 {
        let next = mired + 12.0;
        let ends = [mired, next + 1.0].map(|mired| place(mired, 0.0).map(|at| view.at(at)));
        if let ([Some(from), Some(to)], Some(colour)) = (ends, colour_of(mired + 6.0))
            && (view.shows(from) || view.shows(to))
        {
            plot.coloured_line("ribbon", colour, &[from, to]);
        }
        mired = next;
    }
}

fn colour_of(mired: f64) -> Option<Hex> {
    let light = White::new(Mired::new(mired).ok()?.kelvin(), Duv::new(0.0)).ok()?;
    let balance = White::PHOTOGRAPHIC_DAYLIGHT;
    Some(hex(neutral_in_srgb(light, balance), 0.8))
}

fn loci(view: &View, plot: &mut Svg) {
    let planckian = (25..=1000).step_by(5).filter_map(|mired| place(f64::from(mired), 0.0));
    plot.polyline("planckian", &view.all(&planckian.collect::<Vec<_>>()));
    let daylight = (40..=250).step_by(5).filter_map(|mired| {
        let kelvin = Kelvin::new(1e6 / f64::from(mired)).ok()?;
        Some(daylight::xy(kelvin).ok()?.to_uv_prime())
    });
    plot.polyline("daylight", &view.all(&daylight.collect::<Vec<_>>()));
}

fn equal_temperatures(view: &View, plot: &mut Svg, labels: &mut Labels) {
    for kelvin in EQUAL_KELVIN {
        let at = |duv: f64| place(1e6 / kelvin, duv).map(|at| view.at(at));
        let (Some(low), Some(foot), Some(high)) = (at(-EQUAL_REACH), at(0.0), at(EQUAL_REACH))
        else {
            continue;
        };
        plot.line("equal", low, high);
        if !view.shows(foot) {
            continue;
        }
        // At the green end, where nothing else stands; nearer if that lies outside.
        let ends = [0.02, 0.017, 0.014, 0.011, 0.008].into_iter().filter_map(at);
        let mut ends = ends.filter(|[x, y]| (22.0..PLOT[0] - 22.0).contains(x) && *y > 12.0);
        if let Some([x, y]) = ends.next() {
            labels.centred(plot, "tick", [x, y - 4.0], &format!("{kelvin:.0} K"));
        }
    }
}

fn arrow(path: Path, from: [f64; 2], to: [f64; 2], plot: &mut Svg) {
    let class = match path {
        Path::Shift => "shift",
        Path::Gel => "gel",
    };
    let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    let length = dx.hypot(dy);
    if length < 1.0 {
        return;
    }
    let [dx, dy] = [dx / length, dy / length];
    // Up to the dot, not under it.
    let tip = if length > 20.0 { [to[0] - 6.0 * dx, to[1] - 6.0 * dy] } else { to };
    let wing =
        |side: f64| [tip[0] - 9.0 * dx - side * 4.0 * dy, tip[1] - 9.0 * dy + side * 4.0 * dx];
    plot.line(class, from, tip);
    plot.polygon(&format!("{class} tip"), &[tip, wing(1.0), wing(-1.0)]);
}
