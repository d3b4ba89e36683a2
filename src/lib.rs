//! Reads a photograph of a white card and says what light it was taken in.

pub mod balance;
pub mod card;
pub mod colour;
pub mod report;
pub mod still;

pub use card::{CardOptions, CardReading, read_card};
