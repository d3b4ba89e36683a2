//! Limits on what is read, and the fineness of the result.

use super::ReadErrorKind;
use super::ifd::MOST_DIRECTORIES;

/// Limits on what [`read`](super::read) accepts, and how fine a grid it makes.
///
/// The defaults take every photograph of an ordinary camera and refuse files made to exhaust memory.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct ReadOptions {
    /// Largest picture, in pixels (width × height). Default 200 million.
    pub max_pixels: u64,
    /// Largest file, in bytes. Default 1 GiB.
    pub max_file_bytes: u64,
    /// Largest embedded ICC profile, in bytes; a larger one is ignored with a note. Default 4 MiB.
    pub max_icc_bytes: usize,
    /// Most memory for the decoded pixels of one picture and what its decoder needs beside them, in bytes.
    /// Default 2 GiB. The file itself and a raw picture, which is read row by row, do not count.
    pub max_memory_bytes: u64,
    /// Most directories in the file's TIFF or Exif structure: more of them, one below or behind the other,
    /// and a TIFF or raw file is refused, an Exif block ignored with a note. Default 64.
    pub max_directories: usize,
    /// Most cells along the longer side of the picture. Default 384; 0 is taken as 1.
    pub long_side_cells: u32,
    /// Whether to take the colours as a JPEG stores them too, block by block, beside the decoded ones:
    /// what a card is read from, and time that nothing else gains by. Default yes.
    pub stored_colours: bool,
    /// Whether a large JPEG (2048 pixels or more along its longer side) may be read by its blocks' means alone,
    /// several times as fast as by decoding it. The cells are then whole blocks of 8 pixels, up to a quarter
    /// more of them than `long_side_cells` says; their colours are those of a full decode to a few thousandths
    /// in plain surfaces and a few hundredths in textured ones, and what is clipped is estimated. Files of other
    /// kinds, and damaged ones, are decoded in full. Default no.
    pub block_means: bool,
}

impl ReadOptions {
    /// With what the check of frames for casts needs: no stored colours, and block means where they do.
    #[must_use]
    pub fn for_frames(self) -> Self {
        Self { stored_colours: false, block_means: true, ..self }
    }
}

impl Default for ReadOptions {
    fn default() -> Self {
        Self {
            max_pixels: 200_000_000,
            max_file_bytes: 1 << 30,
            max_icc_bytes: 4 << 20,
            max_memory_bytes: 2 << 30,
            max_directories: MOST_DIRECTORIES,
            long_side_cells: 384,
            stored_colours: true,
            block_means: false,
        }
    }
}

/// Refuses a picture of more than `limit` pixels.
pub(super) fn fits([width, height]: [u32; 2], limit: u64) -> Result<(), ReadErrorKind> {
    if u64::from(width) * u64::from(height) > limit {
        return Err(ReadErrorKind::TooManyPixels { width, height, limit });
    }
    Ok(())
}
