//! The colours of edges: what two neighbouring cells differ by. Where one surface is lit brighter
//! than the next bit of it, that difference has the colour of the light on it, and the same object
//! counts by its outline, not its area (grey-edge, van de Weijer and others 2007).

use std::num::NonZero;
use std::ops::Range;

use super::picture::{Picture, places};
use super::plane::Histogram;
use crate::channels::Channels;
use crate::frames::quantile::{at_rank, rank};

/// Differences below this are rounding.
const LEAST: f32 = 1e-5;

/// How the edges of a picture are turned into weight.
pub(super) struct Edges {
    /// The part of the edges that counts: the strongest.
    pub strongest: f32,
    /// Whether stronger edges weigh more, in proportion, or all the same.
    pub by_strength: bool,
}

impl Edges {
    /// The colours of a picture's edges; `smooth` is the picture [`smoothed`].
    pub(super) fn histogram(&self, picture: &Picture, smooth: &Channels) -> Histogram {
        let Differences { colours, strengths } = Differences::of(picture, smooth);
        let none: u32 = strengths.iter().map(|strength| u32::from(*strength == NO_EDGE)).sum();
        let Some(edges) = NonZero::new(strengths.len() - none as usize) else {
            return Histogram::default();
        };
        let threshold = at_rank(&strengths, none as usize + rank(edges, self.strongest));
        let strongest = places(strengths.iter().map(|strength| *strength >= threshold));
        match self.by_strength {
            true => Histogram::of(&colours, &strongest, |at| strengths[at]),
            false => Histogram::of(&colours, &strongest, |_| 1.0),
        }
    }
}

/// The strength of what is no edge.
const NO_EDGE: f32 = -1.0;

/// The differences between neighbours of the lightly smoothed picture. Those that go the same way in all channels
/// are edges: others are between two paints, and tell nothing of the light.
struct Differences {
    colours: Channels,
    /// How strong an edge each one is.
    strengths: Vec<f32>,
}

impl Differences {
    fn of(picture: &Picture, smooth: &Channels) -> Self {
        let (columns, cells) = (picture.columns, picture.good.len());
        // One each to the right and downward.
        let room = || Vec::with_capacity(2 * cells);
        let mut all = Self { colours: [room(), room(), room()], strengths: room() };
        if columns == 0 {
            return all;
        }
        let good = shrunk(picture);
        for row in (0..cells).step_by(columns) {
            let end = row + columns;
            all.add(smooth, &good, row..end - 1, row + 1..end);
            if end < cells {
                all.add(smooth, &good, row..end, end..end + columns);
            }
        }
        all
    }

    /// Adds the differences from some cells to as many others.
    fn add(&mut self, smooth: &Channels, good: &[bool], from: Range<usize>, to: Range<usize>) {
        let first = self.strengths.len();
        for (differences, channel) in self.colours.iter_mut().zip(smooth) {
            let steps = channel[from.clone()].iter().zip(&channel[to.clone()]);
            differences.extend(steps.map(|(from, to)| to - from));
        }
        let [red, green, blue] = self.colours.each_mut().map(|channel| &mut channel[first..]);
        let steps = red.iter().zip(&*green).zip(&*blue);
        let good = good[from].iter().zip(&good[to]);
        self.strengths.extend(steps.zip(good).map(|(((red, green), blue), (from, to))| {
            let rises = (*red > LEAST) & (*green > LEAST) & (*blue > LEAST);
            let falls = (*red < -LEAST) & (*green < -LEAST) & (*blue < -LEAST);
            let strength = red.abs() + green.abs() + blue.abs();
            if from & to & (rises | falls) { strength } else { NO_EDGE }
        }));
        for channel in [red, green, blue] {
            channel.iter_mut().for_each(|value| *value = value.abs());
        }
    }
}

/// Binomial smoothing, ¼ ½ ¼ along both axes; beyond its edge the picture goes on as it ends.
pub(super) fn smoothed(picture: &Picture) -> Channels {
    let (columns, rows) = (picture.columns, picture.rows);
    let smooth = |channel: &Vec<f32>| {
        let line = |row: usize| &channel[row * columns..(row + 1) * columns];
        let mut smooth = vec![0.0; columns * rows];
        let mut upright = vec![0.0; columns];
        for (row, smooth) in smooth.chunks_exact_mut(columns.max(1)).enumerate() {
            let (above, below) = (line(row.saturating_sub(1)), line((row + 1).min(rows - 1)));
            let across = above.iter().zip(line(row)).zip(below);
            for (value, ((above, here), below)) in upright.iter_mut().zip(across) {
                *value = blend(*above, *here, *below);
            }
            for (value, beside) in smooth[1..].iter_mut().zip(upright.windows(3)) {
                *value = blend(beside[0], beside[1], beside[2]);
            }
            let ends = [upright.first_chunk::<2>(), upright.last_chunk::<2>()];
            if let [Some([first, second]), Some([last_but_one, last])] = ends {
                smooth[0] = blend(*first, *first, *second);
                smooth[columns - 1] = blend(*last_but_one, *last, *last);
            } else {
                smooth.copy_from_slice(&upright);
            }
        }
        smooth
    };
    picture.channels.each_ref().map(smooth)
}

fn blend(before: f32, here: f32, after: f32) -> f32 {
    0.25 * (before + 2.0 * here + after)
}

/// Which cells are good with all their neighbours: smoothing has mixed those in.
fn shrunk(picture: &Picture) -> Vec<bool> {
    let (columns, good) = (picture.columns, &picture.good);
    let mut across = good.clone();
    let lines = across.chunks_exact_mut(columns.max(1)).zip(good.chunks_exact(columns.max(1)));
    for (across, good) in lines {
        and(&mut across[1..], good);
        and(across, &good[1..]);
    }
    let mut both = across.clone();
    and(both.get_mut(columns..).unwrap_or_default(), &across);
    and(&mut both, across.get(columns..).unwrap_or_default());
    both
}

fn and(all: &mut [bool], others: &[bool]) {
    for (one, other) in all.iter_mut().zip(others) {
        *one &= other;
    }
}
