//! A decoded picture.

use image::DynamicImage;

use super::Note;

/// What a decoder gives.
pub(super) struct Picture {
    pub(super) pixels: DynamicImage,
    pub(super) icc: Option<Vec<u8>>,
    pub(super) exif: Option<Vec<u8>>,
    /// An XMP packet, where the decoder hands it out; in other formats it is looked for in the file.
    pub(super) xmp: Option<Vec<u8>>,
    pub(super) notes: Vec<Note>,
}
