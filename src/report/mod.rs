//! Finished records as text, JSON lines and CSV. Nothing is computed here: what a line says was
//! found by the layers below.
//!
//! Whatever comes from a file name, from a photo or from a user's table is escaped before it
//! stands in text or CSV, so that it cannot steer a terminal or a spreadsheet.

mod bracket;
mod card_words;
mod comparison;
mod comparison_words;
mod corrections;
mod csv;
#[cfg(test)]
mod examples;
mod folder;
#[cfg(test)]
mod frame_examples;
mod frame_order;
mod frame_record;
mod frames_advice;
mod frames_csv;
mod frames_notes;
mod frames_page;
mod frames_sheet;
mod frames_summary;
mod frames_words;
mod gels;
#[cfg(feature = "html")]
pub mod html;
mod json;
mod plain;
mod presets;
mod record;
mod rounded;
mod scale;
mod schema;
mod sheet;
mod tally;
mod text;
mod times;
mod words;

pub use bracket::write_bracket_text;
pub use comparison::write_comparison_text;
pub use corrections::{CorrectionLine, CorrectionsPage, write_corrections_text};
pub use csv::{CardTable, PresetsTable, write_bracket_csv, write_comparison_csv, write_gels_csv};
pub use frame_order::{FrameFilter, FrameOrder};
pub use frame_record::{FrameFailure, FrameOutcome, FrameRecord, GroupRecord, RecordError};
pub use frames_csv::FrameTable;
pub use frames_page::FramesPage;
pub use frames_sheet::write_frames_text;
pub use gels::{GelRecord, write_gels_text};
pub use json::write_json_line;
pub use plain::{plain, plain_path};
pub use presets::{PresetRecord, write_presets_text};
pub use record::{
    CardVerdict, ErrorRecord, Failure, FailureStatus, PathRecord, PhotoOutcome, PhotoRecord,
};
pub use rounded::{rounded_bracket, rounded_comparison};
pub use schema::{
    card_schema, dial_schema, frame_schema, gel_schema, group_schema, preset_schema, setups_schema,
};
pub use sheet::{CardSheet, Emphasis};
pub use tally::Tally;
pub use text::write_wrapped;
