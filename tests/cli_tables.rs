//! The tables of presets and of gels from the outside.

mod cli_common;
mod still_common;

use cli_common::Shoot;
use mirecast::balance::PresetTable;

#[test]
fn the_presets_are_shown_in_every_format() {
    let shoot = Shoot::new();
    let text = shoot.run(&["presets"]);
    text.assert_fits_the_page();
    assert_eq!((text.code, text.err.as_str()), (0, ""));
    assert!(text.out.contains("\ntungsten                  3200    312.5   0.0000\n"));

    let records = shoot.run(&["presets", "--format", "json"]).records();
    let table = PresetTable::built_in().unwrap();
    assert_eq!(records.len(), table.presets().len());
    assert_eq!(records[0]["name"], "daylight");
    assert_eq!((&records[0]["kelvin"], &records[0]["compare"]), (&5500.0.into(), &true.into()));

    let csv = shoot.run(&["presets", "--format", "csv"]).out;
    assert!(csv.starts_with("name,kelvin,duv,mired,compare\ndaylight,5500,"), "{csv}");
    assert_eq!(csv.lines().count(), 1 + records.len());
}

#[test]
fn a_written_table_can_be_edited_and_used_and_is_never_overwritten() {
    let shoot = Shoot::new();
    let written = shoot.run(&["presets", "--write", "mine.toml"]);
    assert_eq!((written.code, written.err.as_str()), (0, ""));
    assert!(written.out.contains("--presets mine.toml"), "{}", written.out);
    let text = std::fs::read_to_string(shoot.path("mine.toml")).unwrap();
    assert_eq!(text, PresetTable::built_in_text());

    std::fs::write(shoot.path("mine.toml"), text.replace("kelvin = 6500", "kelvin = 6000"))
        .unwrap();
    let shown = shoot.run(&["presets", "--presets", "mine.toml", "--format", "json"]).records();
    let cloudy = shown.iter().find(|record| record["name"] == "cloudy").unwrap();
    assert_eq!(cloudy["kelvin"], 6000.0);

    let again = shoot.run(&["presets", "--write", "mine.toml"]);
    assert_eq!(again.code, 1);
    assert!(again.err.contains("mine.toml: there is such a file already"), "{}", again.err);
    let kept = std::fs::read_to_string(shoot.path("mine.toml")).unwrap();
    assert!(kept.contains("kelvin = 6000"));
}

#[test]
fn what_is_wrong_in_a_table_says_what_to_write() {
    for (command, text, said) in [
        ("presets", "daylight = 5500\n", "bad.toml, line 1: write `daylight` as a heading"),
        ("presets", "[day]\nkelvin = \"5500\"\n", "bad.toml, line 2: `kelvin` is a number"),
        ("presets", "[day]\nkelvn = 5500\n", "bad.toml, line 2: there is no `kelvn` here"),
        ("gels", "[a]\nkind = 1\nmired = 9\n", "line 2: `kind` is text in quotes"),
        ("gels", "[a]\nkind = 'green'\nstops = 1\n", "`mired` is missing; write it as in"),
        ("gels", "[a]\nkind = 'cto'\nmired = 1\n", "`cto` is not known; write `temperature` or"),
        ("gels", "[a]\nkind = 'green'\nmired = '9'\n", "write it as in `mired = 65`"),
    ] {
        let shoot = Shoot::new().with("bad.toml", text.as_bytes());
        let run = shoot.run(&[command, &format!("--{command}"), "bad.toml"]);
        assert_eq!(run.code, 2, "{text}: {}", run.err);
        assert!(run.err.contains(said), "{text}: {}", run.err);
        for parsers in ["invalid type", "expected", "unknown field", "missing field"] {
            assert!(!run.err.contains(parsers), "{text}: {}", run.err);
        }
    }
}

#[test]
fn a_gel_table_is_shown_written_edited_and_used() {
    let shoot = Shoot::new();
    let shown = shoot.run(&["gels"]);
    shown.assert_fits_the_page();
    assert!(shown.out.contains("1/4 minus green"), "{}", shown.out);
    assert_eq!(shoot.run(&["gels", "--format", "json"]).records().len(), 20);
    assert_eq!(shoot.run(&["gels", "--write", "my.toml"]).code, 0);
    assert_eq!(shoot.run(&["gels", "--write", "my.toml"]).code, 1, "never over another file");
    let text = std::fs::read_to_string(shoot.path("my.toml")).unwrap();
    std::fs::write(shoot.path("my.toml"), text.replace("\"full CTB\"", "\"my blue\"")).unwrap();
    let run = shoot.run(&["setups", "--gels", "my.toml", "5600K", "3200K"]);
    assert!(run.out.contains("On 3200K, toward 5600K: my blue"), "{}", run.out);
}
