//! Why no block means could be read.

use thiserror::Error;

/// Why no block means could be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub(crate) enum Unread {
    /// The bytes do not begin as a JPEG does.
    #[error("not a JPEG")]
    NotJpeg,
    /// A JPEG of a kind that is not read here.
    #[error("not read: {0}")]
    Unsupported(#[from] Unsupported),
    /// The file contradicts itself or the standard.
    #[error("damaged: {0}")]
    Damaged(#[from] Damage),
    /// The file ends before the last mean.
    #[error("the file ends before the picture does")]
    Truncated,
}

/// What a JPEG has that is not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub(crate) enum Unsupported {
    /// Arithmetic entropy coding (SOF9 and up).
    #[error("arithmetic coding")]
    Arithmetic,
    /// Lossless coding (SOF3, or the frame of JPEG-LS).
    #[error("lossless coding")]
    Lossless,
    /// Hierarchical, that is, several frames that refine each other.
    #[error("hierarchical coding")]
    Hierarchical,
    /// Samples of another depth than 8 bits.
    #[error("{0} bits a sample")]
    Depth(u8),
    /// Another number of components than one or three; with four it is CMYK.
    #[error("{0} components")]
    Components(u8),
    /// The height comes after the picture (DNL).
    #[error("the height is given after the picture")]
    LateHeight,
    /// More pixels than [`MOST_PIXELS`](super::frame::MOST_PIXELS).
    #[error("{width} × {height} pixels")]
    TooLarge {
        /// Pixels across.
        width: u16,
        /// Pixels down.
        height: u16,
    },
}

/// What is wrong with a JPEG.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[non_exhaustive]
pub(crate) enum Damage {
    /// A segment is shorter than what it must hold, or holds values outside their range.
    #[error("a header segment makes no sense")]
    Segment,
    /// There is more than one frame, or a second start of image.
    #[error("there are two pictures in one")]
    SecondFrame,
    /// A scan comes before the frame it belongs to.
    #[error("a scan without a frame")]
    NoFrame,
    /// A scan has components or bit positions that cannot follow those before it.
    #[error("a scan does not fit the frame or the scans before it")]
    Scan,
    /// A scan uses a quantisation table that was not given, or one with a step of zero.
    #[error("a quantisation table is missing")]
    NoQuantisation,
    /// A scan uses a Huffman table that was not given.
    #[error("a Huffman table is missing")]
    NoHuffman,
    /// A Huffman table with more codes than there can be.
    #[error("a Huffman table is overfull")]
    Overfull,
    /// The data holds a code that its table has not.
    #[error("the data holds a code that does not exist")]
    Code,
    /// A block has more than 64 coefficients, or a mean out of all range.
    #[error("a block holds more than a block can")]
    Block,
    /// A scan's data ends, by a marker, before its last block.
    #[error("a scan is too short")]
    ScanShort,
    /// Data is left over after the last block of a scan or of a restart interval.
    #[error("a scan is too long")]
    ScanLong,
    /// Another marker than the restart marker that is due.
    #[error("a restart marker is missing")]
    Restart,
    /// The picture ends and a component, or the last bits of its means, have not been in it.
    #[error("a part of the means is missing")]
    Incomplete,
}
