//! `--report` from the outside: when it is refused, and that it changes nothing else.

mod cli_common;
mod still_common;

use cli_common::{Shoot, daylight_card, silent_card};

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
        assert!(run.err.contains("cannot be written"), "{}", run.err);
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
