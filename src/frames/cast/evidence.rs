//! What a frame says of its light: several views of it, each as weight on the plane of
//! log-chromaticities.

use crate::still::LinearFrame;

use super::edges::{Edges, smoothed};
use super::picture::Picture;
use super::plane::{Histogram, Place};
use super::quantile::upper;

/// The views, in the order of their templates.
pub const VIEWS: [&str; VIEW_COUNT] = [
    "fine edges",
    "middling edges",
    "coarse edges",
    "bright and plain",
    "bright and textured",
    "brightest of each channel",
    "nearly brightest",
    "brightest cells",
    "mean of order six",
];
/// How many there are.
pub const VIEW_COUNT: usize = 9;

/// The views of one frame. A view of which the frame has nothing is empty and no evidence.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    pub(super) views: [Histogram; VIEW_COUNT],
}

impl Evidence {
    /// What a frame says. Clipped and black cells, flat borders and what is not opaque say nothing.
    #[must_use]
    pub fn of(frame: &LinearFrame) -> Self {
        const FINE: Edges = Edges { strongest: 0.5, by_strength: false };
        const COARSE: Edges = Edges { strongest: 0.1, by_strength: true };
        let picture = Picture::of(frame);
        let half = picture.halved();
        let eighth = half.halved().halved();
        let [plain, textured] = bright_areas(&picture);
        Self {
            views: [
                FINE.histogram(&picture),
                FINE.histogram(&half),
                COARSE.histogram(&eighth),
                plain,
                textured,
                brightest(&picture, 0.001),
                brightest(&picture, 0.01),
                brightest_cells(&picture),
                mean_of_order_six(&picture),
            ],
        }
    }
}

/// The brighter third of the cells, those in plain surfaces and those in textured ones.
fn bright_areas(picture: &Picture) -> [Histogram; 2] {
    const BRIGHT: f32 = 0.34;
    /// Change of brightness from a cell to the next, of the whole.
    const TEXTURE: f32 = 0.05;
    let levels: Vec<f32> = smoothed(picture).iter().map(|rgb| rgb.iter().sum()).collect();
    let mut bright: Vec<_> =
        picture.colours().map(|(at, rgb)| (at, rgb, rgb.iter().sum::<f32>())).collect();
    let threshold = upper(&mut bright, BRIGHT, |cell| cell.2);
    let (columns, rows) = (picture.columns, picture.rows);
    let change = |at: usize| {
        let (row, column) = (at / columns, at % columns);
        let level = |row: usize, column: usize| levels[row * columns + column];
        let across =
            level(row, (column + 1).min(columns - 1)) - level(row, column.saturating_sub(1));
        let down = level((row + 1).min(rows - 1), column) - level(row.saturating_sub(1), column);
        0.5 * (across.abs() + down.abs()) / levels[at].max(f32::MIN_POSITIVE)
    };
    let [mut plain, mut textured] = [Histogram::default(), Histogram::default()];
    for (at, rgb, _) in bright.iter().filter(|cell| cell.2 >= threshold) {
        let histogram = if change(*at) <= TEXTURE { &mut plain } else { &mut textured };
        histogram.add(Place::of(*rgb), 1.0);
    }
    [plain, textured]
}

/// One point: the level that this part of the cells reach in each channel by itself.
fn brightest(picture: &Picture, part: f32) -> Histogram {
    let mut cells: Vec<_> = picture.colours().map(|(_, rgb)| rgb).collect();
    point(std::array::from_fn(|channel| upper(&mut cells, part, |rgb| rgb[channel])))
}

/// The brightest thirtieth of the cells.
fn brightest_cells(picture: &Picture) -> Histogram {
    let mut cells: Vec<_> = picture.colours().map(|(_, rgb)| (rgb, rgb.iter().sum())).collect();
    let threshold = upper(&mut cells, 0.03, |cell: &([f32; 3], f32)| cell.1);
    let mut histogram = Histogram::default();
    for (rgb, _) in cells.iter().filter(|cell| cell.1 >= threshold) {
        histogram.add(Place::of(*rgb), 1.0);
    }
    histogram
}

/// One point: between the mean and the brightest (shades of grey, Finlayson and Trezzi 2004).
fn mean_of_order_six(picture: &Picture) -> Histogram {
    let mut sums = [0.0_f64; 3];
    let mut count = 0.0;
    for (_, rgb) in picture.colours() {
        count += 1.0;
        for (sum, value) in sums.iter_mut().zip(rgb) {
            *sum += f64::from(value).powi(6);
        }
    }
    if count == 0.0 {
        return Histogram::default();
    }
    point(sums.map(|sum| (sum / count).powf(1.0 / 6.0) as f32))
}

fn point(rgb: [f32; 3]) -> Histogram {
    let mut histogram = Histogram::default();
    if rgb.iter().all(|value| *value > 0.0) {
        histogram.add(Place::of(rgb), 1.0);
    }
    histogram
}
