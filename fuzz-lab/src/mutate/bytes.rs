//! By bytes, knowing nothing.

use lab::Rng;

use super::put;
use crate::dice::Dice;

/// Changes a few bytes: values, lengths, order.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    for _ in 0..1 + rng.below(4) {
        once(rng, bytes);
    }
}

fn once(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let at = rng.below(bytes.len());
    // Most changes are short; a few go far.
    let reach = if rng.once_in(8) { bytes.len() } else { 64 };
    let length = rng.below(reach.min(bytes.len() - at) + 1);
    match rng.below(11) {
        0 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << rng.below(8);
            }
        }
        1 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte = rng.next_u64() as u8;
            }
        }
        2 | 3 => {
            let width = [1, 2, 4, 8][rng.below(4)];
            let value = rng.odd_number();
            put(bytes, at, width, value, rng.once_in(2));
        }
        4 => {
            bytes.drain(at..at + length);
        }
        5 => {
            let part = bytes[at..at + length].to_vec();
            let to = rng.below(bytes.len() + 1);
            bytes.splice(to..to, part);
        }
        6 => {
            let part = bytes[at..at + length].to_vec();
            let to = rng.below(bytes.len() - length + 1);
            bytes[to..to + length].copy_from_slice(&part);
        }
        7 => {
            let fill = [0, 0xFF, 0x80, rng.next_u64() as u8][rng.below(4)];
            bytes[at..at + length].fill(fill);
        }
        8 => {
            for byte in &mut bytes[at..at + length] {
                *byte = rng.next_u64() as u8;
            }
        }
        9 if rng.once_in(3) => bytes.truncate(at),
        9 => {
            let zeros = vec![0; length];
            bytes.splice(at..at, zeros);
        }
        _ => {
            let more: Vec<u8> = (0..length).map(|_| rng.next_u64() as u8).collect();
            bytes.splice(at..at, more);
        }
    }
}
