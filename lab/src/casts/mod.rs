//! Trains the cast estimator on frames whose cast is known, and compares it with the classical ones.
//!
//! Only figures for scenes that were left out of training count: frames of one scene never stand on both sides.

mod classical;
mod compare;
mod crops;
mod example;
mod figures;
mod graded;
mod minimise;
mod objective;
mod source;
mod train;

pub use compare::table;
pub use example::{Example, read};
pub use figures::Figures;
pub use graded::{Graded, graded};
pub use source::source;
pub use train::{Trained, train};
