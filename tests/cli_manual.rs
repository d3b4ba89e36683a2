//! Manual pages and completions from the outside.

mod cli_common;
mod still_common;

use cli_common::Shoot;

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
