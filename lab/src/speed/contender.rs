//! What is timed: the program, and others' decoders with their result thrown away.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use image::ImageFormat;

use crate::LabError;

/// One way to read all pictures.
pub(super) enum Contender {
    /// `mirecast frames`, all of it, on so many threads.
    Frames { program: PathBuf, threads: usize },
    /// The decoder that the program falls back to, in full.
    Full,
    /// A pure-Rust decoder that can stop at an eighth of the size.
    Scaled,
    /// The C library's program at an eighth of the size, two at a time.
    Djpeg,
}

/// At a time, for all but the program.
const WORKERS: usize = 2;

impl Contender {
    /// All there are on this machine; the program on two threads comes first.
    pub(super) fn all(program: &Path) -> Vec<Self> {
        let frames = |threads| Self::Frames { program: program.to_owned(), threads };
        let mut all = vec![frames(2), frames(1), Self::Full, Self::Scaled];
        let mut djpeg = Command::new("djpeg");
        djpeg.arg("-version").stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        if djpeg.status().is_ok() {
            all.push(Self::Djpeg);
        }
        all
    }

    pub(super) fn name(&self) -> String {
        match self {
            Self::Frames { threads: 1, .. } => "mirecast frames, one thread".to_owned(),
            Self::Frames { threads, .. } => format!("mirecast frames, {threads} threads"),
            Self::Full => "image: full decode, two threads".to_owned(),
            Self::Scaled => "jpeg-decoder: an eighth, two threads".to_owned(),
            Self::Djpeg => "djpeg -scale 1/8, two at a time".to_owned(),
        }
    }

    /// How long it takes for all files of a folder.
    pub(super) fn time(&self, folder: &Path, files: &[PathBuf]) -> Result<Duration, LabError> {
        let start = Instant::now();
        let all_well = match self {
            Self::Frames { program, threads } => {
                let mut command = Command::new(program);
                command.args(["frames", "--format", "json", "--threads", &threads.to_string()]);
                succeeds(command.arg(folder))
            }
            Self::Full => each(files, |path| {
                let bytes = fs::read(path).ok()?;
                image::load_from_memory_with_format(&bytes, ImageFormat::Jpeg).ok().map(|_| ())
            }),
            Self::Scaled => each(files, |path| {
                let bytes = fs::read(path).ok()?;
                let mut decoder = jpeg_decoder::Decoder::new(bytes.as_slice());
                decoder.scale(500, 375).ok()?;
                decoder.decode().ok().map(|_| ())
            }),
            Self::Djpeg => each(files, |path| {
                let mut command = Command::new("djpeg");
                succeeds(command.args(["-scale", "1/8"]).arg(path)).then_some(())
            }),
        };
        let time = start.elapsed();
        if all_well { Ok(time) } else { Err(LabError::Contender(self.name())) }
    }
}

fn succeeds(command: &mut Command) -> bool {
    command.stdout(Stdio::null()).status().is_ok_and(|status| status.success())
}

/// Does `work` on every file, so many at a time; whether all went well.
fn each(files: &[PathBuf], work: impl Fn(&Path) -> Option<()> + Sync) -> bool {
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    std::thread::scope(|threads| {
        for _ in 0..WORKERS {
            threads.spawn(|| {
                while let Some(path) = files.get(next.fetch_add(1, Ordering::Relaxed)) {
                    if work(path).is_some() {
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                }
            });
        }
    });
    done.into_inner() == files.len()
}
