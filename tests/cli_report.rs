//! `--report` from the outside: when it is refused, and that it changes nothing else.

mod cli_common;
mod still_common;

use cli_common::{Shoot, daylight_card, silent_card};
use image::ImageFormat;
use still_common::{Extras, encode, flat};

fn shoot() -> Shoot {
    Shoot::new().with("a.jpg", &daylight_card()).with("b.jpg", &silent_card())
}

#[test]
fn a_page_that_is_there_stops_the_run_before_it_begins() {
    let commands: [&[&str]; 4] = [
        &["card", "a.jpg"],
        &["frames", "a.jpg"],
        &["setups", "a.jpg", "3200K"],
        &["dial", "a.jpg@5200K", "b.jpg@5600K"],
    ];
    let shoot = shoot().with("old.html", b"old");
    for command in commands {
        let run = shoot.run(&[command, &["--report", "old.html"]].concat());
        assert_eq!((run.code, run.out.as_str()), (1, ""), "{command:?}");
        assert!(run.err.contains("old.html") && run.err.contains("--force"), "{}", run.err);
        let run = shoot.run(&[command, &["--report", "no/such/page.html"]].concat());
        assert_eq!((run.code, run.out.as_str()), (1, ""), "{command:?}");
        assert!(run.err.contains("there is no folder `no/such`"), "{}", run.err);
    }
    assert_eq!(std::fs::read(shoot.path("old.html")).expect("is there"), b"old");
}

#[test]
fn a_page_changes_nothing_else_and_is_the_same_each_time() {
    let shoot = shoot();
    for command in [&["card", "a.jpg", "b.jpg"][..], &["frames", "--no-groups", "."][..]] {
        let plain = shoot.run(command);
        let pages: Vec<_> = (0..2)
            .map(|_| {
                let run = shoot.run(&[command, &["--report", "page.html", "--force"]].concat());
                assert_eq!((&run.out, run.code), (&plain.out, plain.code));
                std::fs::read(shoot.path("page.html")).expect("was written")
            })
            .collect();
        assert!(pages[0] == pages[1], "{command:?}: the same pictures, another page");
        assert!(pages[0].starts_with(b"<!DOCTYPE html>"));
    }
}

#[test]
fn what_must_stay_is_found_before_the_run_even_where_writing_over_is_allowed() {
    let shoot = shoot().with("list.html", b"a.jpg\n");
    let picture = std::fs::read(shoot.path("b.jpg")).expect("is there");
    let shoot = shoot.with("b.html", &picture);
    for (page, why) in [("b.html", "is a picture"), ("list.html", "is read in this run")] {
        let words = ["--files-from", "list.html", "--report", page, "--force"];
        for command in ["card", "frames"] {
            let run = shoot.run(&[&[command][..], &words].concat());
            assert_eq!((run.code, run.out.as_str()), (1, ""), "{command} {page}");
            assert!(run.err.contains(why), "{command} {page}: {}", run.err);
        }
    }
}

/// Whoever reads the results goes before the first of them.
#[test]
fn files_that_were_asked_for_are_written_when_nobody_reads_the_results() {
    let shoot = shoot();
    let commands: [(&[&str], &[&str]); 6] = [
        (&["card", "--report", "1.html", "--corrections", "cards", "a.jpg"], &["1.html", "cards"]),
        (&["card", "--format", "csv", "--report", "2.html", "a.jpg", "b.jpg"], &["2.html"]),
        (&["frames", "--no-groups", "--format", "json", "--report", "3.html", "."], &["3.html"]),
        (&["frames", "--report", "4.html", "--proofs", "looks", "a.jpg"], &["4.html"]),
        (&["setups", "--report", "5.html", "a.jpg", "3200K"], &["5.html"]),
        (&["dial", "--report", "6.html", "a.jpg@5200K", "b.jpg@5600K"], &["6.html"]),
    ];
    for (command, files) in commands {
        let mut child = shoot
            .program(command)
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::null())
            .spawn()
            .expect("starts");
        drop(child.stdout.take());
        child.wait().expect("ends");
        for file in files {
            assert!(shoot.path(file).exists(), "{command:?}: no {file}");
        }
    }
    assert!(shoot.path("cards/a.clf").exists());
    let all = std::fs::read_to_string(shoot.path("3.html")).expect("a page");
    assert!(all.contains("a.jpg") && all.contains("b.jpg"), "read to the end");
}

#[test]
fn photos_as_narrow_as_a_thread_have_their_page_too() {
    for [width, height] in [[1, 300], [300, 1], [1, 1]] {
        let photo = encode(&flat(width, height, [250; 3]), ImageFormat::Png, Extras::default());
        let shoot = Shoot::new().with("a.png", &photo);
        for command in ["card", "frames"] {
            let run = shoot.run(&[command, "--report", "page.html", "--force", "a.png"]);
            assert!(run.code < 2, "{command}: {}", run.err);
            let page = std::fs::read_to_string(shoot.path("page.html")).expect("was written");
            assert!(page.trim_end().ends_with("</html>"), "{command}, {width} by {height}");
        }
    }
}

#[test]
fn a_page_says_which_balances_stood_after_the_names() {
    let shoot = shoot();
    let shot_at = |words: &[&str]| {
        shoot.run(&[words, &["--force", "--report", "p.html"]].concat());
        let page = std::fs::read_to_string(shoot.path("p.html")).expect("is there");
        let (_, after) = page.split_once("Shot at</").expect("is said");
        after.get(..200).unwrap_or(after).to_owned()
    };
    let all = shot_at(&["dial", "a.jpg@5200K", "b.jpg@5600K"]);
    assert!(all.contains("as given for each photo"), "{all}");
    let some = shot_at(&["setups", "a.jpg", "b.jpg@5600K"]);
    assert!(some.contains("as given for 1 of 2 photos; else as each file records"), "{some}");
    let none = shot_at(&["setups", "a.jpg", "3200K"]);
    assert!(none.contains(">as each file records<"), "{none}");
}
