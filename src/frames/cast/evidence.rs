//! What a frame says of its light: several views of it, each as weight on the plane of
//! log-chromaticities.

use crate::channels::{Channels, each};
use crate::frames::kept::kept;
use crate::frames::quantile::upper;
use crate::still::LinearFrame;

use super::edges::{Edges, smoothed};
use super::picture::{Picture, places};
use super::plane::Histogram;

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
    /// What a frame says. Clipped and black cells, flat borders and what is not opaque say nothing, and neither does a
    /// picture in black and white.
    #[must_use]
    pub fn of(frame: &LinearFrame) -> Self {
        const FINE: Edges = Edges { strongest: 0.5, by_strength: false };
        const COARSE: Edges = Edges { strongest: 0.1, by_strength: true };
        let picture = Picture::of(frame);
        if picture.is_grey() {
            return Self { views: std::array::from_fn(|_| Histogram::default()) };
        }
        let half = picture.halved();
        let eighth = half.halved().halved();
        let smooth = smoothed(&picture);
        let colours = Colours::of(&picture);
        let [plain, textured] = bright_areas(&picture, &smooth, &colours);
        let [brightest, nearly_brightest] = brightest(&colours, [0.001, 0.01]);
        Self {
            views: [
                FINE.histogram(&picture, &smooth),
                FINE.histogram(&half, &smoothed(&half)),
                COARSE.histogram(&eighth, &smoothed(&eighth)),
                plain,
                textured,
                brightest,
                nearly_brightest,
                brightest_cells(&colours),
                mean_of_order_six(&colours),
            ],
        }
    }
}

/// The colours of the good cells that are above the noise.
struct Colours {
    /// The cells' numbers.
    cells: Vec<u32>,
    channels: Channels,
    /// The sum of each one's channels.
    levels: Vec<f32>,
}

impl Colours {
    fn of(picture: &Picture) -> Self {
        let cells = picture.telling();
        let channels = picture.channels.each_ref().map(|channel| {
            cells.iter().map(|cell| channel.get(*cell as usize).copied().unwrap_or(1.0)).collect()
        });
        let levels = levels(&channels);
        Self { cells, channels, levels }
    }

    /// The numbers of this brightest part of them.
    fn upper(&self, part: f32) -> Vec<u32> {
        let [threshold] = upper(&self.levels, [part]);
        places(self.levels.iter().map(|level| *level >= threshold))
    }
}

/// The sum of each colour's channels.
fn levels(channels: &Channels) -> Vec<f32> {
    each(channels).map(|rgb| rgb.iter().sum()).collect()
}

/// The brighter third of the cells, those in plain surfaces and those in textured ones.
fn bright_areas(picture: &Picture, smooth: &Channels, colours: &Colours) -> [Histogram; 2] {
    const BRIGHT: f32 = 0.34;
    /// Change of brightness from a cell to the next, of the whole.
    const TEXTURE: f32 = 0.05;
    let levels = levels(smooth);
    let (columns, rows) = (picture.columns, picture.rows);
    let change = |at: usize| {
        let (row, column) = (at / columns, at % columns);
        let level = |row: usize, column: usize| levels[row * columns + column];
        let across =
            level(row, (column + 1).min(columns - 1)) - level(row, column.saturating_sub(1));
        let down = level((row + 1).min(rows - 1), column) - level(row.saturating_sub(1), column);
        0.5 * (across.abs() + down.abs()) / levels[at].max(f32::MIN_POSITIVE)
    };
    let bright = colours.upper(BRIGHT);
    let plain: Vec<bool> =
        bright.iter().map(|at| change(colours.cells[*at as usize] as usize) <= TEXTURE).collect();
    [true, false].map(|wanted| {
        let is_wanted: Vec<bool> = plain.iter().map(|is_plain| *is_plain == wanted).collect();
        let numbers = kept(bright.iter().copied(), &is_wanted);
        Histogram::of(&colours.channels, &numbers, |_| 1.0)
    })
}

/// A point each: the level that this part of the cells reach in each channel by itself.
fn brightest<const N: usize>(colours: &Colours, parts: [f32; N]) -> [Histogram; N] {
    let levels = colours.channels.each_ref().map(|channel| upper(channel, parts));
    std::array::from_fn(|part| point(levels.map(|channel| channel[part])))
}

/// The brightest thirtieth of the cells.
fn brightest_cells(colours: &Colours) -> Histogram {
    Histogram::of(&colours.channels, &colours.upper(0.03), |_| 1.0)
}

/// One point: between the mean and the brightest (shades of grey, Finlayson and Trezzi 2004).
fn mean_of_order_six(colours: &Colours) -> Histogram {
    let count = colours.cells.len();
    if count == 0 {
        return Histogram::default();
    }
    let mut sums = [0.0_f64; 3];
    for rgb in each(&colours.channels) {
        for (sum, value) in sums.iter_mut().zip(rgb) {
            *sum += f64::from(value).powi(6);
        }
    }
    point(sums.map(|sum| (sum / count as f64).powf(1.0 / 6.0) as f32))
}

fn point(colour: [f32; 3]) -> Histogram {
    let lit = colour.iter().all(|value| *value > 0.0);
    Histogram::of(&colour.map(|value| vec![value]), if lit { &[0] } else { &[] }, |_| 1.0)
}
