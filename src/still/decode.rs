//! Bytes → profile, Exif block, and pixels or the way to them.

use std::io::Cursor;

use image::codecs::{jpeg::JpegDecoder, png::PngDecoder, tiff::TiffDecoder, webp::WebPDecoder};
use image::{ColorType, DynamicImage, ExtendedColorType, ImageDecoder, ImageResult, Limits};

use super::decoder_error::{sort, too_much_memory};
use super::jpeg::{self, Soundness};
#[cfg(feature = "jpeg-xl")]
use super::jxl;
use super::options::fits;
use super::picture::Picture;
use super::png_rows::PngRows;
use super::rows::{Layout, Pixels, Rows};
use super::sniff::PictureFormat;
use super::tiff_rows::TiffRows;
use super::{Note, ReadErrorKind, ReadOptions, tiff};

/// Decodes a picture of a known format.
///
/// What can be had row by row is decoded only when its rows are asked for.
pub(super) fn decode<'a>(
    bytes: &'a [u8],
    format: PictureFormat,
    options: &ReadOptions,
) -> Result<Picture<'a>, ReadErrorKind> {
    match format {
        PictureFormat::Jpeg => decode_jpeg(bytes, options),
        PictureFormat::Png => {
            // The decoder takes three bytes a colour for granted.
            if !png_palette_is_whole(bytes) {
                return Err(ReadErrorKind::Damaged { source: None });
            }
            let complete = png_is_complete(bytes);
            let decoder = PngDecoder::with_limits(Cursor::new(bytes), limits(0, bytes));
            let opened =
                open(decoder, bytes, complete, |pixels| least_png(bytes, pixels), options)?;
            opened.by_rows(|layout, memory| PngRows::of(bytes, layout, complete, memory))
        }
        PictureFormat::Tiff => {
            let icc = tiff::check(bytes)?;
            let decoder = TiffDecoder::new(Cursor::new(bytes));
            let mut opened = open(decoder, bytes, true, |_| 0, options)?;
            opened.header.icc = icc.map(<[u8]>::to_vec);
            opened.by_rows(|layout, memory| TiffRows::of(bytes, layout, memory))
        }
        PictureFormat::WebP => {
            // The decoder makes do with what there is of the data.
            if !webp_is_complete(bytes) {
                return Err(ReadErrorKind::Truncated { source: None });
            }
            // One colour takes no data at all, whatever the size.
            let decoder = WebPDecoder::new(Cursor::new(bytes));
            let opened = open(decoder, bytes, true, |_| 0, options)?;
            let (header, pixels) = opened.whole()?;
            Ok(header.picture(Pixels::Whole(pixels)))
        }
        #[cfg(feature = "jpeg-xl")]
        PictureFormat::JpegXl => jxl::decode(bytes, options),
    }
}

fn decode_jpeg<'a>(bytes: &'a [u8], options: &ReadOptions) -> Result<Picture<'a>, ReadErrorKind> {
    let markers = jpeg::markers(bytes);
    if markers.components == 4 {
        return Err(ReadErrorKind::UnsupportedColour { found: "CMYK".to_owned() });
    }
    let decoder = JpegDecoder::new(Cursor::new(bytes));
    let opened = open(decoder, bytes, markers.complete, least_jpeg, options)?;
    let (mut header, pixels) = opened.whole()?;
    match jpeg::soundness(bytes, &markers, &pixels) {
        Soundness::Sound => {}
        Soundness::MissingEnd => header.notes.push(Note::MissingEnd),
        Soundness::Truncated => return Err(ReadErrorKind::Truncated { source: None }),
        Soundness::Damaged => return Err(ReadErrorKind::Damaged { source: None }),
    }
    Ok(header.picture(Pixels::Whole(pixels)))
}

/// A picture whose pixels have not been decoded.
struct Opened<D> {
    decoder: D,
    header: Header,
    /// Whether the file is all there.
    complete: bool,
    /// Bytes that may be used beside the file.
    most_memory: u64,
}

/// Reads all but the pixels, and refuses what is not to be decoded.
fn open<D: ImageDecoder>(
    decoder: ImageResult<D>,
    bytes: &[u8],
    complete: bool,
    least_bytes: impl Fn(u64) -> u64,
    options: &ReadOptions,
) -> Result<Opened<D>, ReadErrorKind> {
    let sort = |error| sort(error, complete);
    let mut decoder = decoder.map_err(sort)?;
    let mut header = header(&decoder, options)?;
    if decoder.total_bytes() > options.max_memory_bytes {
        return Err(sort(too_much_memory()));
    }
    let [width, height] = header.size.map(u64::from);
    if (bytes.len() as u64) < least_bytes(width * height) {
        return Err(ReadErrorKind::Truncated { source: None });
    }
    let mut limits = limits(decoder.total_bytes(), bytes);
    limits.max_alloc = limits.max_alloc.map(|most| most.min(options.max_memory_bytes));
    let most_memory = limits.max_alloc.unwrap_or(options.max_memory_bytes);
    decoder.set_limits(limits).map_err(sort)?;
    header.read_metadata(&mut decoder);
    Ok(Opened { decoder, header, complete, most_memory })
}

impl<D: ImageDecoder> Opened<D> {
    /// All the pixels at once.
    fn whole(self) -> Result<(Header, DynamicImage), ReadErrorKind> {
        let pixels = DynamicImage::from_decoder(self.decoder);
        Ok((self.header, pixels.map_err(|error| sort(error, self.complete))?))
    }

    /// The picture with its pixels row by row, where there is a way to have them so.
    fn by_rows<'a, R: Rows + 'a>(
        self,
        rows: impl FnOnce(Layout, u64) -> Option<R>,
    ) -> Result<Picture<'a>, ReadErrorKind> {
        let layout = Layout::of(self.header.size, self.decoder.color_type());
        match layout.and_then(|layout| rows(layout, self.most_memory)) {
            Some(rows) => Ok(self.header.picture(Pixels::Rows(Box::new(rows)))),
            None => {
                let (header, pixels) = self.whole()?;
                Ok(header.picture(Pixels::Whole(pixels)))
            }
        }
    }
}

/// What a decoder knows before it has decoded anything.
#[derive(Debug, Default)]
pub(super) struct Header {
    pub(super) icc: Option<Vec<u8>>,
    pub(super) exif: Option<Vec<u8>>,
    /// An XMP packet, where the decoder hands it out.
    pub(super) xmp: Option<Vec<u8>>,
    pub(super) is_grey: bool,
    /// Width and height in pixels, as stored.
    pub(super) size: [u32; 2],
    pub(super) notes: Vec<Note>,
}

/// What is before the first scan of a JPEG; `None` where anything is amiss.
pub(super) fn jpeg_header(bytes: &[u8], options: &ReadOptions) -> Option<Header> {
    let before = bytes.get(..jpeg::first_scan(bytes)?)?;
    let mut decoder = JpegDecoder::new(Cursor::new(before)).ok()?;
    let mut header = header(&decoder, options).ok()?;
    header.read_metadata(&mut decoder);
    Some(header)
}

impl Header {
    fn picture(self, pixels: Pixels<'_>) -> Picture<'_> {
        let Self { icc, exif, xmp, notes, .. } = self;
        Picture { pixels, icc, exif, xmp, notes }
    }

    fn read_metadata(&mut self, decoder: &mut impl ImageDecoder) {
        self.icc = decoder.icc_profile().unwrap_or_else(|error| {
            self.notes.push(Note::BadProfile { reason: error.to_string() });
            None
        });
        self.exif = decoder.exif_metadata().unwrap_or_else(|error| {
            self.notes.push(Note::BadExif { reason: error.to_string() });
            None
        });
    }
}

/// Refuses what is not read.
fn header(decoder: &impl ImageDecoder, options: &ReadOptions) -> Result<Header, ReadErrorKind> {
    let (width, height) = decoder.dimensions();
    // Before anything of the picture's size is allocated.
    fits([width, height], options.max_pixels)?;
    if width == 0 || height == 0 {
        return Err(ReadErrorKind::Damaged { source: None });
    }
    check_colour(decoder.color_type(), decoder.original_color_type())?;
    let is_grey = !decoder.color_type().has_color();
    Ok(Header { is_grey, size: [width, height], ..Header::default() })
}

/// The fewest bytes that a JPEG of so many pixels can have: a bit for each block of 8 × 8, of which the
/// coarsest sampling leaves one for little more than 8 × 8 pixels.
fn least_jpeg(pixels: u64) -> u64 {
    pixels / 512
}

/// The fewest bytes that a PNG of so many pixels can have: deflate does not make less of more than 1032
/// bytes than one.
fn least_png(bytes: &[u8], pixels: u64) -> u64 {
    // Bits a sample and colour type in the header (PNG third edition, 11.2.1).
    let [depth, colour] = [24, 25].map(|at| bytes.get(at).copied().map_or(0, u64::from));
    let channels = match colour {
        2 => 3,
        4 => 2,
        6 => 4,
        _ => 1,
    };
    pixels.saturating_mul(depth * channels) / 8 / 1032
}

/// The memory a decoder may use beside the pixels: one more copy of them, the file, and some room.
fn limits(pixel_bytes: u64, file: &[u8]) -> Limits {
    const ROOM: u64 = 64 << 20;
    let mut limits = Limits::no_limits();
    limits.max_alloc =
        Some(pixel_bytes.saturating_mul(2).saturating_add(file.len() as u64).saturating_add(ROOM));
    limits
}

/// Floating-point samples are refused: files of that kind do not agree on whether 1.0 is white, and a
/// reading must not hang on a guess.
fn check_colour(decoded: ColorType, stored: ExtendedColorType) -> Result<(), ReadErrorKind> {
    let found = match (decoded, stored) {
        (_, ExtendedColorType::Cmyk8 | ExtendedColorType::Cmyk16) => "CMYK",
        (ColorType::Rgb32F | ColorType::Rgba32F, _) => "floating-point numbers",
        _ => return Ok(()),
    };
    Err(ReadErrorKind::UnsupportedColour { found: found.to_owned() })
}

/// Whether the chunks run through to the `IEND` chunk (PNG third edition, 5.3).
fn png_is_complete(bytes: &[u8]) -> bool {
    png_chunks(bytes).any(|(name, _)| name == *b"IEND")
}

/// Whether every palette holds whole colours, and one at least (PNG third edition, 11.2.2).
fn png_palette_is_whole(bytes: &[u8]) -> bool {
    png_chunks(bytes)
        .filter(|(name, _)| name == b"PLTE")
        .all(|(_, length)| length > 0 && length % 3 == 0)
}

/// Names and lengths of the chunks, as far as they follow one another.
fn png_chunks(bytes: &[u8]) -> impl Iterator<Item = ([u8; 4], usize)> {
    let mut rest = bytes.get(8..).unwrap_or_default();
    std::iter::from_fn(move || {
        let (length, after) = rest.split_first_chunk::<4>()?;
        let (name, _) = after.split_first_chunk::<4>()?;
        let length = u32::from_be_bytes(*length) as usize;
        // Type, data and checksum.
        rest = after.get(length.saturating_add(8)..).unwrap_or_default();
        Some((*name, length))
    })
}

/// Whether the file is as long as its RIFF header says; an odd chunk's padding may be left out at the end.
fn webp_is_complete(bytes: &[u8]) -> bool {
    let size = bytes.get(4..8).and_then(|b| b.first_chunk()).map_or(0, |b| u32::from_le_bytes(*b));
    bytes.len() as u64 + 1 >= u64::from(size) + 8
}
