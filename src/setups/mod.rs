//! Many readings → a comparison: how far set-ups lie apart, the one balance between them, and the
//! gels that bring them together; and a bracket of balance settings → the setting at which a card
//! is neutral.

mod advice;
mod bracket;
mod cameras;
mod comparison;
mod compromise;
#[cfg(test)]
mod examples;
mod gel_choice;
mod pool;
mod setup;
mod shift;

pub use bracket::{BracketPhoto, BracketProblem, BracketReading, NeutralAt, read_bracket};
pub use cameras::CameraOffset;
pub use comparison::{Comparison, ComparisonNote, ComparisonOptions, compare};
pub use compromise::{NearestPreset, OneBalance, SetupMiss};
pub use gel_choice::{GEL_CAUTIONS, GelChoice};
pub use setup::{LeftOut, PhotoFailure, Setup, SetupPhoto, SetupRecord, SetupStatus};
pub use shift::Shift;
