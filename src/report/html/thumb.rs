//! Pictures that a page carries within itself.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};

use crate::balance::{White, neutral_in_srgb};
use crate::card::CardReading;
use crate::colour::{Duv, Kelvin};
use crate::frames::{FrameReading, GroupReading, Verdict};
use crate::grade::{self, Strength, neutral_to_correct};
use crate::still::{LinearFrame, Preview};

/// An encoded picture for a page.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Thumb {
    pub(super) width: u32,
    pub(super) height: u32,
    #[serde(with = "in_base64")]
    jpeg: Vec<u8>,
}

/// Bytes as text, for whoever keeps a picture within other text.
mod in_base64 {
    use base64::Engine;
    use base64::engine::general_purpose::STANDARD;
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
        STANDARD.encode(bytes).serialize(to)
    }

    pub(super) fn deserialize<'a, D: Deserializer<'a>>(from: D) -> Result<Vec<u8>, D::Error> {
        STANDARD.decode(String::deserialize(from)?).map_err(D::Error::custom)
    }
}

impl Thumb {
    fn of(preview: &Preview, bytes: usize) -> Self {
        let jpeg = preview.jpeg_within(bytes);
        Self { width: preview.width(), height: preview.height(), jpeg }
    }

    /// The picture itself, where another file would be named.
    pub(super) fn uri(&self) -> String {
        format!("data:image/jpeg;base64,{}", STANDARD.encode(&self.jpeg))
    }
}

/// What is neutral as an encoding has it.
const NEUTRAL: [f64; 3] = [1.0; 3];

/// Pictures of a photo of a card: as it came out, as it should be, and as it would look under each
/// preset. Some 50 kB; the frame that they are from is not needed any longer. Whoever keeps them
/// beside their record gives them back as they were: they are drawn as they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CardPictures {
    /// The upright photo, in pixels.
    pub(super) size: [u32; 2],
    /// What `came_out` covers of it, and beyond its right and lower edge.
    pub(super) covers: [f64; 2],
    pub(super) came_out: Thumb,
    /// Where the card has a colour that counts.
    pub(super) balanced: Option<Thumb>,
    /// In the order of the reading's presets; empty where the light is not known.
    pub(super) under: Vec<Thumb>,
}

impl CardPictures {
    const LONG_SIDE: u32 = 384;
    const BYTES: usize = 32_000;
    const SMALL_SIDE: u32 = 176;
    const SMALL_BYTES: usize = 5_000;

    /// From the photo's frame in the balance that the reading is of ([`Still::frame_in`]); `None` of a
    /// frame without cells.
    ///
    /// [`Still::frame_in`]: crate::still::Still::frame_in
    #[must_use]
    pub fn of(frame: &LinearFrame, reading: &CardReading) -> Option<Self> {
        let photo = Preview::of(frame, Self::LONG_SIDE)?;
        let small = photo.clone().at_most(Self::SMALL_SIDE);
        let white = reading.residual.as_ref().map(|residual| residual.white_linear_srgb);
        let light = reading.light.as_ref().and_then(|light| {
            White::new(Kelvin::new(light.cct_kelvin).ok()?, Duv::new(light.duv)).ok()
        });
        let under = |kelvin: f64, duv: f64| {
            let preset = White::new(Kelvin::new(kelvin).ok()?, Duv::new(duv)).ok()?;
            let rebalanced = small.rebalanced(white?, neutral_in_srgb(light?, preset));
            Some(Thumb::of(&rebalanced, Self::SMALL_BYTES))
        };
        let presets = reading.presets.iter().map(|miss| under(miss.kelvin, miss.duv));
        let cell = f64::from(frame.cell);
        Some(Self {
            size: [frame.width, frame.height],
            covers: [f64::from(frame.columns) * cell, f64::from(frame.rows) * cell],
            balanced: white
                .map(|white| Thumb::of(&small.rebalanced(white, NEUTRAL), 2 * Self::SMALL_BYTES)),
            under: presets.collect::<Option<_>>().unwrap_or_default(),
            came_out: Thumb::of(&photo, Self::BYTES),
        })
    }
}

/// A frame as it came out, small. At most some 8 kB; the frame that it is from is not needed any longer.
#[derive(Debug, Clone, PartialEq)]
pub struct FramePicture {
    width: u32,
    height: u32,
    jpeg: Vec<u8>,
}

/// A frame's pictures on a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FramePair {
    pub(super) as_shot: Thumb,
    /// Where there is something to correct.
    pub(super) corrected: Option<Thumb>,
}

/// How much room there is for each of the pictures of so many frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Room {
    long_side: u32,
    bytes: usize,
}

impl Room {
    /// Two hundred frames make a page of less than 6 MB; many more have smaller pictures.
    pub(super) fn for_frames(frames: usize) -> Self {
        match frames {
            0..=250 => FramePicture::ROOM,
            251..=1000 => Self { long_side: 160, bytes: 4_500 },
            _ => Self { long_side: 96, bytes: 2_000 },
        }
    }
}

impl FramePicture {
    /// As it stands on a page of a few hundred frames: it need not be encoded again for that.
    const ROOM: Room = Room { long_side: 240, bytes: 8_000 };

    /// From the frame in its balance ([`Still::frame_in`](crate::still::Still::frame_in)); `None` of one
    /// without cells.
    #[must_use]
    pub fn of(frame: &LinearFrame) -> Option<Self> {
        let preview = Preview::of(frame, Self::ROOM.long_side)?;
        let jpeg = preview.jpeg_within(Self::ROOM.bytes);
        Some(Self { width: preview.width(), height: preview.height(), jpeg })
    }

    /// The small picture as it is kept: a JPEG.
    #[must_use]
    pub fn jpeg(&self) -> &[u8] {
        &self.jpeg
    }

    /// The picture that [`FramePicture::jpeg`] gave; `None` of bytes that are no JPEG, and of a
    /// larger picture than a kept one can be.
    #[must_use]
    pub fn from_jpeg(jpeg: Vec<u8>) -> Option<Self> {
        let format = image::ImageFormat::Jpeg;
        let reader = image::ImageReader::with_format(std::io::Cursor::new(&jpeg), format);
        let (width, height) = reader.into_dimensions().ok()?;
        let fits = |side| (1..=Self::ROOM.long_side).contains(&side);
        (fits(width) && fits(height)).then_some(Self { width, height, jpeg })
    }

    /// As shot, and corrected by what makes the second of two colours of the first.
    pub(super) fn pair(&self, colours: Option<[[f64; 3]; 2]>, room: Room) -> Option<FramePair> {
        let kept = Preview::from_jpeg(&self.jpeg)?.at_most(room.long_side);
        let corrected = colours.map(|[from, to]| Thumb::of(&kept.rebalanced(from, to), room.bytes));
        let as_shot = match self.jpeg.len() <= room.bytes && kept.width() == self.width {
            true => Thumb { width: self.width, height: self.height, jpeg: self.jpeg.clone() },
            false => Thumb::of(&kept, room.bytes),
        };
        Some(FramePair { as_shot, corrected })
    }
}

/// What a frame is corrected by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Correction {
    /// As its whole group is.
    Group(u32),
    /// By itself: its group has no cast, or there is none.
    Own,
    /// As the card is that it was judged against: beyond that it, or its group, has no cast.
    Card,
}

/// The colour that is to become neutral in a frame, and whose that is; `None` where there is
/// nothing to correct. A group that is neutral is surer than a frame in it that seems to have a cast.
pub(super) fn correction(
    reading: &FrameReading,
    group: Option<&GroupReading>,
) -> Option<(Correction, [f64; 3])> {
    let (whose, verdict, cast) = match group {
        Some(group) if group.verdict.is_cast() => {
            (Correction::Group(group.group), group.verdict, &group.cast)
        }
        Some(group) if is_outvoted(reading, group) => {
            (Correction::Card, group.verdict, &group.cast)
        }
        _ if reading.verdict.is_cast() => (Correction::Own, reading.verdict, &reading.cast),
        _ => (Correction::Card, reading.verdict, &reading.cast),
    };
    Some((whose, neutral_to_correct(verdict, cast, reading.reference.as_ref())?))
}

/// What a correction at some strength makes of the colour that it is to make neutral.
pub(super) fn corrected(neutral: [f64; 3], strength: Strength) -> [f64; 3] {
    if strength == Strength::FULL {
        return NEUTRAL;
    }
    let partly = grade::Correction::new(neutral, strength);
    partly.map_or(NEUTRAL, |partly| partly.matrix().apply(partly.neutral()))
}

/// Whether a frame has a cast by itself, and its group as a whole has none.
pub(super) fn is_outvoted(reading: &FrameReading, group: &GroupReading) -> bool {
    reading.verdict.is_cast() && group.verdict == Verdict::Neutral
}
