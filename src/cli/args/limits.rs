//! How much one file may take: pixels, bytes, memory, time.

use std::num::NonZero;
use std::time::Duration;

use clap::Args;
use mirecast::still::ReadOptions;

use crate::cli::batch::Batch;

/// Beyond a limit a file is refused; the others are read all the same.
#[derive(Debug, Clone, Copy, PartialEq, Args)]
#[command(next_help_heading = "Limits")]
pub(crate) struct Limits {
    /// Refuse pictures of more pixels, width times height; K, M and G are thousands, millions and
    /// thousands of millions
    #[arg(long, value_name = "N", value_parser = pixels, default_value = "200M")]
    pub(crate) max_pixels: u64,

    /// Refuse files of more bytes; K, M and G are 1024, its square and its cube
    #[arg(long, value_name = "SIZE", value_parser = bytes, default_value = "1G")]
    pub(crate) max_file_size: u64,

    /// Refuse pictures that take more memory to decode; several are decoded at once
    #[arg(long, value_name = "SIZE", value_parser = bytes, default_value = "2G")]
    pub(crate) max_memory: u64,

    /// Ignore an embedded colour profile of more bytes
    #[arg(long, value_name = "SIZE", value_parser = bytes, default_value = "4M")]
    pub(crate) max_profile_size: u64,

    /// Refuse TIFF and raw files of more directories, and ignore Exif data of more
    #[arg(long, value_name = "N", value_parser = directories, default_value = "64")]
    pub(crate) max_directories: usize,

    /// Give a file up that takes longer
    #[arg(long, value_name = "S", value_parser = seconds, default_value = "30")]
    pub(crate) max_seconds: f64,

    /// Read so many files at once; without it, as many as there are cores
    #[arg(long, value_name = "N", value_parser = threads)]
    pub(crate) threads: Option<NonZero<usize>>,
}

impl Limits {
    pub(crate) fn reading(&self) -> ReadOptions {
        let mut options = ReadOptions::default();
        options.max_pixels = self.max_pixels;
        options.max_file_bytes = self.max_file_size;
        options.max_memory_bytes = self.max_memory;
        options.max_icc_bytes = usize::try_from(self.max_profile_size).unwrap_or(usize::MAX);
        options.max_directories = self.max_directories;
        options
    }

    pub(crate) fn batch(&self) -> Batch {
        Batch::new(self.threads.map(|n| n.min(MOST_THREADS)), self.longest())
    }

    fn longest(&self) -> Duration {
        Duration::try_from_secs_f64(self.max_seconds).unwrap_or(Duration::MAX)
    }
}

/// More than this only costs memory.
const MOST_THREADS: NonZero<usize> = NonZero::new(256).unwrap();

fn pixels(text: &str) -> Result<u64, String> {
    scaled(text, 1000).ok_or_else(|| "write a number above 0, as in 200M or 50000000".to_owned())
}

fn bytes(text: &str) -> Result<u64, String> {
    scaled(text, 1024).ok_or_else(|| "write a number of bytes above 0, as in 500M or 2G".to_owned())
}

/// A whole number above 0, with K, M or G behind it or not.
fn scaled(text: &str, step: u64) -> Option<u64> {
    let power = match text.chars().last()?.to_ascii_uppercase() {
        'K' => 1,
        'M' => 2,
        'G' => 3,
        _ => 0,
    };
    let digits = if power == 0 { text } else { text.get(..text.len() - 1)? };
    let number: u64 = digits.parse().ok()?;
    number.checked_mul(step.pow(power)).filter(|number| *number > 0)
}

fn directories(text: &str) -> Result<usize, String> {
    text.parse().map_err(|_| "write a whole number, as in 64".to_owned())
}

fn threads(text: &str) -> Result<NonZero<usize>, String> {
    text.parse().map_err(|_| "write a whole number above 0, as in 4".to_owned())
}

fn seconds(text: &str) -> Result<f64, String> {
    let usage = "write a number of seconds from 0.1 to 86400";
    let number: f64 = text.parse().map_err(|_| usage)?;
    (0.1..=86_400.0).contains(&number).then_some(number).ok_or_else(|| usage.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_may_be_written_short() {
        assert_eq!(pixels("200M"), Ok(200_000_000));
        assert_eq!(bytes("1G"), Ok(1 << 30));
        assert_eq!(bytes("4k"), Ok(4096));
        assert_eq!(bytes("12"), Ok(12));
        for wrong in ["", "0", "M", "-1", "1.5M", "99999999999G", "1T", "é"] {
            assert!(bytes(wrong).is_err() && pixels(wrong).is_err(), "{wrong}");
        }
        assert_eq!(seconds("0.5"), Ok(0.5));
        for wrong in ["0", "nan", "inf", "-3", "x"] {
            assert!(seconds(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_defaults_are_those_of_the_library() {
        #[derive(clap::Parser)]
        struct Only {
            #[command(flatten)]
            limits: Limits,
        }
        let limits = <Only as clap::Parser>::parse_from(["x"]).limits;
        assert_eq!(limits.reading(), ReadOptions::default());
    }
}
