//! What lies beside a picture: a raw file of the same shot, and a sidecar with XMP.
//!
//! Both are looked for by name alone, in the same folder: `a.dng` (or a raw file in a camera's own
//! format) and `a.xmp` (or `a.jpg.xmp`) beside `a.jpg`. Since a name is weak evidence, what says that it was
//! taken at another time or with another camera is left alone.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use super::dng::Dng;
use super::guard::guarded;
use super::namesakes::Namesakes;
use super::raw::Calibrated;
use super::sniff::PictureFormat;
use super::{Note, ReadErrorKind, ReadOptions, ShotInfo, file, shot, xmp};

/// A raw file's directories usually lie at its start: so much is read before the whole is.
const HEAD_BYTES: u64 = 1 << 18;

/// Adds what lies beside the finished picture at `path` to what its own file says.
pub(super) fn add(path: &Path, options: &ReadOptions, shot: &mut ShotInfo) {
    let named = Namesakes::of(path);
    add_raw(&named, options, shot);
    add_sidecar(&named, options, shot);
}

fn add_raw(named: &Namesakes, options: &ReadOptions, shot: &mut ShotInfo) {
    let Some(raw) = raw_of(named) else { return };
    let name = name_of(&raw);
    let reason = match guarded(|| calibrated(&raw, options)).unwrap_or(Err(ReadErrorKind::Internal))
    {
        Ok((_, taken)) if is_another_shot(shot, &taken) => {
            "it is of another shot, by its time or camera".to_owned()
        }
        Ok((Calibrated { as_shot: Some(as_shot), .. }, _)) => {
            shot.raw_beside = Some(as_shot.white);
            return;
        }
        Ok(_) => return,
        Err(error) => error.to_string(),
    };
    shot.notes.push(Note::BesideIgnored { name, reason });
}

/// The raw file of the same name; a DNG comes before any other.
fn raw_of(named: &Namesakes) -> Option<PathBuf> {
    let endings = std::iter::once("dng".to_owned()).chain(other_raw_endings());
    endings.flat_map(|ending| named.ending_in(&ending)).find(|path| is_file(path))
}

#[cfg(feature = "raw-formats")]
fn other_raw_endings() -> impl Iterator<Item = String> {
    super::camera_raw::endings()
}

#[cfg(not(feature = "raw-formats"))]
fn other_raw_endings() -> impl Iterator<Item = String> {
    std::iter::empty()
}

fn add_sidecar(named: &Namesakes, options: &ReadOptions, shot: &mut ShotInfo) {
    let mut candidates = named.ending_in("xmp").into_iter().chain(named.with_appended("xmp"));
    let Some(sidecar) = candidates.find(|path| is_file(path)) else { return };
    let most = options.max_file_bytes.min(xmp::MOST_BYTES as u64);
    let limits = ReadOptions { max_file_bytes: most, ..options.clone() };
    let read = file::load(&sidecar, &limits)
        .map_err(|error| error.to_string())
        .and_then(|packet| xmp::read(&packet));
    let reason = match read {
        Ok(found) if differ(shot.taken.as_ref(), found.taken.as_ref()) => {
            "it is of another shot, by its time".to_owned()
        }
        Ok(found) => {
            shot.sidecar = Some(found);
            return;
        }
        Err(reason) => reason,
    };
    shot.notes.push(Note::BesideIgnored { name: name_of(&sidecar), reason });
}

fn is_file(path: &Path) -> bool {
    path.metadata().is_ok_and(|metadata| metadata.is_file())
}

fn name_of(path: &Path) -> String {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    shot::one_line(&name).unwrap_or_default()
}

/// The calibration of a raw file and how it was taken, from as little of the file as it takes.
fn calibrated(path: &Path, options: &ReadOptions) -> Result<(Calibrated, ShotInfo), ReadErrorKind> {
    let mut head = Vec::new();
    File::open(path)
        .and_then(|file| file.take(HEAD_BYTES).read_to_end(&mut head))
        .map_err(ReadErrorKind::Io)?;
    match calibrated_bytes(&head, options) {
        // The directories lie further on, or it is no raw file at all, which the whole says as well.
        Err(_) if head.len() as u64 == HEAD_BYTES => {
            calibrated_bytes(&file::load(path, options)?, options)
        }
        found => found,
    }
}

fn calibrated_bytes(
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<(Calibrated, ShotInfo), ReadErrorKind> {
    if let Some(dng) = Dng::open(bytes) {
        let (shot, _) = shot::from_exif(None, bytes, PictureFormat::Tiff);
        return Ok((dng.calibrated()?, shot));
    }
    #[cfg(feature = "raw-formats")]
    if super::sniff::is_other_raw(bytes) || super::tiff::is_other_raw(bytes) {
        return super::camera_raw::calibrated(bytes, options);
    }
    let _ = options;
    Err(ReadErrorKind::DamagedRaw { what: "it is named as a raw file but is none" })
}

fn is_another_shot(picture: &ShotInfo, raw: &ShotInfo) -> bool {
    differ(picture.taken.as_ref(), raw.taken.as_ref())
        || differ(picture.camera.as_ref(), raw.camera.as_ref())
}

/// Whether both are known and not the same.
fn differ<T: PartialEq>(a: Option<&T>, b: Option<&T>) -> bool {
    a.zip(b).is_some_and(|(a, b)| a != b)
}
