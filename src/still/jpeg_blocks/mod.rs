//! Reads the mean of every 8 × 8 block of a JPEG, and nothing else.
//!
//! The first coefficient of a block is its mean. Reading it takes the entropy decoder but neither the
//! inverse transform nor the other 63 coefficients, and it has not been rounded to whole levels, clipped or
//! interpolated. Where a picture is flat that makes a difference: a decoder that rounds moves the colour of
//! the whole area by up to half a level in each channel.
//!
//! Covered are Huffman-coded files of 8 bits (ITU-T T.81: baseline, extended sequential, progressive), grey
//! or with three components, in any sampling. In progressive files only the scans that carry means are
//! decoded. Unlike a viewer's decoder this one does not carry on past damage: it would have to invent means.
//!
//! The module stands alone: it knows nothing but bytes.

mod band;
mod bits;
mod colour;
mod energy;
mod error;
mod frame;
mod huffman;
mod markers;
mod passing;
mod planes;
mod reader;
mod scan;
mod sequential;
mod steps;
mod stretch;
#[cfg(test)]
mod tests;

pub(crate) use colour::ColourModel;
pub(crate) use error::Unread;
pub(crate) use markers::{find_ff, next_marker};
pub(crate) use planes::{BlockMeans, Plane};

/// Reads the block means from the bytes of a JPEG file.
///
/// What follows the picture is not looked at, and its end marker need not be there: once every mean has been
/// read, the reader stops. So a file cut short after its last mean reads whole, which for a progressive one
/// may be well before its end.
///
/// # Errors
/// [`Unread`]: the bytes are not a JPEG, are one of a kind that is not read, are damaged, or end too early.
pub(crate) fn read(jpeg: &[u8]) -> Result<BlockMeans, Unread> {
    reader::read(jpeg, false)
}

/// The same with the [variances](Plane::variances) within blocks of luma or grey, or of red, green and blue. A
/// progressive file is read through to its end marker for that, which takes several times as long.
///
/// # Errors
/// As [`read`].
pub(crate) fn read_with_variances(jpeg: &[u8]) -> Result<BlockMeans, Unread> {
    reader::read(jpeg, true)
}
