//! A small corrected copy of a picture, to look at.

use super::Plan;
use crate::still::{self, ReducedPicture, WritePngError};

/// Which of a correction's two files a proof shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Proof {
    /// The Common LUT Format file: the correction itself.
    Clf,
    /// The CDL.
    Cdl,
}

impl Proof {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Clf, Self::Cdl];

    /// What a proof's file name ends in, before the extension.
    #[must_use]
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::Clf => "-proof-clf",
            Self::Cdl => "-proof-cdl",
        }
    }
}

const TITLE: &str = "Proof";
const NOTE: &str = "Proof, not for delivery: a reduced copy corrected by ";

/// Whether bytes begin as a proof does, which is a copy that can be made again. A kilobyte is enough
/// to tell.
#[must_use]
pub fn is_proof(head: &[u8]) -> bool {
    let holds = |text: &str| head.windows(text.len()).any(|part| part == text.as_bytes());
    still::png_title(head) == Some(TITLE.as_bytes()) && holds(NOTE)
}

/// The picture corrected as the file would have it, as a PNG with the picture's own profile and
/// orientation, marked as a proof in its metadata.
///
/// Where the picture and the footage are of one encoding, as a camera's sRGB pictures and sRGB
/// footage are, its numbers are those that the file makes of the picture's numbers.
///
/// # Errors
/// [`WritePngError`] where the picture cannot be encoded.
pub fn proof(
    picture: &ReducedPicture,
    plan: &Plan,
    which: Proof,
) -> Result<Vec<u8>, WritePngError> {
    let (matrix, footage, cdl) = (plan.correction().matrix(), plan.footage(), plan.fit().cdl);
    let pixels = picture.map_linear_srgb(|linear| match which {
        Proof::Clf => matrix.apply(linear),
        Proof::Cdl => footage.decode(cdl.apply(footage.encode(linear))),
    });
    let file = match which {
        Proof::Clf => format!("{}.clf", plan.id()),
        Proof::Cdl => format!("{}.cc", plan.id()),
    };
    let note = format!("{NOTE}{file}. {}", plan.descriptions().join(" "));
    picture.to_png(&pixels, TITLE, &note)
}
