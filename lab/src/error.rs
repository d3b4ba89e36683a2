//! What can go wrong on the bench.

use std::path::PathBuf;

/// A failure of the bench.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LabError {
    /// A built-in table has no such column.
    #[error("the table of spectra has no column `{0}`")]
    NoSuchColumn(String),
    /// A built-in table does not have the rows and numbers it should.
    #[error("a table of spectra is damaged at line {line}")]
    DamagedTable {
        /// Line of the file, counted from 1.
        line: usize,
    },
    /// A least-squares fit had no single answer.
    #[error("the colour matrix could not be fitted: the sensor's channels are not independent")]
    SingularFit,
    /// A light too far from white to have a temperature, or some other colour out of its range.
    #[error("a colour is out of range")]
    Colour(#[from] mirecast::colour::ColourError),
    /// The built-in preset table does not parse.
    #[error("the preset table is broken: {0}")]
    Presets(String),
    /// A picture could not be encoded.
    #[error("could not encode a picture")]
    Encode(#[from] image::ImageError),
    /// A JPEG could not be written.
    #[error("could not write a JPEG")]
    Jpeg(#[from] jpeg_encoder::EncodingError),
    /// What is timed did not do its work.
    #[error("{0} failed on the rendered pictures")]
    Contender(String),
    /// A record could not be written as JSON.
    #[error("could not write a record")]
    Json(#[from] serde_json::Error),
    /// A file could not be read.
    #[error("could not read {path}", path = .path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// A folder's truth is not what it should be.
    #[error("{path} does not hold the frames' truth", path = .path.display())]
    Truth {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: serde_json::Error,
    },
    /// A picture could not be read.
    #[error("a picture could not be read")]
    Still(#[from] mirecast::still::ReadError),
    /// The balance that frames are taken to have has no white.
    #[error("5500 K daylight has no white")]
    NoDaylight,
    /// A file could not be written.
    #[error("could not write {path}", path = .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
}
