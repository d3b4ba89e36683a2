//! Casts → corrections for a grading program, as ASC CDL and Common LUT Format.
//!
//! A cast's neutral leads to a [`Correction`], a matrix in linear light. The Common LUT Format
//! says it exactly; a [`Cdl`] only nearly, and says how nearly. [`Headroom`] says what it costs,
//! and a [`Decision`] whether it is made at all.

mod cc;
mod cdl;
mod chart;
mod clf;
mod correction;
mod decision;
#[cfg(test)]
mod examples;
mod files;
mod footage;
mod headroom;
mod names;
mod neutral;
mod plan;
mod proof;
mod record;
mod sample;
mod simplex;
mod strength;
mod subject;
mod warnings;
mod xml;

pub use cc::{cc_file, ccc_file};
pub use cdl::{Cdl, CdlFit};
pub use chart::chart;
pub use clf::clf_file;
pub use correction::Correction;
pub use decision::{Decision, GradeOptions};
pub use files::{COLLECTION, CorrectionFile, correction_files, file_names};
pub use footage::{Footage, FootageError};
pub use headroom::Headroom;
pub use names::unique_names;
pub use neutral::neutral_to_correct;
pub use plan::Plan;
pub use proof::{Proof, is_proof, proof};
pub use record::{CorrectionRecord, CorrectionStatus, MadeRecord};
pub use sample::ColourSample;
pub use strength::{Strength, StrengthError};

/// Who made a file.
fn made_by() -> String {
    format!("Made by mirecast {}.", env!("CARGO_PKG_VERSION"))
}
