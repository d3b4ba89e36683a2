//! Ways to break a file: by bytes, and by the structure of each format.

mod boxes;
mod bytes;
mod icc;
mod jpeg;
mod png;
mod riff;
mod text;
mod tiff;

pub(crate) use boxes::bend as bend_boxes;
pub(crate) use bytes::bend as bend_bytes;
pub(crate) use icc::bend as bend_icc;
pub(crate) use jpeg::{bend as bend_jpeg, with_segment};
pub(crate) use png::{bend as bend_png, chunk, deflate, with_chunk};
pub(crate) use riff::{bend as bend_riff, with_riff_chunk};
pub(crate) use text::{Grammar, bend as bend_text};
pub(crate) use tiff::bend as bend_tiff;

use lab::Rng;

use crate::dice::Dice;

/// Changes a few of the parts that a file is made of; of one without any, bytes. Whether there were any.
fn bend_parts<T>(
    rng: &mut Rng,
    bytes: &mut Vec<u8>,
    mut parts: Vec<T>,
    once: impl Fn(&mut Rng, &mut Vec<T>),
    join: impl Fn(&[T]) -> Vec<u8>,
) -> bool {
    if parts.is_empty() {
        bend_bytes(rng, bytes);
        return false;
    }
    for _ in 0..1 + rng.below(3) {
        once(rng, &mut parts);
    }
    *bytes = join(&parts);
    true
}

/// Puts a number into `width` bytes at a place; what does not fit is left.
fn put(bytes: &mut [u8], at: usize, width: usize, value: u64, little: bool) {
    let Some(place) = at.checked_add(width).and_then(|end| bytes.get_mut(at..end)) else { return };
    for (n, byte) in place.iter_mut().enumerate() {
        let shift = if little { 8 * n } else { 8 * (width - 1 - n) };
        *byte = (value >> shift) as u8;
    }
}

/// The number in `width` bytes at a place.
fn get(bytes: &[u8], at: usize, width: usize, little: bool) -> Option<u64> {
    let place = bytes.get(at..at.checked_add(width)?)?;
    let add = |value: u64, byte: &u8| value << 8 | u64::from(*byte);
    Some(if little { place.iter().rev().fold(0, add) } else { place.iter().fold(0, add) })
}

/// Rearranges parts: leaves one out, doubles one, exchanges two, repeats one many times.
fn shuffle<T: Clone>(rng: &mut Rng, parts: &mut Vec<T>) {
    if parts.is_empty() {
        return;
    }
    let (a, b) = (rng.below(parts.len()), rng.below(parts.len()));
    match rng.below(8) {
        0 | 1 => {
            parts.remove(a);
        }
        2 | 3 => parts.insert(b, parts[a].clone()),
        4 | 5 => parts.swap(a, b),
        6 => {
            let part = parts.remove(a);
            parts.insert(b.min(parts.len()), part);
        }
        _ => {
            let times = [3, 20, 300][rng.below(3)];
            let part = parts[a].clone();
            parts.splice(a..a, std::iter::repeat_n(part, times));
        }
    }
}
