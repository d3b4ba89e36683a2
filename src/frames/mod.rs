//! Many stills without a card → their casts, verdicts and groups.

mod cast;

pub use cast::training as cast_training;
pub use cast::{Cast, CastPoint, CastPosterior, estimate, white_linear_srgb};
