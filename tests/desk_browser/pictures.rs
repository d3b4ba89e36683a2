//! The page drawn, for somebody to look at.

use browser::{Browser, Page, View};

use crate::desk_common::{Served, sample};
use crate::{LAMPS, PHONE, WINDOW, correct, give, kind, shoot};

/// By hand: `MIRECAST_PICTURES=FOLDER cargo test --test desk_browser pictures -- --ignored`, then
/// look at all of them.
#[test]
#[ignore = "draws pictures of the page for somebody to look at"]
fn pictures_of_the_page() {
    let folder = std::path::PathBuf::from(std::env::var_os("MIRECAST_PICTURES").unwrap());
    std::fs::create_dir_all(&folder).unwrap();
    let mut browser = Browser::for_test("pictures of the desk").unwrap();
    let desk = Served::start(&[]);
    let shoot = shoot();
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    let draw = |page: &mut Page<'_>, name: &str| {
        let views = [
            ("laptop", View::default()),
            ("laptop-dark", View { dark: true, ..View::default() }),
            ("phone", PHONE),
            ("phone-dark", View { dark: true, ..PHONE }),
        ];
        for (place, view) in views {
            page.look(view).unwrap();
            let picture = page.screenshot(None).unwrap();
            std::fs::write(folder.join(format!("{name}-{place}.png")), picture).unwrap();
        }
        page.look(View::default()).unwrap();
    };
    draw(&mut page, "1-empty");
    give(&mut page, LAMPS);
    page.wait_until("document.querySelector('#progress').hidden").unwrap();
    correct(&mut page, "#cards .result", "rec709");
    page.wait_until("document.querySelector('.made button')").unwrap();
    draw(&mut page, "2-card");
    give(&mut page, "card-auto-balance.jpg");
    draw(&mut page, "3-unknown");
    page.choose_files("#second", &[sample(WINDOW)]).unwrap();
    page.wait_until("document.querySelector('#setups article')").unwrap();
    draw(&mut page, "4-set-ups");
    drop(page);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    kind(&mut page, "frame");
    page.drop_files("#drop", &[shoot.path().join("day 1")]).unwrap();
    page.wait_until("document.querySelectorAll('#frames li.frame').length === 6").unwrap();
    correct(&mut page, "#frames", "rec709");
    page.wait_until("document.querySelector('#frames .made button')").unwrap();
    draw(&mut page, "5-frames");
    page.offline(true).unwrap();
    page.choose_files("#files", &[sample(WINDOW)]).unwrap();
    page.wait_until("!document.querySelector('#gone').hidden").unwrap();
    draw(&mut page, "6-gone");
}
