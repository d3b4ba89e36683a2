//! A picture reduced for looking at: in its own encoding, lying as it is stored, and back to a file.

use std::path::Path;

use exif::experimental::Writer as ExifWriter;
use exif::{Field, In, Tag, Value};
use flate2::Crc;
use image::codecs::png::PngEncoder;
use image::{ExtendedColorType, ImageEncoder};

use super::guard::guarded;
use super::orientation::Orientation;
use super::{
    Encoding, EncodingSource, LinearFrame, ReadError, ReadErrorKind, ReadOptions, Transfer, decode,
    dng, encoding, file, grid, profile, shot, sniff,
};
use crate::colour::{Matrix3, Xy};

/// A small copy of a picture in linear light: means over whole squares of its pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct ReducedPicture {
    width: u32,
    height: u32,
    /// In the linear light of `encoding`, row by row as the file stores it.
    pixels: Vec<[f32; 3]>,
    encoding: Encoding,
    icc: Option<Vec<u8>>,
    orientation: u8,
}

/// A picture that could not be encoded.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum WritePngError {
    /// There are not as many pixels as the picture has, or the encoder says no.
    #[error("the picture cannot be encoded: {0}")]
    Encode(#[from] image::ImageError),
    /// The orientation and the note do not fit into an Exif block.
    #[error("its Exif block cannot be written: {0}")]
    Exif(#[from] exif::Error),
}

/// Reads the picture at `path` reduced by a whole number, so that its longer side has at most
/// `long_side` pixels; a small picture is read as it is. A raw file is shown in `balance`, where one
/// is given, as by [`Still::frame_in`](super::Still::frame_in).
///
/// # Errors
/// As [`read`](super::read).
pub fn read_reduced(
    path: &Path,
    long_side: u32,
    balance: Option<Xy>,
    options: &ReadOptions,
) -> Result<ReducedPicture, ReadError> {
    file::load(path, options)
        .and_then(|bytes| from_bytes(&bytes, long_side, balance, options))
        .map_err(|kind| ReadError::at(path, kind))
}

fn from_bytes(
    bytes: &[u8],
    long_side: u32,
    balance: Option<Xy>,
    options: &ReadOptions,
) -> Result<ReducedPicture, ReadErrorKind> {
    let options =
        &ReadOptions { long_side_cells: long_side, stored_colours: false, ..options.clone() };
    if dng::Dng::open(bytes).is_some() {
        return raw(bytes, balance, options);
    }
    let finished = sniff::picture_format(bytes).and_then(|format| {
        guarded(|| finished(bytes, format, options)).unwrap_or(Err(ReadErrorKind::Internal))
    });
    // What is no finished picture may be raw all the same; if not, it is told as what it is.
    finished.or_else(|why| raw(bytes, balance, options).map_err(|_| why))
}

/// As it is stored: nothing is turned.
fn as_stored() -> Orientation {
    Orientation::from_exif(1)
}

fn finished(
    bytes: &[u8],
    format: sniff::PictureFormat,
    options: &ReadOptions,
) -> Result<ReducedPicture, ReadErrorKind> {
    let picture = decode::decode(bytes, format, options)?;
    let (shot, interop_index) = shot::from_exif(picture.exif, bytes, format);
    let is_grey = picture.pixels.is_grey();
    let profiled = picture
        .icc
        .as_ref()
        .and_then(|icc| profile::interpret(icc, is_grey, options.max_icc_bytes).ok());
    // A profile that led nowhere, or that leads only one way, is not the copy's.
    let leads_back =
        |pipeline: &profile::Pipeline| !matches!(pipeline.encoding.transfer, Transfer::Converted);
    let kept = profiled.as_ref().is_some_and(leads_back) && !is_grey;
    let pipeline = profiled.unwrap_or_else(|| {
        profile::Pipeline::from(encoding::from_exif(shot.color_space, interop_index.as_deref()).0)
    });
    let frame = grid::reduce(picture.pixels, pipeline, as_stored(), options)?;
    Ok(ReducedPicture::of(frame, picture.icc.filter(|_| kept), shot.orientation))
}

/// A raw file stores no picture that could be kept lying as it is: its copy is upright.
fn raw(
    bytes: &[u8],
    balance: Option<Xy>,
    options: &ReadOptions,
) -> Result<ReducedPicture, ReadErrorKind> {
    let still = super::from_bytes(bytes, options)?;
    Ok(ReducedPicture::of(still.into_frame_in(balance), None, 1))
}

impl ReducedPicture {
    /// What has no curve of its own to go back by goes into sRGB.
    fn of(frame: LinearFrame, icc: Option<Vec<u8>>, orientation: u8) -> Self {
        let to_srgb = frame.encoding.to_linear_srgb();
        let goes_back = !matches!(frame.encoding.transfer, Transfer::Converted | Transfer::Linear);
        let colour = |mean: [f32; 3]| {
            if goes_back { mean } else { to_srgb.apply(mean.map(f64::from)).map(|v| v as f32) }
        };
        Self {
            width: frame.columns,
            height: frame.rows,
            pixels: frame.cells.iter().map(|cell| colour(cell.mean)).collect(),
            encoding: if goes_back {
                frame.encoding
            } else {
                Encoding::srgb(EncodingSource::Assumed)
            },
            icc,
            orientation,
        }
    }

    /// Width and height as it lies in the file.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        [self.width, self.height]
    }

    /// The Exif orientation by which it is to be turned upright, 1–8.
    #[must_use]
    pub fn orientation(&self) -> u8 {
        self.orientation
    }

    /// Its encoding.
    #[must_use]
    pub fn encoding(&self) -> &Encoding {
        &self.encoding
    }

    /// The pixels, encoded in 8 bits as the picture's own are, after `change` was done to each in
    /// linear sRGB. Only what comes out is held within the scale.
    #[must_use]
    pub fn map_linear_srgb(&self, change: impl Fn([f64; 3]) -> [f64; 3]) -> Vec<[u8; 3]> {
        let to_srgb = self.encoding.to_linear_srgb();
        let back = self.encoding.from_linear_srgb().unwrap_or(Matrix3::IDENTITY);
        let pixel = |linear: &[f32; 3]| {
            let changed = back.apply(change(to_srgb.apply(linear.map(f64::from))));
            std::array::from_fn(|channel| {
                let encoded = self.encoding.transfer.to_encoded(channel, changed[channel]);
                (255.0 * encoded).round() as u8
            })
        };
        self.pixels.iter().map(pixel).collect()
    }

    /// A PNG of such pixels with this picture's profile and orientation, and a title and a note.
    ///
    /// # Errors
    /// [`WritePngError`] where there are not as many pixels, or the encoder fails.
    pub fn to_png(
        &self,
        pixels: &[[u8; 3]],
        title: &str,
        note: &str,
    ) -> Result<Vec<u8>, WritePngError> {
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        let refused = |error| image::ImageError::Unsupported(error);
        if let Some(icc) = &self.icc {
            encoder.set_icc_profile(icc.clone()).map_err(refused)?;
        }
        encoder.set_exif_metadata(self.exif(note)?).map_err(refused)?;
        let room = self.width as usize * self.height as usize;
        if pixels.len() != room {
            let kind = image::error::ParameterErrorKind::DimensionMismatch;
            return Err(image::ImageError::Parameter(kind_error(kind)).into());
        }
        encoder.write_image(
            pixels.as_flattened(),
            self.width,
            self.height,
            ExtendedColorType::Rgb8,
        )?;
        Ok(with_text(bytes, &[("Title", title), ("Description", note)]))
    }

    fn exif(&self, note: &str) -> Result<Vec<u8>, exif::Error> {
        let ascii: Vec<u8> =
            note.bytes().map(|b| if b.is_ascii_graphic() { b } else { b' ' }).collect();
        let field = |tag, value| Field { tag, ifd_num: In::PRIMARY, value };
        let fields = [
            field(Tag::ImageDescription, Value::Ascii(vec![ascii])),
            field(Tag::Orientation, Value::Short(vec![u16::from(self.orientation)])),
            field(Tag::Software, Value::Ascii(vec![b"mirecast".to_vec()])),
        ];
        let mut writer = ExifWriter::new();
        fields.iter().for_each(|field| writer.push_field(field));
        let mut block = std::io::Cursor::new(Vec::new());
        writer.write(&mut block, true)?;
        Ok(block.into_inner())
    }
}

fn kind_error(kind: image::error::ParameterErrorKind) -> image::error::ParameterError {
    image::error::ParameterError::from_kind(kind)
}

/// Where a PNG's header ends (PNG third edition, 11.2.1): it is the first chunk and has 13 bytes.
const AFTER_HEADER: usize = 8 + 12 + 13;

/// The title that [`ReducedPicture::to_png`] put into a PNG, straight after its header.
pub(crate) fn png_title(png: &[u8]) -> Option<&[u8]> {
    let chunk = png.strip_prefix(b"\x89PNG\r\n\x1A\n").and(png.get(AFTER_HEADER..))?;
    let (length, rest) = chunk.split_first_chunk::<4>()?;
    let body = rest.get(4..4_usize.checked_add(u32::from_be_bytes(*length) as usize)?)?;
    body.strip_prefix(b"Title\0\0\0\0\0").filter(|_| rest.starts_with(b"iTXt"))
}

/// A PNG with international text put in after its header (11.3.3.3).
fn with_text(mut png: Vec<u8>, texts: &[(&str, &str)]) -> Vec<u8> {
    if png.len() < AFTER_HEADER {
        return png;
    }
    let rest = png.split_off(AFTER_HEADER);
    for (keyword, text) in texts {
        // Not compressed, in no stated language, without a translated keyword.
        let body = [b"iTXt", keyword.as_bytes(), &[0; 5], text.as_bytes()].concat();
        let mut checksum = Crc::new();
        checksum.update(&body);
        // Far below the format's limit of 2³¹.
        png.extend(u32::try_from(body.len() - 4).unwrap_or(0).to_be_bytes());
        png.extend(&body);
        png.extend(checksum.sum().to_be_bytes());
    }
    png.extend(rest);
    png
}

#[cfg(test)]
mod tests {
    use image::{DynamicImage, Rgb, RgbImage};
    use moxcms::ColorProfile;

    use super::*;

    fn photo(width: u32, height: u32, icc: Option<Vec<u8>>, orientation: u16) -> Vec<u8> {
        let image: DynamicImage = RgbImage::from_fn(width, height, |x, y| {
            Rgb([(x * 7 % 256) as u8, (y * 5 % 256) as u8, ((x + y) * 3 % 256) as u8])
        })
        .into();
        let mut bytes = Vec::new();
        let mut encoder = PngEncoder::new(&mut bytes);
        if let Some(icc) = icc {
            encoder.set_icc_profile(icc).unwrap();
        }
        let field = Field {
            tag: Tag::Orientation,
            ifd_num: In::PRIMARY,
            value: Value::Short(vec![orientation]),
        };
        let mut writer = ExifWriter::new();
        writer.push_field(&field);
        let mut block = std::io::Cursor::new(Vec::new());
        writer.write(&mut block, true).unwrap();
        encoder.set_exif_metadata(block.into_inner()).unwrap();
        encoder.write_image(image.as_bytes(), width, height, ExtendedColorType::Rgb8).unwrap();
        bytes
    }

    fn reduced(bytes: &[u8], long_side: u32) -> ReducedPicture {
        from_bytes(bytes, long_side, None, &ReadOptions::default()).unwrap()
    }

    /// Every code of every channel comes back as it was, through each kind of curve.
    #[test]
    fn a_picture_left_alone_comes_back_as_it_was() {
        let icc = |profile: ColorProfile| Some(profile.encode().unwrap());
        let profiles = [
            None,
            icc(ColorProfile::new_srgb()),
            icc(ColorProfile::new_display_p3()),
            icc(ColorProfile::new_adobe_rgb()),
        ];
        for icc in profiles {
            let bytes = photo(300, 200, icc.clone(), 6);
            let picture = reduced(&bytes, 1024);
            let pixels = picture.map_linear_srgb(|linear| linear);
            let png = picture.to_png(&pixels, "Proof", "nothing was done").unwrap();
            let before = image::load_from_memory(&bytes).unwrap();
            let after = image::load_from_memory(&png).unwrap();
            assert_eq!(before.as_bytes(), after.as_bytes());
            let copy = reduced(&png, 1024);
            assert_eq!((copy.orientation, &copy.icc), (6, &icc));
        }
    }

    #[test]
    fn a_large_picture_is_reduced_by_means_of_light() {
        let picture = reduced(&photo(300, 200, None, 1), 64);
        assert_eq!(picture.size(), [60, 40]);
        let pixels = picture.map_linear_srgb(|linear| linear.map(|light| 0.5 * light));
        assert_eq!(pixels.len(), 60 * 40);
        let light = |code: u32| Transfer::Srgb.to_linear(0, f64::from(code) / 255.0);
        let mean = (0..5).map(|x| light(x * 7)).sum::<f64>() / 5.0;
        let wanted = 255.0 * Transfer::Srgb.to_encoded(0, 0.5 * mean);
        assert!((f64::from(pixels[0][0]) - wanted).abs() <= 0.5, "{}", pixels[0][0]);
    }

    #[test]
    fn the_copy_says_what_it_is() {
        let picture = reduced(&photo(20, 20, None, 1), 64);
        let pixels = picture.map_linear_srgb(|linear| linear);
        let png = picture.to_png(&pixels, "Proof", "Été, not for delivery").unwrap();
        let holds = |text: &str| png.windows(text.len()).any(|part| part == text.as_bytes());
        assert!(holds("iTXtTitle") && holds("Été, not for delivery"));
        assert!(image::load_from_memory(&png).is_ok(), "its checksums hold");
        assert_eq!(png_title(&png), Some(&b"Proof"[..]));
        assert_eq!(png_title(&photo(20, 20, None, 1)), None);
        for cut in 0..200 {
            let _ = png_title(&png[..cut]);
        }
        assert!(picture.to_png(&pixels[1..], "Proof", "").is_err());
    }
}
