//! What was ignored or assumed while reading a picture.

use std::fmt;

/// Something in the file that was ignored or assumed, without stopping the picture from being read.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Note {
    /// The Exif data is damaged; the fields that could be made out were kept.
    BadExif {
        /// What is wrong with it.
        reason: String,
    },
    /// The embedded ICC profile is damaged or too large and was ignored.
    BadProfile {
        /// What is wrong with it.
        reason: String,
    },
    /// The embedded ICC profile is sound but does not describe pixels like these, and was ignored.
    UnsuitableProfile {
        /// What it describes instead.
        reason: String,
    },
    /// The file does not say which colour encoding it is in; one was assumed.
    OddEncoding {
        /// The Exif `ColorSpace` value as recorded.
        color_space: u16,
        /// The name of the encoding that was assumed.
        assumed: &'static str,
    },
    /// The picture is black and white: it has one channel, or red, green and blue are equal everywhere.
    Grey,
    /// The last few rows of the file are missing.
    MissingEnd,
    /// The embedded XMP data is damaged and was ignored.
    BadXmp {
        /// What is wrong with it.
        reason: String,
    },
    /// A file of the same name beside the picture was ignored.
    BesideIgnored {
        /// The file's name, without its folder.
        name: String,
        /// What is wrong with it.
        reason: String,
    },
}

impl Note {
    /// A short name that stays the same from one version to the next.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::BadExif { .. } => "bad-exif",
            Self::BadProfile { .. } => "bad-profile",
            Self::UnsuitableProfile { .. } => "unsuitable-profile",
            Self::OddEncoding { .. } => "odd-encoding",
            Self::Grey => "grey",
            Self::MissingEnd => "missing-end",
            Self::BadXmp { .. } => "bad-xmp",
            Self::BesideIgnored { .. } => "beside-ignored",
        }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadExif { reason } => {
                write!(f, "The Exif data is damaged ({reason}), so some of it was ignored.")
            }
            Self::BadProfile { reason } => {
                write!(f, "The embedded colour profile is damaged ({reason}), so it was ignored.")
            }
            Self::UnsuitableProfile { reason } => write!(
                f,
                "The embedded colour profile does not suit the picture ({reason}), so it was ignored."
            ),
            Self::OddEncoding { color_space, assumed } => write!(
                f,
                "The file does not say which colour encoding it is in (Exif ColorSpace {color_space}, no \
                 profile), so it was read as {assumed}. Set the camera to sRGB to be sure."
            ),
            Self::Grey => f.write_str(
                "The picture is black and white, so it says nothing about the colour of the light. \
                 Take it in colour.",
            ),
            Self::BadXmp { reason } => {
                write!(f, "The embedded XMP data is damaged ({reason}), so it was ignored.")
            }
            Self::BesideIgnored { name, reason } => {
                write!(f, "The file {name} beside the picture was not used: {reason}",)
            }
            Self::MissingEnd => {
                f.write_str("The end of the file is missing, so its last rows may be wrong.")
            }
        }
    }
}
