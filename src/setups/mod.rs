//! Many readings → a comparison: how far set-ups lie apart, the one balance between them, and the
//! gels that bring them together.

mod cameras;
mod comparison;
mod compromise;
mod gel_choice;
mod pool;
mod setup;
mod shift;

pub use cameras::CameraOffset;
pub use comparison::{Comparison, ComparisonNote, ComparisonOptions, compare};
pub use compromise::{NearestPreset, OneBalance, SetupMiss};
pub use gel_choice::{GEL_CAUTIONS, GelChoice};
pub use setup::{LeftOut, PhotoFailure, Setup, SetupPhoto, SetupRecord, SetupStatus};
pub use shift::Shift;
