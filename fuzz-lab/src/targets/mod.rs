//! What is fed, and with what. A new target is a type that implements [`Target`] and a line in
//! [`TARGETS`].

mod pictures;
mod program;
mod records;
mod tables;

use std::path::PathBuf;

use lab::Rng;

use crate::seeds::Kind;
#[cfg(feature = "raw-formats")]
use pictures::CameraRaw;
use pictures::{Bombs, Inside, Part, Pictures};

/// Something that takes bytes from outside.
pub trait Target {
    /// The input of a number: the same for the same stream.
    fn input(&self, rng: &mut Rng) -> Vec<u8>;

    /// Takes an input; how that ended, in a word.
    ///
    /// # Errors
    /// What is wrong with what came out. A panic need not be caught here.
    fn run(&self, input: &[u8]) -> Result<String, String>;

    /// Whether a panic at this place, in a file of the source, counts as an error of the input only:
    /// in the decoder library for cameras' own raw formats, which costs a user the one file. Broken
    /// TIFF files go there too where they say that they are raw.
    fn forgives(&self, place: &str) -> bool {
        place.contains("/rawler-")
    }

    /// Memory that one process may hold over all its inputs, in KiB.
    fn memory_kib(&self) -> u64 {
        MEMORY_KIB
    }
}

/// Twice what the limits below let a picture take, and room for the process.
const MEMORY_KIB: u64 = 400 << 10;
/// The limit on pixels for most inputs, so that many are tried in little time.
const FEW_PIXELS: u64 = 1 << 20;

/// Where things are.
#[derive(Debug, Clone)]
pub struct Setting {
    /// Further folders of sound files to begin with.
    pub folders: Vec<PathBuf>,
    /// The program, for the targets that run it.
    pub program: PathBuf,
}

/// How a target is made.
type Make = fn(&Setting) -> Box<dyn Target>;

/// Every target by its name.
const TARGETS: &[(&str, Make)] = &[
    ("jpeg", |setting| Box::new(Pictures::new(Kind::Jpeg, setting))),
    ("png", |setting| Box::new(Pictures::new(Kind::Png, setting))),
    ("tiff", |setting| Box::new(Pictures::new(Kind::Tiff, setting))),
    ("webp", |setting| Box::new(Pictures::new(Kind::WebP, setting))),
    ("jpeg-xl", |setting| Box::new(Pictures::new(Kind::JpegXl, setting))),
    ("dng", |setting| Box::new(Pictures::new(Kind::Raw, setting))),
    #[cfg(feature = "raw-formats")]
    ("camera-raw", |setting| Box::new(CameraRaw::new(setting))),
    ("exif", |_| Box::new(Inside::new(Part::Exif))),
    ("icc", |_| Box::new(Inside::new(Part::Icc))),
    ("xmp", |_| Box::new(Inside::new(Part::Xmp))),
    ("bombs", |setting| Box::new(Bombs::new(setting))),
    ("presets", |_| Box::new(tables::Presets)),
    ("gels", |_| Box::new(tables::Gels)),
    ("records", |_| Box::new(records::Records::new())),
    ("list", |setting| Box::new(program::List::new(setting))),
    ("commands", |setting| Box::new(program::Commands::new(setting))),
];

/// The names of all targets.
pub fn target_names() -> impl Iterator<Item = &'static str> {
    TARGETS.iter().map(|(name, _)| *name)
}

/// The target of a name; `None` where there is none.
#[must_use]
pub fn target(name: &str, setting: &Setting) -> Option<Box<dyn Target>> {
    TARGETS.iter().find(|(known, _)| *known == name).map(|(_, make)| make(setting))
}

/// Fails on text that could steer a terminal.
fn harmless(text: &[u8]) -> Result<(), String> {
    let text = std::str::from_utf8(text).map_err(|_| "the output is not UTF-8".to_owned())?;
    let steers = |c: char| {
        c.is_control() && c != '\n'
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    match text.find(steers) {
        Some(at) => Err(format!("a raw control character in the output: {:?}", context(text, at))),
        None => Ok(()),
    }
}

fn context(text: &str, at: usize) -> String {
    text.chars().skip(text[..at].chars().count().saturating_sub(20)).take(50).collect()
}
