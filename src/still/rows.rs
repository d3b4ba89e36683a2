//! A picture's pixels: all of them decoded, or some rows at a time as the decoder gives them, so that memory need not
//! hold a whole picture.

use image::{ColorType, DynamicImage};

use super::ReadErrorKind;

/// How pixels lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Layout {
    /// Width and height in pixels, as stored.
    pub(super) size: [u32; 2],
    /// 1 for grey and 3 for red, green and blue; one more where there is an alpha.
    pub(super) channels: u8,
    /// Bits a channel: 8 or 16.
    pub(super) bits: u8,
}

impl Layout {
    /// That of a colour type; `None` where it has floating-point samples.
    pub(super) fn of(size: [u32; 2], colour: ColorType) -> Option<Self> {
        let channels = colour.channel_count();
        let bits = match colour {
            ColorType::L8 | ColorType::La8 | ColorType::Rgb8 | ColorType::Rgba8 => 8,
            ColorType::L16 | ColorType::La16 | ColorType::Rgb16 | ColorType::Rgba16 => 16,
            _ => return None,
        };
        Some(Self { size, channels, bits })
    }
}

/// Whole rows of pixels, row by row, the channels of each pixel together.
#[derive(Debug, Clone, Copy)]
pub(super) enum Samples<'s> {
    Eight(&'s [u8]),
    Sixteen(&'s [u16]),
}

/// Takes rows as they come.
pub(super) type Take<'t> = dyn FnMut(Samples<'_>) -> Result<(), ReadErrorKind> + 't;

/// A decoder that has not decoded the pixels yet.
pub(super) trait Rows {
    /// How the pixels will lie.
    fn layout(&self) -> Layout;

    /// Decodes all rows from the top down.
    fn each(self: Box<Self>, take: &mut Take<'_>) -> Result<(), ReadErrorKind>;
}

/// Where pixels are had from.
pub(super) enum Pixels<'a> {
    /// From memory, where all of them are.
    Whole(DynamicImage),
    /// From a decoder, some rows at a time.
    Rows(Box<dyn Rows + 'a>),
}

impl Pixels<'_> {
    pub(super) fn size(&self) -> [u32; 2] {
        match self {
            Self::Whole(pixels) => [pixels.width(), pixels.height()],
            Self::Rows(rows) => rows.layout().size,
        }
    }

    pub(super) fn is_grey(&self) -> bool {
        match self {
            Self::Whole(pixels) => !pixels.color().has_color(),
            Self::Rows(rows) => rows.layout().channels < 3,
        }
    }

    /// How they lie.
    ///
    /// # Errors
    /// [`ReadErrorKind::UnsupportedColour`] where that is not read.
    pub(super) fn layout(&self) -> Result<Layout, ReadErrorKind> {
        match self {
            Self::Whole(pixels) => Layout::of(self.size(), pixels.color()).ok_or_else(|| {
                ReadErrorKind::UnsupportedColour { found: format!("{:?}", pixels.color()) }
            }),
            Self::Rows(rows) => Ok(rows.layout()),
        }
    }

    /// Hands out all rows from the top down.
    ///
    /// # Errors
    /// Those of the decoder, and of `take`.
    pub(super) fn each(self, take: &mut Take<'_>) -> Result<(), ReadErrorKind> {
        match self {
            Self::Rows(rows) => rows.each(take),
            Self::Whole(pixels) => {
                if let Some(samples) = pixels.as_flat_samples_u8() {
                    take(Samples::Eight(samples.as_slice()))
                } else if let Some(samples) = pixels.as_flat_samples_u16() {
                    take(Samples::Sixteen(samples.as_slice()))
                } else {
                    Err(ReadErrorKind::Internal)
                }
            }
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use image::{ImageBuffer, Luma, LumaA, Rgb, Rgba};

    use super::*;

    fn wide(pixels: Pixels<'_>) -> Result<Vec<u16>, ReadErrorKind> {
        let mut all = Vec::new();
        pixels.each(&mut |samples| {
            match samples {
                Samples::Eight(samples) => all.extend(samples.iter().map(|v| u16::from(*v))),
                Samples::Sixteen(samples) => all.extend(samples),
            }
            Ok(())
        })?;
        Ok(all)
    }

    /// What a decoder hands out, as wide samples.
    pub(in crate::still) fn collected<'a>(rows: impl Rows + 'a) -> Result<Vec<u16>, ReadErrorKind> {
        wide(Pixels::Rows(Box::new(rows)))
    }

    /// The same of a picture in memory.
    pub(in crate::still) fn of_whole(picture: &DynamicImage) -> Vec<u16> {
        let all = wide(Pixels::Whole(picture.clone()));
        assert!(all.as_ref().is_ok_and(|all| !all.is_empty()));
        all.unwrap_or_default()
    }

    /// A picture of every layout, no two pixels of a row alike.
    pub(in crate::still) fn pictures() -> [DynamicImage; 8] {
        let size = (61, 47);
        let wide = |x: u32, y: u32, c: u32| (x * 1001 + y * 313 + c * 7919) as u16;
        let narrow = |x: u32, y: u32, c: u32| (x * 3 + y * 5 + c * 71) as u8;
        [
            ImageBuffer::from_fn(size.0, size.1, |x, y| Luma([narrow(x, y, 0)])).into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| LumaA([0, 1].map(|c| narrow(x, y, c))))
                .into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| Rgb([0, 1, 2].map(|c| narrow(x, y, c))))
                .into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| {
                Rgba([0, 1, 2, 3].map(|c| narrow(x, y, c)))
            })
            .into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| Luma([wide(x, y, 0)])).into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| LumaA([0, 1].map(|c| wide(x, y, c))))
                .into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| Rgb([0, 1, 2].map(|c| wide(x, y, c))))
                .into(),
            ImageBuffer::from_fn(size.0, size.1, |x, y| Rgba([0, 1, 2, 3].map(|c| wide(x, y, c))))
                .into(),
        ]
    }
}
