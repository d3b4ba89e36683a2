//! The page without a mouse.

use browser::{Browser, View};

use crate::desk_common::Served;
use crate::{FAINT, LAMPS, give};

#[test]
fn everything_is_reached_from_the_keyboard_and_seen_there() {
    let Some(mut browser) = Browser::for_test("the desk by the keyboard") else { return };
    let desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, LAMPS);
    // What is hard to read would be found.
    page.evaluate(
        "{ const faint = document.createElement('p'); faint.id = 'faint'; faint.textContent = 'Faint';
           faint.style.color = '#888'; document.querySelector('main').prepend(faint); }",
    )
    .unwrap();
    assert_eq!(page.evaluate(FAINT).unwrap(), serde_json::json!([["", "Faint"]]));
    page.evaluate("document.querySelector('#faint').remove()").unwrap();
    // From the top, wherever the page has put the focus for what has just come.
    page.evaluate(
        "{ const top = document.createElement('span'); top.tabIndex = -1; document.body.prepend(top);
           top.focus(); window.scrollTo(0, 0); }",
    )
    .unwrap();
    let mut reached = Vec::new();
    for _ in 0..30 {
        page.press("Tab").unwrap();
        let at = page
            .evaluate(
                "(() => { const e = document.activeElement; const s = getComputedStyle(e);
                    return [e === document.body ? 'BODY' : e.innerText || e.name || e.tagName, s.outlineStyle, s.outlineWidth]; })()",
            )
            .unwrap();
        let [name, style, width] = [0, 1, 2].map(|i| at[i].as_str().unwrap().to_owned());
        if name == "BODY" || document_is_done(&reached, &name) {
            break;
        }
        assert!(style != "none" && width != "0px", "{name} does not show that it has the focus");
        reached.push(name);
    }
    for wanted in [
        "kind",
        "Choose files",
        "Take a photo",
        "what the file says",
        "Read again",
        "Save the report",
        "Corrections for a grading program",
    ] {
        assert!(
            reached.iter().any(|name| name.contains(wanted)),
            "{wanted} is not reached: {reached:?}"
        );
    }
    page.evaluate("document.querySelector('#cards summary').focus()").unwrap();
    page.press("Enter").unwrap();
    page.wait_until("document.querySelector('#cards details').open").unwrap();
    page.press("Tab").unwrap();
    assert_eq!(page.evaluate("document.activeElement.name").unwrap(), "footage");
    page.press("Tab").unwrap();
    page.press("Enter").unwrap();
    page.wait_until("document.querySelector('#cards .made button')").unwrap();
    // Choosing what to drop, by an arrow.
    page.evaluate("document.querySelector('[name=kind]').focus()").unwrap();
    page.press("ArrowDown").unwrap();
    page.wait_until("!document.querySelector('[data-opens=folder]').hidden").unwrap();
}

fn document_is_done(reached: &[String], name: &str) -> bool {
    reached.first().is_some_and(|first| first == name)
}
