//! One still of a white card → a card reading.

mod advice;
mod banding;
mod calibration;
mod calibration_raw;
mod cell_box;
mod diagnosis;
mod evenness;
mod find;
mod found;
mod grid;
mod half_widths;
mod held;
mod lamp;
mod model_error;
mod one_change;
mod options;
mod outline;
mod outshone;
mod places;
mod problem;
mod problem_advice;
mod problem_words;
mod profile;
mod raw_error;
mod raw_light;
mod reading;
mod record;
mod sample;
mod stated_area;
mod surfaces;
mod tone;
mod two_parts;
mod uncertainty;

pub use lamp::Lamp;
pub use model_error::ModelError;
pub use options::{Area, CardOptions};
pub use problem::{Problem, ProblemRecord};
pub use reading::read_card;
pub use record::{
    BalanceRecord, CardReading, CardRecord, LightReading, Residual, ShotRecord, Status,
};
