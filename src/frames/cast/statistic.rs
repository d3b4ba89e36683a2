//! Statistics of a frame that tell its neutral.

use crate::still::LinearFrame;

/// The order of the mean: between the mean of all, 1, and the brightest of each channel, ∞
/// (Finlayson and Trezzi 2004 use 6).
const ORDER: i32 = 6;
/// More of a cell than this at the top or the bottom of the scale, and its colour is lost.
const LOST: f32 = 0.01;

/// The mean of a high order over the cells that are neither clipped nor black, linear.
pub(super) fn bright_mean(frame: &LinearFrame) -> Option<[f64; 3]> {
    let cells = frame
        .cells
        .iter()
        .filter(|cell| cell.weight > 0.5 && cell.clipped < LOST && cell.black < LOST);
    let mut sums = [0.0; 3];
    let mut count = 0_u32;
    for cell in cells {
        count += 1;
        for (sum, value) in sums.iter_mut().zip(cell.mean) {
            *sum += f64::from(value.max(0.0)).powi(ORDER);
        }
    }
    let mean = sums.map(|sum| (sum / f64::from(count.max(1))).powf(1.0 / f64::from(ORDER)));
    (count > 0 && mean.iter().all(|value| *value > 0.0)).then_some(mean)
}
