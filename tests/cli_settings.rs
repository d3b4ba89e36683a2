//! Tables, settings files, manual pages and completions from the outside.

mod cli_common;
mod still_common;

use cli_common::{CONFIG, NEUTRAL, Shoot, daylight_card, silent_card, still};
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

/// A shoot in a folder, with a table of presets beside its settings, and settings of the user's own.
fn shoot_with(settings: &str, own: &str) -> Shoot {
    let shoot = Shoot::new();
    std::fs::create_dir_all(shoot.path("day/cards")).expect("writes");
    std::fs::create_dir_all(shoot.path(CONFIG).join("mirecast")).expect("writes");
    std::fs::write(shoot.path(CONFIG).join("mirecast/mirecast.toml"), own).expect("writes");
    shoot
        .with("day/mirecast.toml", settings.as_bytes())
        .with("day/mine.toml", b"[daylight]\nkelvin = 5500\n[bench]\nkelvin = 3000\n")
        .with("day/cards/a.jpg", &daylight_card())
        .with("silent.jpg", &silent_card())
}

#[test]
fn settings_stand_in_for_options_and_say_so() {
    let shoot = shoot_with("presets = 'mine.toml'\n", "encoding = 'srgb'\n");
    let own = shoot.path(CONFIG).join("mirecast/mirecast.toml");
    let read = shoot.run(&["card", "day/cards/a.jpg"]);
    assert_eq!(read.code, 0, "{}", read.err);
    let said = format!(
        "mirecast: settings of day/mirecast.toml: presets mine.toml\n\
         mirecast: settings of {}: encoding srgb\n",
        own.display()
    );
    assert_eq!(read.err, said);
    assert!(read.out.contains("  bench ") && !read.out.contains("  cloudy "), "{}", read.out);

    // Records are on their own on standard output; the page says where its presets are from.
    let records = shoot.run(&["card", "--format", "json", "--report", "a.html", "day/cards/a.jpg"]);
    assert_eq!(records.err, said);
    assert_eq!(records.records()[0]["presets"][1]["name"], "bench");
    let page = std::fs::read_to_string(shoot.path("a.html")).unwrap();
    assert!(page.contains("day/mine.toml"), "{page}");

    // Elsewhere the shoot's settings do not hold.
    let other = shoot.run(&["card", "--shot-at", "daylight", "silent.jpg"]);
    assert!(other.out.contains("  cloudy "), "{}", other.out);
    assert!(!other.err.contains("day/mirecast.toml"), "{}", other.err);

    let without = shoot.run(&["card", "--no-settings", "day/cards/a.jpg"]);
    assert_eq!((without.code, without.err.as_str()), (0, ""));
    assert!(without.out.contains("  cloudy "), "{}", without.out);
}

#[test]
fn an_option_comes_before_the_shoot_and_the_shoot_before_the_user() {
    let shoot = shoot_with("tolerance = '150'\n", "tolerance = 8\nfootage = 'linear'\n")
        .with("day/a.jpg", &still(NEUTRAL, 0));
    let tolerance = |words: &[&str]| {
        let run = shoot.run(&[&["frames", "--report", "p.html", "--force"], words].concat());
        assert_eq!(run.code, 0, "{}", run.err);
        let page = std::fs::read_to_string(shoot.path("p.html")).unwrap();
        let within = page.split_once("Counts as neutral").unwrap().1;
        let within = within.split_once("within ").unwrap().1.split(" mired").next().unwrap();
        (within.to_owned(), run.err)
    };
    let (within, said) = tolerance(&["day/a.jpg"]);
    assert_eq!(within, "150");
    assert_eq!(said, "mirecast: settings of day/mirecast.toml: tolerance 150\n");
    let (within, said) = tolerance(&["--tolerance", "33", "day/a.jpg"]);
    assert_eq!(
        (within.as_str(), said.as_str()),
        ("33", ""),
        "nothing was taken, so nothing is said"
    );
    assert_eq!(tolerance(&["--no-settings", "day/a.jpg"]).0, "20");
    // With a list the current folder is meant, where only the user's own hold.
    std::fs::write(shoot.path("list.txt"), "day/a.jpg\n").unwrap();
    assert_eq!(tolerance(&["--files-from", "list.txt"]).0, "8");
}

#[test]
fn settings_are_shown_with_their_files() {
    let shoot = shoot_with("tolerance = '10,0.004'\n", "presets = 'kit.toml'\ntolerance = 8\n");
    let shown = shoot.run(&["settings", "day/cards/a.jpg"]);
    assert_eq!((shown.code, shown.err.as_str()), (0, ""));
    let own = shoot.path(CONFIG).join("mirecast/mirecast.toml").display().to_string();
    for line in [
        "tolerance  10,0.004\n             from the shoot's file, day/mirecast.toml\n",
        &format!("presets    kit.toml\n             from your own file, {own}\n"),
        "footage    srgb\n",
    ] {
        assert!(shown.out.contains(line), "{line}\nin\n{}", shown.out);
    }
    let without = shoot.run(&["settings", "--no-settings", "day"]);
    assert!(without.out.contains("tolerance  20,0.006\n"), "{}", without.out);

    let written = shoot.run(&["settings", "--write", "new.toml"]);
    assert_eq!((written.code, written.err.as_str()), (0, ""));
    assert_eq!(shoot.run(&["settings", "--write", "new.toml"]).code, 1);

    // The place that the command names is made; any other folder is the user's to make.
    let own = shoot.path(CONFIG).join("mirecast/mirecast.toml");
    let own = own.to_str().expect("is text");
    if std::path::Path::new(own).exists() {
        std::fs::remove_dir_all(shoot.path(CONFIG)).expect("goes");
    }
    let made = shoot.run(&["settings", "--write", own]);
    assert_eq!((made.code, made.err.as_str()), (0, ""));
    assert!(std::path::Path::new(own).is_file());
    let astray = shoot.run(&["settings", "--write", "gone/mirecast.toml"]);
    assert_eq!(astray.code, 1);
    assert!(astray.err.contains("there is no folder `gone`; make it first"), "{}", astray.err);
    let taken = shoot.run(&["settings", "--write", "."]).err;
    assert!(taken.contains(".: it is a folder; name a file in it"), "{taken}");
}

#[test]
fn a_slip_in_the_settings_ends_the_run_and_names_the_key_meant() {
    let shoot = shoot_with("\n\ntolerence = 20\n", "");
    let slip = shoot.run(&["card", "day/cards/a.jpg"]);
    assert_eq!((slip.code, slip.out.as_str()), (2, ""));
    assert_eq!(
        slip.err,
        "mirecast: day/mirecast.toml, line 3: there is no setting `tolerence`; did you mean \
         `tolerance`?\n"
    );
    assert_eq!(shoot.run(&["card", "--no-settings", "day/cards/a.jpg"]).code, 0);
    // What is read is not written over.
    let shoot = shoot_with("", "").with("mirecast.toml", b"footage = 'srgb'\n");
    let over = shoot.run(&["presets", "--write", "mirecast.toml", "--force"]);
    assert!(over.err.contains("it is read in this run"), "{}", over.err);
}

#[test]
fn completions_and_manual_pages_come_from_the_commands() {
    let shoot = Shoot::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = shoot.run(&["completions", shell]);
        assert_eq!((script.code, script.err.as_str()), (0, ""));
        for word in ["setups", "shot-at", "no-groups"] {
            assert!(script.out.contains(word), "{shell}: {word}");
        }
    }
    assert_eq!(shoot.run(&["completions", "korn"]).code, 2);

    let page = shoot.run(&["manual", "frames"]);
    assert!(page.out.contains(".TH mirecast-frames 1") && page.code == 0, "{}", page.out);
    let unknown = shoot.run(&["manual", "films"]);
    assert!(unknown.err.contains("no command `films`; there are card, frames"), "{}", unknown.err);
    assert_eq!(unknown.code, 2);
    let all = shoot.run(&["manual", "--write", "man1"]);
    assert_eq!((all.code, all.err.as_str()), (0, ""));
    assert!(shoot.path("man1/mirecast.1").exists() && shoot.path("man1/mirecast-dial.1").exists());
    assert_eq!(shoot.run(&["manual", "--write", "man1"]).code, 1, "nothing is written over");
}
