//! Settings files from the outside.

mod cli_common;
mod still_common;

use cli_common::{CONFIG, NEUTRAL, Shoot, daylight_card, silent_card, still};

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
fn the_settings_of_a_folder_that_is_walked_hold_or_are_named() {
    let shoot = shoot_with("tolerance = 150", "").with("day/a.jpg", &still(NEUTRAL, 0));
    std::fs::remove_file(shoot.path("silent.jpg")).unwrap();
    let run = shoot.run(&["frames", "."]);
    assert_eq!(run.err, "mirecast: settings of day/mirecast.toml: tolerance 150\n");
    std::fs::create_dir(shoot.path("other")).unwrap();
    let photo = std::fs::read(shoot.path("day/a.jpg")).unwrap();
    let shoot = shoot.with("other/b.jpg", &photo);
    let run = shoot.run(&["frames", "."]);
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    assert!(run.err.contains("day/mirecast.toml are not for the photos in other;"), "{}", run.err);
    assert_eq!(shoot.run(&["frames", "--no-settings", "."]).code, 0);
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
