//! A picture, decoded or about to be.

use super::Note;
use super::rows::Pixels;

/// What a decoder gives.
pub(super) struct Picture<'a> {
    pub(super) pixels: Pixels<'a>,
    pub(super) icc: Option<Vec<u8>>,
    pub(super) exif: Option<Vec<u8>>,
    /// An XMP packet, where the decoder hands it out; in other formats it is looked for in the file.
    pub(super) xmp: Option<Vec<u8>>,
    pub(super) notes: Vec<Note>,
}
