//! Sound files to begin with: small ones of every kind, the sample frames, and whatever folders are
//! named.

#[cfg(feature = "raw-formats")]
mod camera_raw;
mod jpeg;
mod jxl;
mod metadata;
mod png;
mod raw;
mod tiff;
mod webp;

use std::fs;
use std::path::{Path, PathBuf};

pub(crate) use metadata::{exif, icc_profiles, xmp};

use image::{DynamicImage, ImageFormat, Luma, Rgb, RgbImage, Rgba};

/// A kind of picture, by how it is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Jpeg,
    Png,
    Tiff,
    WebP,
    JpegXl,
    /// DNG.
    Raw,
    /// In cameras' own formats.
    #[cfg(feature = "raw-formats")]
    CameraRaw,
}

impl Kind {
    /// By the first bytes; a raw file is a TIFF that says so, which only its name tells here.
    fn of(path: &Path, bytes: &[u8]) -> Option<Self> {
        let raw = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("dng"));
        match bytes {
            [0xFF, 0xD8, ..] => Some(Self::Jpeg),
            [0x89, b'P', b'N', b'G', ..] => Some(Self::Png),
            [0xFF, 0x0A, ..] | [0, 0, 0, 12, b'J', b'X', b'L', b' ', ..] => Some(Self::JpegXl),
            [b'R', b'I', b'F', b'F', ..] => Some(Self::WebP),
            [b'I', b'I', ..] | [b'M', b'M', ..] => Some(if raw { Self::Raw } else { Self::Tiff }),
            _ => None,
        }
    }
}

/// The seeds of a kind: small ones, and large ones that are used more rarely.
pub(crate) struct Seeds {
    pub(crate) small: Vec<Vec<u8>>,
    pub(crate) large: Vec<Vec<u8>>,
}

/// Files up to this many bytes are small.
const SMALL: usize = 40_000;

pub(crate) fn seeds(kind: Kind, folders: &[PathBuf]) -> Seeds {
    let own = match kind {
        Kind::Jpeg => jpeg::all(),
        Kind::Png => png::all(),
        Kind::Tiff => tiff::all(),
        Kind::WebP => webp::all(),
        Kind::JpegXl => jxl::all(),
        Kind::Raw => raw::all(),
        #[cfg(feature = "raw-formats")]
        Kind::CameraRaw => camera_raw::all(),
    };
    let samples = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../sample-frames"));
    let folders = folders.iter().map(PathBuf::as_path).chain([samples]);
    let found = folders.flat_map(files).filter_map(|path| {
        let bytes = fs::read(&path).ok()?;
        (Kind::of(&path, &bytes) == Some(kind)).then_some(bytes)
    });
    let (small, large) = own.into_iter().chain(found).partition(|bytes| bytes.len() <= SMALL);
    Seeds { small, large }
}

/// All files in a folder and in those in it, by name: the same order every time.
fn files(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    paths.into_iter().flat_map(|p| if p.is_dir() { files(&p) } else { vec![p] }).collect()
}

/// A card with falloff on a darker ground: what the readers look for.
fn card(width: u32, height: u32) -> RgbImage {
    RgbImage::from_fn(width, height, |x, y| {
        let [u, v] = [f64::from(x) / f64::from(width), f64::from(y) / f64::from(height)];
        let on_card = (0.2..0.8).contains(&u) && (0.2..0.8).contains(&v);
        let level = if on_card { 200.0 - 30.0 * u } else { 60.0 + 20.0 * v };
        let grain = f64::from((x * 7 + y * 13) % 5);
        Rgb([level * 1.05, level, level * 0.9].map(|value| (value + grain).min(255.0) as u8))
    })
}

/// A picture with detail everywhere.
fn busy(width: u32, height: u32) -> RgbImage {
    let mut rng = lab::Rng::new(3);
    RgbImage::from_fn(width, height, |_, _| Rgb(std::array::from_fn(|_| rng.next_u64() as u8)))
}

/// Pictures that are strange but sound.
fn strange() -> Vec<DynamicImage> {
    let rgb = |width, height, colour| RgbImage::from_pixel(width, height, Rgb(colour)).into();
    vec![
        card(96, 64).into(),
        busy(48, 32).into(),
        rgb(1, 1, [200, 190, 180]),
        rgb(1, 300, [200, 190, 180]),
        rgb(300, 1, [90, 100, 110]),
        rgb(40, 40, [0; 3]),
        rgb(40, 40, [255; 3]),
        rgb(64, 48, [128; 3]),
        image::GrayImage::from_pixel(33, 21, Luma([140])).into(),
        DynamicImage::from(card(60, 40)).to_luma8().into(),
    ]
}

/// The same in layouts that JPEG does not have.
fn deep_or_transparent() -> Vec<DynamicImage> {
    let card = DynamicImage::from(card(60, 40));
    let clear = image::RgbaImage::from_pixel(30, 20, Rgba([200, 200, 200, 0]));
    let mut half = card.to_rgba8();
    half.enumerate_pixels_mut().for_each(|(x, _, pixel)| pixel.0[3] = (x * 4) as u8);
    vec![
        card.to_rgb16().into(),
        card.to_rgba16().into(),
        card.to_luma16().into(),
        card.to_luma_alpha8().into(),
        card.to_luma_alpha16().into(),
        clear.into(),
        half.into(),
    ]
}

/// Encodes a picture; one that the format does not hold gives nothing.
fn encode(image: &DynamicImage, format: ImageFormat) -> Option<Vec<u8>> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    image.write_to(&mut bytes, format).ok()?;
    Some(bytes.into_inner())
}

#[cfg(test)]
mod tests {
    use super::*;
    use mirecast::still::{ReadOptions, read_bytes};

    #[test]
    fn most_seeds_of_every_kind_are_sound() {
        for kind in [Kind::Jpeg, Kind::Png, Kind::Tiff, Kind::WebP, Kind::Raw] {
            let Seeds { small, large } = seeds(kind, &[]);
            let ends: Vec<_> = small
                .iter()
                .chain(&large)
                .map(|bytes| read_bytes(bytes, &ReadOptions::default()).map_err(|e| e.to_string()))
                .collect();
            let read = ends.iter().filter(|end| end.is_ok()).count();
            let errors: Vec<_> = ends.iter().filter_map(|end| end.as_ref().err()).collect();
            assert!(read >= 8 && read * 3 >= ends.len() * 2, "{kind:?}: {read}; {errors:?}");
        }
    }
}
