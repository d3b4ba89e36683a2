//! The rows of a PNG, one at a time.

use std::io::Cursor;

use image::ImageError;
use image::error::{DecodingError, ImageFormatHint};
use png::{BitDepth, ColorType, Decoder, Limits, Reader, Transformations};

use super::ReadErrorKind;
use super::decoder_error::{sort, too_much_memory};
use super::rows::{Layout, Rows, Samples, Take};

/// A PNG that has been opened.
pub(super) struct PngRows<'a> {
    reader: Reader<Cursor<&'a [u8]>>,
    layout: Layout,
    /// Whether the file is all there.
    complete: bool,
}

impl<'a> PngRows<'a> {
    /// The rows of a PNG that lies so once it is decoded; `None` where they do not come in order, as in an interlaced
    /// one, or not at all.
    pub(super) fn of(
        bytes: &'a [u8],
        layout: Layout,
        complete: bool,
        most_memory: u64,
    ) -> Option<Self> {
        let limits = Limits { bytes: usize::try_from(most_memory).unwrap_or(usize::MAX) };
        let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), limits);
        // Palettes become colours, and less than 8 bits become 8.
        decoder.set_transformations(Transformations::EXPAND);
        // What is not pixels has been read already.
        decoder.set_ignore_text_chunk(true);
        decoder.set_ignore_iccp_chunk(true);
        let reader = decoder.read_info().ok()?;
        let channels = match reader.output_color_type().0 {
            ColorType::Grayscale => 1,
            ColorType::GrayscaleAlpha => 2,
            ColorType::Rgb => 3,
            ColorType::Rgba => 4,
            ColorType::Indexed => return None,
        };
        let bits = match reader.output_color_type().1 {
            BitDepth::Eight => 8,
            BitDepth::Sixteen => 16,
            _ => return None,
        };
        let info = reader.info();
        let found = Layout { size: [info.width, info.height], channels, bits };
        (found == layout && !info.interlaced).then_some(Self { reader, layout, complete })
    }
}

impl Rows for PngRows<'_> {
    fn layout(&self) -> Layout {
        self.layout
    }

    fn each(mut self: Box<Self>, take: &mut Take<'_>) -> Result<(), ReadErrorKind> {
        let mut wide = Vec::new();
        while let Some(row) = self.reader.next_row().map_err(|error| told(error, self.complete))? {
            if self.layout.bits == 8 {
                take(Samples::Eight(row.data()))?;
            } else {
                // PNG third edition, 7.1.
                wide.clear();
                wide.extend(row.data().as_chunks().0.iter().copied().map(u16::from_be_bytes));
                take(Samples::Sixteen(&wide))?;
            }
        }
        Ok(())
    }
}

/// As the library for all formats would tell it.
fn told(error: png::DecodingError, complete: bool) -> ReadErrorKind {
    let error = match error {
        png::DecodingError::IoError(error) => ImageError::IoError(error),
        png::DecodingError::LimitsExceeded => too_much_memory(),
        error => ImageError::Decoding(DecodingError::new(
            ImageFormatHint::Exact(image::ImageFormat::Png),
            error,
        )),
    };
    sort(error, complete)
}

#[cfg(test)]
mod tests {
    use image::{DynamicImage, ImageFormat};

    use super::super::rows::tests::{collected, of_whole, pictures};
    use super::*;

    fn opened<'a>(bytes: &'a [u8], picture: &DynamicImage) -> Option<PngRows<'a>> {
        let size = [picture.width(), picture.height()];
        PngRows::of(bytes, Layout::of(size, picture.color())?, true, 1 << 20)
    }

    #[test]
    fn rows_are_those_of_the_whole_picture() {
        for picture in pictures() {
            let mut bytes = Cursor::new(Vec::new());
            picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
            let rows = opened(bytes.get_ref(), &picture).unwrap();
            assert_eq!(collected(rows).unwrap(), of_whole(&picture), "{:?}", picture.color());
        }
    }

    /// Less than 8 bits, and palettes, are handed out as the library for all formats decodes them.
    #[test]
    fn narrow_samples_and_palettes_are_widened() {
        let pixels: Vec<u8> = (0..16 * 9).map(|at| (at * 37) as u8).collect();
        for (colour, depth) in [
            (ColorType::Grayscale, BitDepth::One),
            (ColorType::Grayscale, BitDepth::Four),
            (ColorType::Indexed, BitDepth::Two),
            (ColorType::Indexed, BitDepth::Eight),
        ] {
            let mut bytes = Vec::new();
            let mut encoder = png::Encoder::new(&mut bytes, 16, 9);
            encoder.set_color(colour);
            encoder.set_depth(depth);
            encoder.set_palette((0..=255).flat_map(|v| [v, 255 - v, v / 2]).collect::<Vec<u8>>());
            let length = 9 * 16 * depth as usize / 8;
            let mut writer = encoder.write_header().unwrap();
            writer.write_image_data(&pixels[..length]).unwrap();
            writer.finish().unwrap();
            let whole = image::load_from_memory(&bytes).unwrap();
            let rows = opened(&bytes, &whole).unwrap();
            assert_eq!(collected(rows).unwrap(), of_whole(&whole), "{colour:?} {depth:?}");
        }
    }

    #[test]
    fn an_interlaced_picture_has_no_rows_in_order() {
        let mut bytes = Vec::new();
        png::Encoder::new(&mut bytes, 4, 4)
            .write_header()
            .unwrap()
            .write_image_data(&[9; 16])
            .unwrap();
        let picture = DynamicImage::new_luma8(4, 4);
        assert!(opened(&bytes, &picture).is_some());
        // The last byte of the header (PNG third edition, 11.2.1), and a checksum to go with it.
        bytes[28] = 1;
        let mut sum = flate2::Crc::new();
        sum.update(&bytes[12..29]);
        bytes[29..33].copy_from_slice(&sum.sum().to_be_bytes());
        assert!(opened(&bytes, &picture).is_none());
    }

    #[test]
    fn what_is_cut_short_is_told() {
        let picture = &pictures()[2];
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, ImageFormat::Png).unwrap();
        let bytes = bytes.into_inner();
        let rows = opened(&bytes[..bytes.len() / 2], picture).unwrap();
        let error = collected(PngRows { complete: false, ..rows }).unwrap_err();
        assert!(matches!(error, ReadErrorKind::Truncated { .. }), "{error:?}");
    }
}
