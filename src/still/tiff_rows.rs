//! The rows of a TIFF, a strip at a time.

use std::io::Cursor;

use image::ImageError;
use image::error::{DecodingError, ImageFormatHint, UnsupportedError, UnsupportedErrorKind};
use tiff::decoder::{ChunkType, Decoder, DecodingResult, Limits};
use tiff::tags::Tag;
use tiff::{ColorType, TiffError};

use super::ReadErrorKind;
use super::decoder_error::{sort, too_much_memory};
use super::rows::{Layout, Rows, Samples, Take};

/// A TIFF that has been opened.
pub(super) struct TiffRows<'a> {
    decoder: Decoder<Cursor<&'a [u8]>>,
    layout: Layout,
    strips: u32,
}

impl<'a> TiffRows<'a> {
    /// The rows of a TIFF that lies so once it is decoded; `None` where they do not come in order, as in one of tiles
    /// or of a plane a channel, or not at all.
    pub(super) fn of(bytes: &'a [u8], layout: Layout, most_memory: u64) -> Option<Self> {
        /// Channels of a pixel lie together (TIFF 6.0, section 8).
        const CHUNKY: u16 = 1;
        let strip = usize::try_from(most_memory).unwrap_or(usize::MAX);
        let mut limits = Limits::default();
        limits.decoding_buffer_size = strip;
        limits.intermediate_buffer_size = strip;
        limits.ifd_value_size = strip;
        let mut decoder = Decoder::new(Cursor::new(bytes)).ok()?.with_limits(limits);
        let (channels, bits) = match decoder.colortype().ok()? {
            ColorType::Gray(bits) => (1, bits),
            ColorType::GrayA(bits) => (2, bits),
            ColorType::RGB(bits) => (3, bits),
            ColorType::RGBA(bits) => (4, bits),
            _ => return None,
        };
        let (width, height) = decoder.dimensions().ok()?;
        let planes: Option<u16> = decoder.find_tag_unsigned(Tag::PlanarConfiguration).ok()?;
        if decoder.get_chunk_type() != ChunkType::Strip
            || planes.is_some_and(|planes| planes != CHUNKY)
            || (Layout { size: [width, height], channels, bits }) != layout
        {
            return None;
        }
        let strips = decoder.strip_count().ok()?;
        Some(Self { decoder, layout, strips })
    }
}

impl Rows for TiffRows<'_> {
    fn layout(&self) -> Layout {
        self.layout
    }

    fn each(mut self: Box<Self>, take: &mut Take<'_>) -> Result<(), ReadErrorKind> {
        for index in 0..self.strips {
            match self.decoder.read_chunk(index).map_err(told)? {
                DecodingResult::U8(samples) => take(Samples::Eight(&samples))?,
                DecodingResult::U16(samples) => take(Samples::Sixteen(&samples))?,
                _ => return Err(ReadErrorKind::Internal),
            }
        }
        Ok(())
    }
}

/// As the library for all formats would tell it.
fn told(error: TiffError) -> ReadErrorKind {
    let hint = || ImageFormatHint::Exact(image::ImageFormat::Tiff);
    let error = match error {
        TiffError::IoError(error) => ImageError::IoError(error),
        TiffError::LimitsExceeded => too_much_memory(),
        TiffError::UnsupportedError(what) => {
            ImageError::Unsupported(UnsupportedError::from_format_and_kind(
                hint(),
                UnsupportedErrorKind::GenericFeature(what.to_string()),
            ))
        }
        error => ImageError::Decoding(DecodingError::new(hint(), error)),
    };
    sort(error, true)
}

#[cfg(test)]
mod tests {
    use image::DynamicImage;
    use tiff::encoder::{Compression, TiffEncoder, colortype};

    use super::super::rows::tests::{collected, of_whole, pictures};
    use super::*;

    fn opened<'a>(bytes: &'a [u8], picture: &DynamicImage) -> Option<TiffRows<'a>> {
        let size = [picture.width(), picture.height()];
        TiffRows::of(bytes, Layout::of(size, picture.color())?, 1 << 20)
    }

    /// In strips of so many rows.
    fn written(picture: &DynamicImage, rows: u32, compression: Compression) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        let (width, height) = (picture.width(), picture.height());
        let mut encoder = TiffEncoder::new(&mut bytes).unwrap().with_compression(compression);
        macro_rules! write {
            ($colour:ty, $samples:expr) => {{
                let mut image = encoder.new_image::<$colour>(width, height).unwrap();
                image.rows_per_strip(rows).unwrap();
                image.write_data($samples).unwrap();
            }};
        }
        match picture {
            DynamicImage::ImageLuma8(p) => write!(colortype::Gray8, p),
            DynamicImage::ImageRgb8(p) => write!(colortype::RGB8, p),
            DynamicImage::ImageRgba8(p) => write!(colortype::RGBA8, p),
            DynamicImage::ImageLuma16(p) => write!(colortype::Gray16, p),
            DynamicImage::ImageRgb16(p) => write!(colortype::RGB16, p),
            DynamicImage::ImageRgba16(p) => write!(colortype::RGBA16, p),
            _ => return Vec::new(),
        }
        bytes.into_inner()
    }

    #[test]
    fn rows_are_those_of_the_whole_picture() {
        let mut tried = 0;
        for picture in pictures() {
            for compression in [Compression::Uncompressed, Compression::Lzw] {
                // The last strip is shorter than the others.
                let bytes = written(&picture, 10, compression);
                if bytes.is_empty() {
                    continue;
                }
                let rows = opened(&bytes, &picture).unwrap();
                assert_eq!(rows.strips, 5);
                assert_eq!(collected(rows).unwrap(), of_whole(&picture), "{:?}", picture.color());
                tried += 1;
            }
        }
        assert_eq!(tried, 12);
    }

    #[test]
    fn what_is_cut_short_is_told() {
        let picture = &pictures()[2];
        let bytes = written(picture, 10, Compression::Uncompressed);
        // The directory comes last, so it is the first strip's place that is moved behind the end.
        let directory = u32::from_le_bytes(*bytes[4..].first_chunk().unwrap()) as usize;
        let strip_offsets = bytes[directory..].windows(2).position(|tag| tag == [0x11, 0x01]);
        let at = directory + strip_offsets.unwrap() + 8;
        let first = u32::from_le_bytes(*bytes[at..].first_chunk().unwrap()) as usize;
        let mut moved = bytes.clone();
        let behind = bytes.len() as u32 + 100;
        moved[first..first + 4].copy_from_slice(&behind.to_le_bytes());
        let error = collected(opened(&moved, picture).unwrap()).unwrap_err();
        assert!(matches!(error, ReadErrorKind::Truncated { .. }), "{error:?}");
    }
}
