//! Frames in which there is nothing that could tell a cast.

use super::quantile::at_rank;
use crate::still::{Cell, LinearFrame};

/// Fewer cells than this are a thumbnail's thumbnail.
const FEWEST: usize = 16;
/// A picture is of one colour where no channel varies by more than this part of its brightest one. Light falls
/// off by more over the plainest wall, through any lens.
const EVEN: f32 = 0.08;
/// So many of the cells at either end are left out of that, as one in.
const LEFT_OUT: usize = 50;
/// Cells that lie so far apart are looked at first, where they are many, and more of them left out: by chance they may
/// hold more of what lies at the ends than all cells do, but hardly three times as much.
const APART: usize = 13;
const MANY: usize = 316;
const SOME_LEFT_OUT: usize = 16;

/// Why a frame tells nothing of its cast, in words; `None` of one in which there is something to judge by.
///
/// What is in a picture tells its cast by being compared: with each other, and with what things and lights look
/// like. One even colour may be a neutral in a strong light or a coloured thing in a neutral one.
pub(super) fn why_silent(frame: &LinearFrame) -> Option<&'static str> {
    let telling = || frame.cells.iter().filter(|cell| tells(cell)).map(|cell| cell.mean);
    // Nearly every picture is uneven, and shows it in some of its cells.
    let some: Vec<[f32; 3]> = telling().step_by(APART).collect();
    if some.len() >= MANY && !is_even(&some, SOME_LEFT_OUT) {
        return None;
    }
    let telling: Vec<[f32; 3]> = telling().collect();
    if telling.is_empty() {
        return Some("burnt out or black all over");
    }
    if telling.len() < FEWEST {
        return Some("too little in it to judge by");
    }
    is_even(&telling, LEFT_OUT).then_some("one even colour, with nothing to compare it to")
}

fn tells(cell: &Cell) -> bool {
    let is_there = cell.weight > 0.0 && cell.clipped < 0.5 && cell.black < 0.5;
    is_there && cell.mean.iter().all(|channel| channel.is_finite())
}

/// Whether colours are one but for the brightest and the darkest, one in so many each.
fn is_even(colours: &[[f32; 3]], left_out: usize) -> bool {
    let left_out = colours.len() / left_out;
    let ends: [[f32; 2]; 3] = std::array::from_fn(|channel| {
        let values: Vec<f32> =
            colours.iter().filter_map(|colour| colour.get(channel).copied()).collect();
        [left_out, values.len() - 1 - left_out].map(|rank| at_rank(&values, rank))
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
        let large = sized(640, 480, |x, y| if x < 64 && y < 64 { [20; 3] } else { [220, 150, 90] });
        assert!(why(&large).starts_with("one even colour"));
        let patch = sized(640, 480, |x, y| if x < 99 && y < 99 { [20; 3] } else { [220, 150, 90] });
        assert_eq!(why_silent(&patch), None);
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
