//! The records' JSON Schemas, from the types themselves.

use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema};

use super::{FrameRecord, GelRecord, GroupRecord, PhotoRecord, PresetRecord};
use crate::setups::{BracketReading, Comparison};

/// The JSON Schema of a [`PhotoRecord`], a line of the card command's JSON.
#[must_use]
pub fn card_schema() -> Schema {
    schema::<PhotoRecord>()
}

/// The JSON Schema of a [`FrameRecord`], a line of the frame check's JSON.
#[must_use]
pub fn frame_schema() -> Schema {
    schema::<FrameRecord>()
}

/// The JSON Schema of a [`GroupRecord`], a line of the frame check's JSON after the frames.
#[must_use]
pub fn group_schema() -> Schema {
    schema::<GroupRecord>()
}

/// The JSON Schema of a [`PresetRecord`], a line of the preset command's JSON.
#[must_use]
pub fn preset_schema() -> Schema {
    schema::<PresetRecord>()
}

/// The JSON Schema of a [`GelRecord`], a line of the gel command's JSON.
#[must_use]
pub fn gel_schema() -> Schema {
    schema::<GelRecord>()
}

/// The JSON Schema of a [`Comparison`], the one document of the set-ups command's JSON.
#[must_use]
pub fn setups_schema() -> Schema {
    schema::<Comparison>()
}

/// The JSON Schema of a [`BracketReading`], the one document of the dial command's JSON.
#[must_use]
pub fn dial_schema() -> Schema {
    schema::<BracketReading>()
}

fn schema<T: JsonSchema>() -> Schema {
    SchemaSettings::draft2020_12().for_serialize().into_generator().into_root_schema_for::<T>()
}
