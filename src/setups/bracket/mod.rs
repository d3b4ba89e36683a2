//! A bracket of balance settings: photos of one card in one light at several settings → the
//! setting at which the card is neutral on this camera.

mod agreement;
mod counted;
mod fit;
mod one_camera;
mod problem;
mod reading;
mod record;

pub use problem::BracketProblem;
pub use reading::read_bracket;
pub use record::{BracketPhoto, BracketReading, NeutralAt};
