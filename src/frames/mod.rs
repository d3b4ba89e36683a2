//! Many stills without a card → their casts, verdicts and groups.

mod cast;
mod check;
mod clock;
mod groups;
mod kept;
mod natural;
mod quantile;
mod reference;
mod silent;
mod verdict;
mod view;

pub use cast::training as cast_training;
pub use cast::{Cast, CastPoint, CastPosterior, estimate, white_linear_srgb};
pub use check::{FrameOptions, FrameReading, ReferenceRecord, check_frame};
pub(crate) use clock::Clock;
pub(crate) use groups::group_sourced;
pub use groups::{Drift, DriftKind, GroupReading, Grouping, group_frames};
pub use natural::natural_order;
pub use reference::{Misfit, Reference, ReferenceError};
pub use verdict::{Tolerance, ToleranceError, Verdict, verdict};
pub use view::{ViewMark, ViewMarkError};
