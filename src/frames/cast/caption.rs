//! Captions burnt into a picture: words in one flat grey or white. They are neutral whatever the
//! light was, so they are no evidence.

use std::collections::BTreeMap;

use super::picture::places;
use crate::channels::{Channels, each};

/// A caption's grey differs by less than this from channel to channel.
const NEUTRAL: f32 = 1.06;
/// It is brighter than this, linear.
const BRIGHT: f32 = 0.2;
/// Next to it, within [`BESIDE`] cells, something is darker or brighter by more than this factor.
const CONTRAST: f32 = 1.3;
const BESIDE: usize = 2;
/// Its brightness is the same everywhere, within steps of this logarithm.
const STEP: f32 = 0.015;
/// At least so many cells are of it, and so many times as many as of other brightness nearby: where
/// things are merely white and sharp, their brightness varies.
const FEWEST: usize = 30;
const SPIKE: usize = 4;
/// The steps on either side that it is held against.
const NEARBY: [i32; 2] = [3, 8];
/// Cells this near to a caption's are partly of it.
const REACH: usize = 3;

/// Takes the cells of captions, and those beside them, out of `good`. The channels and `good` are row by
/// row, `columns` to a row.
pub(super) fn exclude(channels: &Channels, good: &mut [bool], columns: usize) {
    if columns == 0 {
        return;
    }
    let mut levels: BTreeMap<i32, Vec<usize>> = BTreeMap::new();
    let green = &channels[1];
    for index in places(each(channels).map(is_caption_grey)).into_iter().map(|at| at as usize) {
        if good.get(index) == Some(&true) && stands_out(green, index, columns) {
            let level = (green[index].ln() / STEP).round() as i32;
            levels.entry(level).or_default().push(index);
        }
    }
    let around = |level: i32| levels.range(level - 1..=level + 1).flat_map(|(_, cells)| cells);
    let Some(level) = levels.keys().copied().max_by_key(|level| around(*level).count()) else {
        return;
    };
    let [first, last] = NEARBY;
    let count = |from: i32, to: i32| -> usize {
        levels.range(level + from..=level + to).map(|(_, cells)| cells.len()).sum()
    };
    // As many steps as the three of the spike.
    let nearby =
        (count(-last, -first) + count(first, last)) * 3 / (2 * (last - first + 1)) as usize;
    if count(-1, 1) < FEWEST.max(SPIKE * nearby) {
        return;
    }
    let rows = good.len() / columns;
    for &index in around(level) {
        let (column, row) = (index % columns, index / columns);
        for y in row.saturating_sub(REACH)..(row + REACH + 1).min(rows) {
            let first = y * columns + column.saturating_sub(REACH);
            let last = y * columns + (column + REACH + 1).min(columns);
            good.get_mut(first..last).unwrap_or_default().fill(false);
        }
    }
}

fn is_caption_grey([red, green, blue]: [f32; 3]) -> bool {
    let less = |a: f32, b: f32| if a < b { a } else { b };
    let more = |a: f32, b: f32| if a > b { a } else { b };
    let [least, most] = [less(less(red, green), blue), more(more(red, green), blue)];
    (least > BRIGHT) & (most < least * NEUTRAL)
}

fn stands_out(green: &[f32], index: usize, columns: usize) -> bool {
    let Some(own) = green.get(index) else { return false };
    let column = index % columns;
    let across = (column >= BESIDE, column + BESIDE < columns);
    let neighbours = [
        index.checked_sub(BESIDE).filter(|_| across.0),
        Some(index + BESIDE).filter(|_| across.1),
        index.checked_sub(BESIDE * columns),
        Some(index + BESIDE * columns),
    ];
    neighbours
        .into_iter()
        .flatten()
        .filter_map(|place| green.get(place))
        .any(|other| other * CONTRAST < *own || own * CONTRAST < *other)
}

#[cfg(test)]
mod tests {
    use super::*;

    const COLUMNS: usize = 120;
    const ROWS: usize = 80;

    /// A warm picture that darkens downward, with stripes of `light(row)` in its lower part.
    fn picture(light: impl Fn(usize) -> f32) -> Channels {
        let colour = |index| {
            let (column, row) = (index % COLUMNS, index / COLUMNS);
            if row > 60 && row < 72 && column % 6 < 2 {
                [light(row); 3]
            } else {
                let shade = 0.3 - 0.003 * row as f32;
                [shade, 0.7 * shade, 0.4 * shade]
            }
        };
        std::array::from_fn(|channel| (0..COLUMNS * ROWS).map(|at| colour(at)[channel]).collect())
    }

    fn left(channels: &Channels) -> usize {
        let mut good = vec![true; channels[0].len()];
        exclude(channels, &mut good, COLUMNS);
        good.into_iter().filter(|good| *good).count()
    }

    #[test]
    fn words_in_one_grey_are_no_evidence_and_the_picture_round_them_is() {
        let left = left(&picture(|_| 0.83));
        assert!(left < ROWS * COLUMNS - 1200, "{left}");
        assert!(left > ROWS * COLUMNS * 3 / 4, "{left}");
    }

    #[test]
    fn white_things_in_uneven_light_stay() {
        let uneven = picture(|row| 0.3 + 0.05 * (row - 60) as f32);
        assert_eq!(left(&uneven), ROWS * COLUMNS);
        assert_eq!(left(&picture(|_| 0.1)), ROWS * COLUMNS, "dim");
    }

    #[test]
    fn no_picture_is_too_small() {
        exclude(&Channels::default(), &mut [], 0);
        let mut good = [true];
        exclude(&[vec![0.5], vec![0.5], vec![0.5]], &mut good, 1);
        assert!(good[0]);
    }
}
