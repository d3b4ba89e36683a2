//! The desk in a real browser. Where there is none, these tests say that they are skipped; with
//! `MIRECAST_BROWSER_REQUIRED` set they fail.

#![cfg(feature = "desk")]
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk_common;

use browser::{Browser, Page, View};
use desk_common::{Served, printed, sample};

const PHONE: View =
    View { width: 380, height: 780, scale: 1.0, dark: false, script: true, print: false };

const LAMPS: &str = "card-lamps-fills-frame.jpg";
const WINDOW: &str = "card-window-fills-frame.jpg";

fn text(page: &mut Page<'_>, selector: &str) -> String {
    let asked = format!("document.querySelector({selector:?})?.innerText ?? ''");
    let told = page.evaluate(&asked).unwrap();
    // As it is typed, not as it is typeset.
    told.as_str().unwrap().replace(['\u{a0}', '\u{202f}'], " ").replace('−', "-")
}

/// What must hold whatever is on the page.
#[track_caller]
fn assert_sound(page: &mut Page<'_>, desk: &Served, view: View) {
    let wide = page.evaluate("document.documentElement.scrollWidth").unwrap().as_u64().unwrap();
    assert!(wide <= u64::from(view.width), "{wide} wide in {view:?}");
    let ids = "(() => { const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
                return ids.length - new Set(ids).size; })()";
    assert_eq!(page.evaluate(ids).unwrap(), 0, "two parts have one id");
    let nameless: Vec<_> = page
        .accessible()
        .unwrap()
        .into_iter()
        .filter(|node| {
            let named = ["button", "combobox", "radio", "image", "spinbutton", "checkbox", "link"];
            named.contains(&node.role.as_str()) && node.name.trim().is_empty()
        })
        .collect();
    assert!(nameless.is_empty(), "{nameless:?}");
    assert_eq!(page.complaints(), &[] as &[String]);
    let outside: Vec<_> = page
        .requests()
        .iter()
        .filter(|asked| !asked.starts_with(&desk.url) && !asked.starts_with("data:"))
        .filter(|asked| !asked.starts_with("blob:"))
        .cloned()
        .collect();
    assert!(outside.is_empty(), "asked for outside: {outside:?}");
}

fn give(page: &mut Page<'_>, name: &str) {
    let before = page.evaluate("document.querySelectorAll('#cards article').length").unwrap();
    page.choose_files("#files", &[sample(name)]).unwrap();
    let there = format!("document.querySelectorAll('#cards article').length > {before}");
    page.wait_until(&there).unwrap();
}

fn kind(page: &mut Page<'_>, kind: &str) {
    page.evaluate(&format!("document.querySelector('[name=kind][value={kind}]').click()")).unwrap();
}

#[test]
fn a_card_is_read_and_read_again_at_another_balance() {
    let Some(mut browser) = Browser::for_test("the desk with a card") else { return };
    let desk = Served::start(&[]);
    for view in [View::default(), PHONE, View { dark: true, ..PHONE }] {
        let mut page = browser.open(&desk.url, view).unwrap();
        give(&mut page, LAMPS);
        let read = text(&mut page, "#cards article");
        assert!(read.contains("Good to balance from") && read.contains("3140 K"), "{read}");
        assert_sound(&mut page, &desk, view);

        // The same as the command says, to the byte.
        page.evaluate(
            "window.saved = []; const made = URL.createObjectURL.bind(URL);
             URL.createObjectURL = (blob) => { saved.push(blob); return made(blob); };
             [...document.querySelectorAll('#cards button')]
                 .filter(b => b.innerText.startsWith('Save the')).forEach(b => b.click())",
        )
        .unwrap();
        let saved = page.evaluate("saved[1].text()").unwrap();
        assert_eq!(saved.as_str().unwrap(), printed(&["card", "--format", "json", LAMPS]));
        let report = page.evaluate("saved[0].text()").unwrap();
        assert!(report.as_str().unwrap().starts_with("<!DOCTYPE html>"));

        page.evaluate(
            "{ const form = document.querySelector('#cards form.ask');
               form.elements.balance.value = 'kelvin';
               form.elements.balance.dispatchEvent(new Event('change', {bubbles: true}));
               form.elements.kelvin.value = '5600'; form.requestSubmit(); }",
        )
        .unwrap();
        page.wait_until("!document.querySelector('#cards article').innerText.includes('3140')")
            .unwrap();
        let again = text(&mut page, "#cards article");
        let stated = printed(&["card", "--shot-at", "5600K", LAMPS]);
        let light = stated.lines().find(|line| line.contains(" K (")).unwrap().trim();
        let kelvin = light.split(" K").next().unwrap();
        assert!(again.contains(&format!("{kelvin} K")), "{kelvin} wanted: {again}");
        assert_sound(&mut page, &desk, view);
    }
}

#[test]
fn the_one_question_is_asked_where_the_file_does_not_say() {
    let Some(mut browser) = Browser::for_test("the desk's question") else { return };
    let desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, "card-auto-balance.jpg");
    let asked = text(&mut page, ".strip.urgent");
    assert!(asked.contains("Which white balance was the camera set to?"), "{asked}");
    let wrong = "{ const form = document.querySelector('form.ask');
        form.elements.balance.value = 'tungsten'; form.requestSubmit(); }";
    page.evaluate(wrong).unwrap();
    page.wait_until("!document.querySelector('.strip.urgent')").unwrap();
    let light = text(&mut page, "#cards article");
    assert!(light.contains("The light") && light.contains("Tungsten, 3200"), "{light}");
    // A card whose light is unknown cannot be compared; one whose light is known can.
    assert_eq!(page.evaluate("document.querySelector('#compare').hidden").unwrap(), false);
    assert_sound(&mut page, &desk, View::default());
}

#[test]
fn two_set_ups_are_compared() {
    let Some(mut browser) = Browser::for_test("the desk with two set-ups") else { return };
    let desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, WINDOW);
    page.choose_files("#second", &[sample(LAMPS)]).unwrap();
    page.wait_until("document.querySelector('#setups article')").unwrap();
    let compared = text(&mut page, "#setups");
    for words in ["+146 mired", "One balance for all", "full CTO", "Take care"] {
        assert!(compared.contains(words), "{words} is not said: {compared}");
    }
    assert_sound(&mut page, &desk, View::default());
    page.look(PHONE).unwrap();
    assert_sound(&mut page, &desk, PHONE);
    // The other way round.
    page.evaluate(
        "{ const form = document.querySelector('#compare-form'); const { first, second } = form.elements;
           [first.value, second.value] = [second.value, first.value]; form.requestSubmit(); }",
    )
    .unwrap();
    page.wait_until("/[−-]146.mired [(]/.test(document.querySelector('#setups').innerText)")
        .unwrap();
}

/// A folder as it comes from a shoot: frames, a broken one, a hostile name, and what is no picture.
fn shoot() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let within = folder.path().join("day 1");
    std::fs::create_dir(&within).unwrap();
    for name in [
        "frame-bench-lamps-orange.jpg",
        "frame-kiln-strip-greenish.jpg",
        "frame-studio-window-right.jpg",
        "frame-wheel-window-blue.jpg",
    ] {
        std::fs::copy(sample(name), within.join(name)).unwrap();
    }
    std::fs::write(within.join("broken.jpg"), b"no picture at all").unwrap();
    std::fs::write(within.join("notes.txt"), b"lunch at one").unwrap();
    let hostile = "<img src=x onerror=document.title=1>.jpg";
    std::fs::copy(sample("frame-shelves-lamps-right.jpg"), within.join(hostile)).unwrap();
    folder
}

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
    // More frames join those that are there; whoever wants a card then is not in the way.
    page.choose_files("#files", &[sample("frame-bench-lamps-orange.jpg")]).unwrap();
    page.wait_until("document.querySelectorAll('#frames li.frame').length === 7").unwrap();
    kind(&mut page, "card");
    give(&mut page, LAMPS);
    assert_eq!(page.evaluate("document.querySelectorAll('#frames li.frame').length").unwrap(), 7);
}

#[test]
fn a_broken_card_harms_no_other() {
    let Some(mut browser) = Browser::for_test("the desk with a broken card") else { return };
    let desk = Served::start(&[]);
    let folder = shoot();
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    let broken = folder.path().join("day 1").join("broken.jpg");
    page.choose_files("#files", &[broken, sample(LAMPS)]).unwrap();
    page.wait_until("document.querySelectorAll('#cards article').length === 2").unwrap();
    let shown = text(&mut page, "#cards");
    for words in ["Could not be read", "Good to balance from"] {
        assert!(shown.contains(words), "{words} is not said: {shown}");
    }
    assert_sound(&mut page, &desk, View::default());
}

#[test]
fn it_is_said_when_the_desk_is_gone_and_when_it_is_back() {
    let Some(mut browser) = Browser::for_test("the desk that goes away") else { return };
    let mut desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, LAMPS);
    let shown =
        "!document.querySelector('#gone').hidden && document.querySelector('#gone').innerText";
    page.offline(true).unwrap();
    page.wait_until(&format!("({shown} || '').includes('does not answer')")).unwrap();
    page.offline(false).unwrap();
    page.wait_until(&format!("({shown} || '').includes('answers again')")).unwrap();
    page.wait_until("document.querySelector('#gone').hidden").unwrap();
    desk.kill();
    page.wait_until(&format!("({shown} || '').includes('does not answer')")).unwrap();
    // What was read is there still, and what is asked for now is said to fail.
    assert!(text(&mut page, "#cards").contains("3140 K"));
    page.choose_files("#files", &[sample(WINDOW)]).unwrap();
    page.wait_until("document.querySelector('#queue .failed')").unwrap();
    assert!(text(&mut page, "#queue").contains("The desk does not answer"));
}

#[test]
fn everything_is_reached_from_the_keyboard_and_seen_there() {
    let Some(mut browser) = Browser::for_test("the desk by the keyboard") else { return };
    let desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, LAMPS);
    page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)").unwrap();
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
    ] {
        assert!(
            reached.iter().any(|name| name.contains(wanted)),
            "{wanted} is not reached: {reached:?}"
        );
    }
    // Choosing what to drop, by an arrow.
    page.evaluate("document.querySelector('[name=kind]').focus()").unwrap();
    page.press("ArrowDown").unwrap();
    page.wait_until("!document.querySelector('[data-opens=folder]').hidden").unwrap();
}

fn document_is_done(reached: &[String], name: &str) -> bool {
    reached.first().is_some_and(|first| first == name)
}
