//! A mark by which pictures of one view are known: where in them it gets brighter and where darker.

use std::borrow::Cow;
use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::still::LinearFrame;

/// Parts of the picture across and down.
const PARTS: usize = 8;
/// Each part beside the next one to the right, and above the next one down.
const BITS: u32 = 2 * (PARTS * (PARTS - 1)) as u32;
const DIGITS: usize = BITS as usize / 4;

/// What is brighter in a picture, of each two neighbours among eight by eight parts of it. Moving the camera a little,
/// another exposure, another light's colour and something that moves through the picture change few of these bits, and
/// of pictures of different things about half differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ViewMark(u128);

/// Text that is no mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a view's mark is {DIGITS} hexadecimal digits")]
pub struct ViewMarkError;

impl ViewMark {
    /// Up to so many bits differ between pictures of one view: over 930 pairs of 62 photographs' near copies (moved by
    /// up to a twentieth of the picture, up to half a stop lighter or darker, noisier, with a patch of a thirtieth
    /// of the picture put elsewhere) more did in one of a hundred, and of 5600 pairs of other scenes at least 32 in each.
    const MOST: u32 = 28;

    /// The mark of a picture; `None` of one that has fewer cells than the mark has parts.
    #[must_use]
    pub fn of(frame: &LinearFrame) -> Option<Self> {
        let (columns, rows) = (frame.columns as usize, frame.rows as usize);
        if columns < PARTS || rows < PARTS {
            return None;
        }
        let within = |part: usize, all: usize| part * all / PARTS..(part + 1) * all / PARTS;
        let mut parts = [[0.0_f32; PARTS]; PARTS];
        for (down, sums) in parts.iter_mut().enumerate() {
            for row in within(down, rows) {
                let line = frame.cells.get(row * columns..(row + 1) * columns).unwrap_or_default();
                for (across, sum) in sums.iter_mut().enumerate() {
                    let cells = line.get(within(across, columns)).unwrap_or_default().iter();
                    // About as an eye has it, so that lamps do not outshine all else.
                    let lightness =
                        |[red, green, blue]: [f32; 3]| (red + 2.0 * green + blue).max(0.0).sqrt();
                    *sum += cells.map(|cell| lightness(cell.mean)).sum::<f32>();
                }
            }
            // Parts may differ by a cell.
            for (across, sum) in sums.iter_mut().enumerate() {
                *sum /= (within(across, columns).len() * within(down, rows).len()) as f32;
            }
        }
        let mut bits = 0;
        let mut compare = |one: f32, next: f32| bits = bits << 1 | u128::from(next > one);
        for row in &parts {
            row.windows(2).for_each(|two| compare(two[0], two[1]));
        }
        for rows in parts.windows(2) {
            rows[0].iter().zip(&rows[1]).for_each(|(one, next)| compare(*one, *next));
        }
        Some(Self(bits))
    }

    /// Whether two pictures are of one view.
    #[must_use]
    pub fn is_like(self, other: Self) -> bool {
        (self.0 ^ other.0).count_ones() <= Self::MOST
    }
}

impl fmt::Display for ViewMark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:0DIGITS$x}", self.0)
    }
}

impl FromStr for ViewMark {
    type Err = ViewMarkError;

    fn from_str(text: &str) -> Result<Self, ViewMarkError> {
        let is_hex = text.len() == DIGITS && text.bytes().all(|b| b.is_ascii_hexdigit());
        let bits = u128::from_str_radix(text, 16).ok().filter(|_| is_hex);
        bits.map(Self).ok_or(ViewMarkError)
    }
}

impl Serialize for ViewMark {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for ViewMark {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = Cow::<str>::deserialize(deserializer)?;
        text.parse().map_err(de::Error::custom)
    }
}

impl JsonSchema for ViewMark {
    fn schema_name() -> Cow<'static, str> {
        "ViewMark".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": format!("^[0-9a-f]{{{DIGITS}}}$") })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::still::{ReadOptions, read_bytes};

    /// The mark of a picture of 240 by 160 pixels.
    fn mark(colour: impl Fn(f64, f64) -> [f64; 3]) -> ViewMark {
        let picture = image::RgbImage::from_fn(240, 160, |x, y| {
            image::Rgb(colour(f64::from(x), f64::from(y)).map(|value| value as u8))
        });
        let mut file = std::io::Cursor::new(Vec::new());
        picture.write_to(&mut file, image::ImageFormat::Png).unwrap();
        let still = read_bytes(file.get_ref(), &ReadOptions::default()).unwrap();
        ViewMark::of(&still.frame).unwrap()
    }

    /// Something with bright and dark places all over, and `seed` for where they are.
    fn scene(seed: f64) -> impl Fn(f64, f64) -> [f64; 3] {
        move |x, y| {
            let wave = (x / 23.0 + seed).sin() * (y / 19.0 + 2.0 * seed).cos()
                + 0.7 * (x / 51.0 - y / 37.0 + 3.0 * seed).sin();
            [120.0 + 50.0 * wave, 110.0 + 50.0 * wave, 95.0 + 45.0 * wave]
        }
    }

    #[test]
    fn a_view_is_known_when_it_is_moved_darker_or_in_another_light() {
        let view = mark(scene(0.3));
        let moved = mark(|x, y| scene(0.3)(x + 4.0, y - 3.0));
        let darker = mark(|x, y| scene(0.3)(x, y).map(|value| 0.6 * value));
        let orange = mark(|x, y| {
            let [red, green, blue] = scene(0.3)(x, y);
            [1.2 * red, green, 0.6 * blue]
        });
        for (what, other) in [("moved", moved), ("darker", darker), ("orange", orange)] {
            assert!(view.is_like(other), "{what}: {view} {other}");
        }
        for seed in [1.1, 2.0, 2.9, 4.1] {
            assert!(!view.is_like(mark(scene(seed))), "{seed}");
        }
    }

    #[test]
    fn it_is_the_same_read_back_and_nothing_else_is_read() {
        let view = mark(scene(0.3));
        let text = view.to_string();
        assert_eq!((text.len(), text.parse()), (28, Ok(view)));
        let json = serde_json::to_string(&view).unwrap();
        assert_eq!(serde_json::from_str::<ViewMark>(&json).unwrap(), view);
        for wrong in ["", "12", "+fffffffffffffffffffffffffff", &format!("{text}0"), "é"] {
            assert_eq!(wrong.parse::<ViewMark>(), Err(ViewMarkError), "{wrong}");
        }
    }
}
