//! Frames in which there is nothing that could tell a cast.

use crate::still::{Cell, LinearFrame};

/// Fewer cells than this are a thumbnail's thumbnail.
const FEWEST: usize = 16;
/// A picture is of one colour where no channel varies by more than this part of its brightest one. Light falls
/// off by more over the plainest wall, through any lens.
const EVEN: f32 = 0.08;
/// So many of the cells at either end are left out of that, as one in.
const LEFT_OUT: usize = 50;

/// Why a frame tells nothing of its cast, in words; `None` of one in which there is something to judge by.
///
/// What is in a picture tells its cast by being compared: with each other, and with what things and lights look
/// like. One even colour may be a neutral in a strong light or a coloured thing in a neutral one.
pub(super) fn why_silent(frame: &LinearFrame) -> Option<&'static str> {
    let telling: Vec<&Cell> = frame.cells.iter().filter(|cell| tells(cell)).collect();
    if telling.is_empty() {
        return Some("burnt out or black all over");
    }
    if telling.len() < FEWEST {
        return Some("too little in it to judge by");
    }
    is_even(&telling).then_some("one even colour, with nothing to compare it to")
}

fn tells(cell: &Cell) -> bool {
    let is_there = cell.weight > 0.0 && cell.clipped < 0.5 && cell.black < 0.5;
    is_there && cell.mean.iter().all(|channel| channel.is_finite())
}

fn is_even(cells: &[&Cell]) -> bool {
    let left_out = cells.len() / LEFT_OUT;
    let ends: [[f32; 2]; 3] = std::array::from_fn(|channel| {
        let values = cells.iter().filter_map(|cell| cell.mean.get(channel).copied());
        let mut values: Vec<f32> = values.collect();
        values.sort_unstable_by(f32::total_cmp);
        let at = |value: Option<&f32>| value.copied().unwrap_or(0.0);
        [at(values.get(left_out)), at(values.iter().nth_back(left_out))]
    });
    let brightest = ends.iter().map(|[_, high]| *high).fold(0.0, f32::max);
    ends.iter().all(|[low, high]| high - low <= EVEN * brightest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::still::{ReadOptions, read_bytes};

    /// A picture of 64 by 48 pixels as a file would give it.
    fn frame(colour: impl Fn(u32, u32) -> [u8; 3]) -> LinearFrame {
        sized(64, 48, colour)
    }

    fn sized(width: u32, height: u32, colour: impl Fn(u32, u32) -> [u8; 3]) -> LinearFrame {
        let picture = image::RgbImage::from_fn(width, height, |x, y| image::Rgb(colour(x, y)));
        let mut file = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut file, image::ImageFormat::Png).unwrap();
        read_bytes(file.get_ref(), &ReadOptions::default()).unwrap().frame
    }

    fn why(frame: &LinearFrame) -> &'static str {
        why_silent(frame).unwrap_or_default()
    }

    #[test]
    fn one_even_colour_tells_nothing_even_with_noise_or_a_speck() {
        let noise = |x: u32, y: u32| ((x * 7 + y * 13) % 5) as u8;
        assert!(why(&frame(|_, _| [220, 150, 90])).starts_with("one even colour"));
        let noisy = frame(|x, y| [218, 148, 88].map(|v: u8| v + noise(x, y) / 2));
        assert!(why(&noisy).starts_with("one even colour"));
        let speck = |x, y| if x < 4 && y < 4 { [20, 20, 20] } else { [220, 150, 90] };
        assert!(why(&frame(speck)).starts_with("one even colour"));
    }

    #[test]
    fn what_is_too_small_or_without_any_colour_that_counts_tells_nothing() {
        assert!(why(&sized(1, 1, |_, _| [220, 150, 90])).starts_with("too little"));
        assert!(why(&frame(|_, _| [0; 3])).starts_with("burnt out or black"));
        assert!(why(&frame(|_, _| [255; 3])).starts_with("burnt out or black"));
    }

    #[test]
    fn two_colours_or_a_falloff_are_something_to_go_by() {
        let two = |x, _| if x < 32 { [220, 150, 90] } else { [90, 150, 90] };
        assert_eq!(why_silent(&frame(two)), None);
        let falloff = |x: u32, _| [220.0, 150.0, 90.0].map(|v: f64| (v - f64::from(x) / 2.0) as u8);
        assert_eq!(why_silent(&frame(falloff)), None);
    }
}
