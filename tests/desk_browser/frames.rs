//! Frames, dropped as a folder.

use browser::{Browser, View};

use crate::desk_common::{Served, sample};
use crate::{KEEP_SAVED, LAMPS, PHONE, assert_sound, correct, give, kind, shoot, text};

#[test]
fn a_folder_of_frames_with_a_broken_one_is_dropped() {
    let Some(mut browser) = Browser::for_test("the desk with frames") else { return };
    let desk = Served::start(&[]);
    let folder = shoot();
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    kind(&mut page, "frame");
    page.drop_files("#drop", &[folder.path().join("day 1")]).unwrap();
    page.wait_until("document.querySelectorAll('#frames li.frame').length === 6").unwrap();
    let shown = text(&mut page, "#frames");
    for words in ["broken.jpg", "Could not be read", "<img src=x onerror", "What next", "Orange"] {
        assert!(shown.contains(words), "{words} is not said: {shown}");
    }
    assert_eq!(page.evaluate("document.title").unwrap(), "mirecast desk");
    let told = text(&mut page, "#progress");
    assert!(told.contains("6 of 6 done, 1 could not be read"), "{told}");
    assert!(told.contains("broken.jpg"), "{told}");
    // Sorting works here as in the report.
    page.wait_until("!document.querySelector('.controls').hidden").unwrap();
    assert_sound(&mut page, &desk, View::default());
    for view in [PHONE, View { dark: true, ..PHONE }] {
        page.look(view).unwrap();
        assert_sound(&mut page, &desk, view);
    }
    // Corrections: what cannot be made is said, what can is saved.
    correct(&mut page, "#frames", "rec709");
    page.wait_until("document.querySelector('#frames .made button')").unwrap();
    let made = text(&mut page, "#frames .made");
    for words in
        ["Corrections for rec709 footage", "Group 4", "or make only", "no sure cast beyond 20"]
    {
        assert!(made.contains(words), "{words} is not said: {made}");
    }
    assert_sound(&mut page, &desk, View { dark: true, ..PHONE });
    page.evaluate(KEEP_SAVED).unwrap();
    page.evaluate("document.querySelector('#frames .made button').click()").unwrap();
    let zip = page
        .evaluate("saved[0].arrayBuffer().then(b => String.fromCharCode(...new Uint8Array(b)))");
    let zip = zip.unwrap();
    let zip = zip.as_str().unwrap();
    assert!(zip.starts_with("PK"), "{zip:.20}");
    for file in ["group-4.cc", "group-4.clf", "corrections.ccc"] {
        assert!(zip.contains(file), "{file} is not in it");
    }
    correct(&mut page, "#frames", "log");
    page.wait_until("document.querySelector('#frames .grade .problem')").unwrap();
    let refused = text(&mut page, "#frames .grade [role=status]");
    assert!(refused.contains("choose Rec. 709 or linear light here"), "{refused}");
    // More frames join those that are there; whoever wants a card then is not in the way.
    page.choose_files("#files", &[sample("frame-bench-lamps-orange.jpg")]).unwrap();
    page.wait_until("document.querySelectorAll('#frames li.frame').length === 7").unwrap();
    kind(&mut page, "card");
    give(&mut page, LAMPS);
    assert_eq!(page.evaluate("document.querySelectorAll('#frames li.frame').length").unwrap(), 7);
}
