//! Reads a still: a file becomes a [`LinearFrame`] and a [`ShotInfo`].
//!
//! This is the only layer that touches bytes. It reads JPEG, PNG, TIFF and WebP with 8 or 16 bits a
//! channel, grey or RGB, with or without alpha. It undoes the encoding's own transfer curve (from the
//! embedded ICC profile, else from Exif, else sRGB) and nothing else: the camera's white balance and
//! tone curve stay in the picture.
//!
//! Raw files by the DNG specification give the camera's own linear channels, balanced as shot, and the
//! camera's colour calibration in [`Still::raw`], from which the light follows without any balance.
//!
//! Input is treated as hostile: sizes are bounded by [`ReadOptions`], a panic in a decoder becomes an
//! error, and broken Exif or a broken profile costs a [`Note`], never the picture.
//!
//! With the feature `raw-formats` (on by default) raw files in cameras' own formats are read too, by the decoder library
//! `rawler` (LGPL-2.1): with the model's colour matrices that it brings, else as DNG.
//!
//! With the feature `jpeg-xl` (on by default) JPEG XL is read too, by the decoder library `jxl-oxide`.
//!
//! Out of scope: HEIF and AVIF, films, CMYK, floating-point samples and high dynamic range. Each has an error that says
//! what the file is and what to do with it.

pub mod advice;
mod beside;
mod block_frame;
#[cfg(feature = "raw-formats")]
mod camera_raw;
mod decode;
mod decoder_error;
mod dng;
mod encoding;
mod error;
mod file;
mod grey;
mod grid;
mod guard;
mod ifd;
mod jpeg;
mod jpeg_blocks;
#[cfg(feature = "jpeg-xl")]
mod jxl;
mod namesakes;
mod note;
mod numbers;
mod options;
mod orientation;
mod picture;
mod pixel;
mod png_rows;
mod preview;
mod profile;
mod raw;
mod reduced;
mod rows;
mod sensor;
mod shot;
mod sniff;
mod stored_blocks;
mod tiff;
mod tiff_rows;
mod transfer_table;
mod xmp;

use std::borrow::Cow;
use std::path::Path;

use crate::colour::{Matrix3, Xy};
use guard::guarded;

pub use encoding::{Encoding, EncodingSource, SampledCurves, Transfer};
pub use error::{ReadError, ReadErrorKind};
pub(crate) use grey::is_neutral;
pub use grid::{Cell, LinearFrame};
pub use note::Note;
pub use options::ReadOptions;
pub use preview::Preview;
pub use raw::RawColour;
pub(crate) use reduced::png_title;
pub use reduced::{ReducedPicture, WritePngError, read_reduced};
pub use shot::ShotInfo;
pub use sniff::looks_like_media;
pub use stored_blocks::{StoredBlock, StoredBlocks};
pub use xmp::XmpShot;

/// A picture reduced to cells, and what its file says about how it was taken.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Still {
    /// The picture, upright, as a grid of cells in linear light.
    pub frame: LinearFrame,
    /// What Exif says, and what had to be ignored.
    pub shot: ShotInfo,
    /// The camera's colour calibration, where the picture is raw.
    pub raw: Option<RawColour>,
}

impl Still {
    /// The frame as the picture looks in `balance`.
    ///
    /// A raw picture is in no balance yet: its frame is scaled by what the camera recorded, and where
    /// another balance is stated, it is that one's white which has to look white. A finished picture
    /// is in the balance that it was made with, whatever is stated; without a `balance` so is a raw
    /// one.
    #[must_use]
    pub fn frame_in(&self, balance: Option<Xy>) -> Cow<'_, LinearFrame> {
        match self.encoding_in(balance) {
            None => Cow::Borrowed(&self.frame),
            Some(encoding) => Cow::Owned(LinearFrame { encoding, ..self.frame.clone() }),
        }
    }

    /// The same without a copy of the cells.
    fn into_frame_in(mut self, balance: Option<Xy>) -> LinearFrame {
        if let Some(encoding) = self.encoding_in(balance) {
            self.frame.encoding = encoding;
        }
        self.frame
    }

    /// What the frame's values mean in `balance`; `None` where that is what they mean already.
    fn encoding_in(&self, balance: Option<Xy>) -> Option<Encoding> {
        let (raw, white) = self.raw.as_ref().zip(balance)?;
        let mut encoding = self.frame.encoding.clone();
        encoding.white_xyz = white.to_xyz().into();
        if let Some(Matrix3(to_xyz)) = raw.xyz_in(white) {
            encoding.to_xyz = to_xyz;
        }
        Some(encoding)
    }
}

/// The formats of finished pictures that this build reads, in words.
pub const FORMATS: &str = if cfg!(feature = "jpeg-xl") {
    "JPEG, PNG, TIFF, WebP, JPEG XL"
} else {
    "JPEG, PNG, TIFF, WebP"
};

/// Reads the picture at `path`.
///
/// The format is told from the content, whatever the file is called. What a raw file or a sidecar
/// of the same name beside it says about the as-shot balance goes into [`ShotInfo`] too.
///
/// # Errors
/// [`ReadError`], naming `path`: the file is missing, is not a plain file, is empty, is not a picture, is
/// in a format or a colour layout that is not read, is truncated or damaged, or exceeds a limit.
pub fn read(path: &Path, options: &ReadOptions) -> Result<Still, ReadError> {
    let mut still = file::with_bytes(path, options, |bytes| from_bytes(bytes, options))
        .map_err(|kind| ReadError::at(path, kind))?;
    if still.raw.is_none() {
        beside::add(path, options, &mut still.shot);
    }
    Ok(still)
}

/// How the names of the raw files that are read end, in small letters: `dng`, and with the feature
/// `raw-formats` what the decoder library knows. What a file is is told from its content all the
/// same.
pub fn raw_endings() -> impl Iterator<Item = String> {
    let own = std::iter::once("dng".to_owned());
    #[cfg(feature = "raw-formats")]
    let own = own.chain(camera_raw::endings());
    own
}

/// Reads a picture from the bytes of its file.
///
/// # Errors
/// [`ReadError`] without a path, for the same reasons as [`read`].
pub fn read_bytes(bytes: &[u8], options: &ReadOptions) -> Result<Still, ReadError> {
    from_bytes(bytes, options).map_err(ReadError::nowhere)
}

fn from_bytes(bytes: &[u8], options: &ReadOptions) -> Result<Still, ReadErrorKind> {
    if bytes.is_empty() {
        return Err(ReadErrorKind::Empty);
    }
    if bytes.len() as u64 > options.max_file_bytes {
        return Err(ReadErrorKind::TooManyBytes {
            bytes: bytes.len() as u64,
            limit: options.max_file_bytes,
        });
    }
    if ifd::TiffBytes::new(bytes).is_some_and(|file| file.exceeds(options.max_directories)) {
        return Err(ReadErrorKind::TooManyDirectories { limit: options.max_directories });
    }
    #[cfg(feature = "raw-formats")]
    if sniff::is_other_raw(bytes) || tiff::is_other_raw(bytes) {
        return guarded(|| camera_raw::read(bytes, options))
            .unwrap_or(Err(ReadErrorKind::Internal));
    }
    let format = sniff::picture_format(bytes)?;
    if let Some(dng) = dng::Dng::open(bytes) {
        let still = guarded(|| assemble_raw(bytes, &dng, options));
        return still.unwrap_or(Err(ReadErrorKind::Internal));
    }
    // The decoders are other people's code fed with untrusted bytes: whatever goes wrong in one picture
    // must not end a batch of them.
    guarded(|| assemble(bytes, format, options)).unwrap_or(Err(ReadErrorKind::Internal))
}

fn assemble(
    bytes: &[u8],
    format: sniff::PictureFormat,
    options: &ReadOptions,
) -> Result<Still, ReadErrorKind> {
    if options.block_means
        && format == sniff::PictureFormat::Jpeg
        && let Some(still) = assemble_blocks(bytes, options)
    {
        return Ok(still);
    }
    let picture = decode::decode(bytes, format, options)?;
    let header = decode::Header {
        icc: picture.icc,
        exif: picture.exif,
        xmp: picture.xmp,
        is_grey: picture.pixels.is_grey(),
        size: picture.pixels.size(),
        notes: picture.notes,
    };
    let is_noted_grey = header.is_grey;
    let (mut shot, pipeline) = describe(header, bytes, format, options);
    let orientation = orientation::Orientation::from_exif(shot.orientation);
    let mut frame = grid::reduce(picture.pixels, pipeline, orientation, options)?;
    if options.stored_colours
        && format == sniff::PictureFormat::Jpeg
        && let Ok(blocks) = jpeg_blocks::read(bytes)
    {
        frame.take_block_means(&blocks, orientation);
        // Behind a profile of tables there is no curve by channel to compare the stored values through.
        if !matches!(frame.encoding.transfer, Transfer::Converted) {
            frame.stored = stored_blocks::StoredBlocks::of(&blocks, orientation);
        }
    }
    if !is_noted_grey && grey::is_black_and_white(&frame, format) {
        shot.notes.push(Note::Grey);
    }
    Ok(Still { frame, shot, raw: None })
}

/// What the file says about the picture: how it was taken, and the way from its numbers to light.
fn describe(
    header: decode::Header,
    bytes: &[u8],
    format: sniff::PictureFormat,
    options: &ReadOptions,
) -> (ShotInfo, profile::Pipeline) {
    let nests_too_deep = |block: &[u8]| {
        ifd::TiffBytes::new(shot::without_prefix(block))
            .is_some_and(|b| b.exceeds(options.max_directories))
    };
    let (mut shot, interop_index) = if header.exif.as_deref().is_some_and(nests_too_deep) {
        let reason = format!("it has more than {} directories", options.max_directories);
        let notes = vec![Note::BadExif { reason }];
        (ShotInfo { notes, ..ShotInfo::default() }, None)
    } else {
        shot::from_exif(header.exif, bytes, format)
    };
    shot.notes.extend(header.notes);
    add_xmp(&mut shot, header.xmp.as_deref().or_else(|| xmp::embedded(bytes, format)));
    if header.is_grey {
        shot.notes.push(Note::Grey);
    }
    let mut pipeline = None;
    if let Some(icc) = &header.icc {
        match profile::interpret(icc, header.is_grey, options.max_icc_bytes) {
            Ok(found) => pipeline = Some(found),
            Err(note) => shot.notes.push(note),
        }
    }
    let pipeline = pipeline.unwrap_or_else(|| {
        let (encoding, note) = encoding::from_exif(shot.color_space, interop_index.as_deref());
        // With a profile, even a broken one, the file did say what it is; that was noted already.
        if header.icc.is_none() {
            shot.notes.extend(note);
        }
        profile::Pipeline::from(encoding)
    });
    (shot, pipeline)
}

/// A large JPEG by its block means alone. `None` where it is none, or is of a kind or in a state that is for the
/// full decoder to judge.
fn assemble_blocks(bytes: &[u8], options: &ReadOptions) -> Option<Still> {
    let header = decode::jpeg_header(bytes, options)?;
    if header.size[0].max(header.size[1]) < block_frame::LEAST_LONG_SIDE {
        return None;
    }
    let (format, is_noted_grey) = (sniff::PictureFormat::Jpeg, header.is_grey);
    let (mut shot, pipeline) = describe(header, bytes, format, options);
    let means = jpeg_blocks::read_with_variances(bytes).ok()?;
    if !jpeg::ends_after(bytes, means.end) {
        return None;
    }
    let orientation = orientation::Orientation::from_exif(shot.orientation);
    let frame = block_frame::frame(&means, pipeline.encoding, orientation, options)?;
    if !is_noted_grey && grey::is_black_and_white(&frame, format) {
        shot.notes.push(Note::Grey);
    }
    Some(Still { frame, shot, raw: None })
}

fn add_xmp(shot: &mut ShotInfo, packet: Option<&[u8]>) {
    let Some(packet) = packet else { return };
    match xmp::read(packet) {
        Ok(found) => shot.xmp = Some(found),
        Err(reason) => shot.notes.push(Note::BadXmp { reason }),
    }
}

fn assemble_raw(
    bytes: &[u8],
    dng: &dng::Dng,
    options: &ReadOptions,
) -> Result<Still, ReadErrorKind> {
    let (mut shot, _) = shot::from_exif(None, bytes, sniff::PictureFormat::Tiff);
    let orientation = orientation::Orientation::from_exif(shot.orientation);
    let (frame, colour) = dng.read(orientation, options)?;
    shot.raw_white = colour.recorded_white();
    Ok(Still { frame, shot, raw: Some(colour) })
}
