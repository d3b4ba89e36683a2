//! The published JSON Schemas are those of the types.
//!
//! After a change to a record, write them anew with `MIRECAST_WRITE_SCHEMA=1 cargo test --test
//! schema`, and see in the difference that fields were added and none renamed.

use std::path::Path;

use mirecast::report::{
    card_schema, dial_schema, frame_schema, gel_schema, group_schema, preset_schema, setups_schema,
};
use schemars::Schema;

#[track_caller]
fn assert_published(name: &str, schema: &Schema) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema").join(name);
    let mut text = serde_json::to_string_pretty(schema).expect("a schema is JSON");
    text.push('\n');
    if std::env::var_os("MIRECAST_WRITE_SCHEMA").is_some() {
        std::fs::write(&path, &text).expect("writes");
    }
    let published = std::fs::read_to_string(&path).expect("is published");
    assert!(
        published.replace("\r\n", "\n") == text,
        "schema/{name} is out of date: run MIRECAST_WRITE_SCHEMA=1 cargo test --test schema"
    );
}

#[test]
fn the_card_schema_is_up_to_date() {
    assert_published("card.json", &card_schema());
}

#[test]
fn the_preset_schema_is_up_to_date() {
    assert_published("preset.json", &preset_schema());
}

#[test]
fn the_gel_schema_is_up_to_date() {
    assert_published("gel.json", &gel_schema());
}

#[test]
fn the_setups_schema_is_up_to_date() {
    assert_published("setups.json", &setups_schema());
}

#[test]
fn the_dial_schema_is_up_to_date() {
    assert_published("dial.json", &dial_schema());
}

#[test]
fn the_dial_schema_names_what_scripts_rely_on() {
    let schema = serde_json::to_string(&dial_schema()).expect("a schema is JSON");
    for field in [
        "photos",
        "path",
        "setting_kelvin",
        "residual",
        "neutral_at",
        "kelvin",
        "kelvin_interval",
        "duv",
        "problems",
    ] {
        assert!(schema.contains(&format!("\"{field}\":")), "{field}");
    }
}

#[test]
fn the_setups_schema_names_what_scripts_rely_on() {
    let schema = serde_json::to_string(&setups_schema()).expect("a schema is JSON");
    for field in [
        "setups",
        "name",
        "light",
        "photos",
        "spread_mired",
        "shifts",
        "from",
        "to",
        "mired",
        "mired_interval",
        "duv",
        "duv_interval",
        "balance",
        "kelvin",
        "misses",
        "setup",
        "preset",
        "worst_miss_mired",
        "gels",
        "on",
        "toward",
        "gel",
        "left_mired",
        "left_duv",
        "stops",
        "cameras",
    ] {
        assert!(schema.contains(&format!("\"{field}\":")), "{field}");
    }
}

#[test]
fn the_frame_and_group_schemas_are_up_to_date() {
    assert_published("frame.json", &frame_schema());
    assert_published("group.json", &group_schema());
}

#[test]
fn the_frame_and_group_schemas_name_what_scripts_rely_on() {
    let frame = serde_json::to_string(&frame_schema()).expect("a schema is JSON");
    let cast = ["mired", "mired_interval", "duv", "duv_interval", "white_linear_srgb"];
    let own = ["path", "verdict", "cast", "gains", "group", "error", "code", "message"];
    for field in own.iter().chain(&cast) {
        assert!(frame.contains(&format!("\"{field}\":")), "{field}");
    }
    for verdict in ["neutral", "orange", "blue", "green", "magenta", "undecided"] {
        assert!(frame.contains(&format!("\"{verdict}\"")), "{verdict}");
    }
    let group = serde_json::to_string(&group_schema()).expect("a schema is JSON");
    for field in ["group", "frames", "cast"].iter().chain(&cast) {
        assert!(group.contains(&format!("\"{field}\":")), "{field}");
    }
}

#[test]
fn the_card_schema_names_what_scripts_rely_on() {
    let schema = serde_json::to_string(&card_schema()).expect("a schema is JSON");
    for field in [
        "path",
        "status",
        "card",
        "coverage",
        "area",
        "level",
        "problems",
        "shot",
        "balance",
        "residual",
        "white_linear_srgb",
        "light",
        "cct_kelvin",
        "cct_interval_kelvin",
        "mired",
        "mired_interval",
        "duv",
        "duv_interval",
        "presets",
        "miss_mired",
        "miss_duv",
        "delta_e_2000",
        "appearance",
        "advice",
        "error",
        "code",
        "message",
    ] {
        assert!(schema.contains(&format!("\"{field}\":")), "{field}");
    }
    for status in ["read", "residual-only", "refused", "failed"] {
        assert!(schema.contains(&format!("\"{status}\"")), "{status}");
    }
}
