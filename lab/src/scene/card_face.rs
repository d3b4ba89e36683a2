//! What is on a white card's face.

use super::texture::{fractal, noise, smooth_step};
use super::vec3::{Vec3, vec3};

/// What is on the card's face besides paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marks {
    /// Nothing.
    Clean,
    /// Pencil, a printed heading and lines, a smear of clay.
    Written,
}

/// The card's face, as its pattern needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct CardFace {
    pub(super) corner: Vec3,
    pub(super) u: Vec3,
    pub(super) v: Vec3,
    pub(super) width: f32,
    pub(super) marks: Marks,
}

impl CardFace {
    /// Share of ink and the paper's own variation at a place.
    pub(super) fn at(&self, p: Vec3) -> (f32, f32) {
        let offset = p - self.corner;
        let (x, y) = (offset.dot(self.u) / self.width, offset.dot(self.v) / self.width);
        let paper = 1.0 + 0.012 * (fractal(vec3(x, y, 0.0) * 420.0, 2) - 0.5);
        match self.marks {
            Marks::Clean => (0.0, paper),
            Marks::Written => (written(x, y), paper),
        }
    }
}

/// Share of ink on a written card; x runs 0 to 1 and y 0 to 0.7.
fn written(x: f32, y: f32) -> f32 {
    let printed = print(x, y, (0.06, 0.605), 0.040, "WHITE CARD")
        .max(print(x, y, (0.06, 0.568), 0.017, "KEEP FLAT AND CLEAN. FILL THE FRAME WITH IT."))
        .max(print(x, y, (0.06, 0.540), 0.017, "HOLD IT WHERE THE LIGHT FALLS."));
    // A ruled patch of grey steps at the right.
    let step = ((x - 0.70) / 0.045).floor();
    let steps = if (0.0..5.0).contains(&step) && (0.585..0.645).contains(&y) {
        0.2 + 0.18 * step
    } else {
        0.0
    };
    // Pencil: an arrow and a note, scribbled.
    let wobble = 0.004 * (fractal(vec3(x * 30.0, y * 30.0, 2.0), 2) - 0.5);
    let line = |x0: f32, y0: f32, x1: f32, y1: f32| {
        let (dx, dy) = (x1 - x0, y1 - y0);
        let t = (((x - x0) * dx + (y - y0) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
        let distance = (x - x0 - t * dx).hypot(y - y0 - t * dy) + wobble;
        smooth_step(0.0034, 0.0012, distance)
    };
    let script = {
        let wave = 0.19
            + 0.014
                * ((x * 130.0).sin() + 0.7 * (x * 71.0).sin())
                * noise(vec3(x * 21.0, 3.0, 0.0));
        let on = (0.10..0.42).contains(&x) && noise(vec3(x * 17.0, 9.0, 0.0)) > 0.3;
        if on { smooth_step(0.0042, 0.0015, (y - wave).abs()) } else { 0.0 }
    };
    let pencil = line(0.78, 0.12, 0.60, 0.26)
        .max(line(0.60, 0.26, 0.635, 0.255))
        .max(line(0.60, 0.26, 0.615, 0.228))
        .max(script)
        * (0.55 + 0.3 * noise(vec3(x * 90.0, y * 90.0, 1.0)));
    // A smear of clay from a hand.
    let smear = {
        let (dx, dy) = ((x - 0.86) / 0.055, (y - 0.36) / 0.085);
        let ragged = fractal(vec3(x * 40.0, y * 12.0, 5.0), 3);
        smooth_step(1.0, 0.35, dx.hypot(dy)) * smooth_step(0.36, 0.62, ragged) * 0.6
    };
    printed.max(steps).max(pencil).max(smear)
}

/// Share of ink of a line of capitals `size` high whose first letter stands at `at`.
fn print(x: f32, y: f32, at: (f32, f32), size: f32, text: &str) -> f32 {
    let (column, row) = ((x - at.0) / (size * 0.86) * 6.0, (1.0 - (y - at.1) / size) * 7.0);
    if column < 0.0 || !(0.0..7.0).contains(&row) {
        return 0.0;
    }
    let (letter, inside) = ((column / 6.0) as usize, (column % 6.0) as usize);
    let Some(rows) = text.chars().nth(letter).map(glyph) else { return 0.0 };
    let bits = rows[row as usize];
    if inside < 5 && bits >> (4 - inside) & 1 == 1 { 1.0 } else { 0.0 }
}

/// A capital as seven rows of five dots, the leftmost dot the highest bit.
fn glyph(letter: char) -> [u8; 7] {
    match letter {
        'A' => [14, 17, 17, 31, 17, 17, 17],
        'C' => [14, 17, 16, 16, 16, 17, 14],
        'D' => [30, 17, 17, 17, 17, 17, 30],
        'E' => [31, 16, 16, 30, 16, 16, 31],
        'F' => [31, 16, 16, 30, 16, 16, 16],
        'G' => [14, 17, 16, 23, 17, 17, 14],
        'H' => [17, 17, 17, 31, 17, 17, 17],
        'I' => [14, 4, 4, 4, 4, 4, 14],
        'K' => [17, 18, 20, 24, 20, 18, 17],
        'L' => [16, 16, 16, 16, 16, 16, 31],
        'M' => [17, 27, 21, 21, 17, 17, 17],
        'N' => [17, 25, 21, 19, 17, 17, 17],
        'O' => [14, 17, 17, 17, 17, 17, 14],
        'P' => [30, 17, 17, 30, 16, 16, 16],
        'R' => [30, 17, 17, 30, 20, 18, 17],
        'S' => [15, 16, 16, 14, 1, 1, 30],
        'T' => [31, 4, 4, 4, 4, 4, 4],
        'W' => [17, 17, 17, 21, 21, 27, 17],
        '.' => [0, 0, 0, 0, 0, 12, 12],
        _ => [0; 7],
    }
}
