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

/// Texts whose contrast with what is behind them is below 4.5 to 1 (WCAG 2.2, 1.4.3).
const FAINT: &str = "(() => {
    const light = (c) => { const [r, g, b] = c.map(v => v / 255)
        .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
        return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
    const colour = (text) => (text.match(/[\\d.]+/g) ?? []).map(Number);
    const behind = (e) => { for (; e; e = e.parentElement) {
        const [r, g, b, a = 1] = colour(getComputedStyle(e).backgroundColor);
        if (a > 0.5) return [r, g, b]; }
        return [255, 255, 255]; };
    const faint = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const e = node.parentElement;
        if (!node.data.trim() || e.closest('svg, template, script, :disabled')) continue;
        if (!e.checkVisibility({visibilityProperty: true})) continue;
        const [a, b] = [colour(getComputedStyle(e).color), behind(e)].map(light).sort((x, y) => y - x);
        if ((a + 0.05) / (b + 0.05) < 4.5) faint.push([e.className, node.data.trim().slice(0, 40)]);
    }
    return faint; })()";

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
    let faint = page.evaluate(FAINT).unwrap();
    assert_eq!(faint.as_array().map(Vec::len), Some(0), "hard to read in {view:?}: {faint}");
    // Nobody who looks at a page has a terminal to type options at.
    let typed = page.evaluate("document.querySelector('main').innerText").unwrap();
    let typed = typed.as_str().unwrap();
    assert!(!typed.contains(" --"), "{typed}");
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
    assert!(asked.contains("which white balance was the camera set to?"), "{asked}");
    let advice = text(&mut page, "#cards article");
    assert!(advice.contains("and say which it was"), "{advice}");
    assert_sound(&mut page, &desk, View::default());
    // Whoever does not know is told what to do.
    page.evaluate(
        "{ const form = document.querySelector('form.ask');
           form.elements.balance.value = 'automatic'; form.requestSubmit(); }",
    )
    .unwrap();
    let told = text(&mut page, "form.ask [role=status]");
    assert!(told.contains("photograph the card again"), "{told}");
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

    // A third light, and all cards in one report.
    give(&mut page, "card-tilted-at-bench.jpg");
    page.evaluate("document.querySelector('#one-more').click()").unwrap();
    page.evaluate(
        "{ const { elements } = document.querySelector('#compare-form');
           elements['third-name'].value = 'kiln <b>';
           elements['third-name'].dispatchEvent(new Event('change'));
           document.querySelector('#compare-form').requestSubmit(); }",
    )
    .unwrap();
    page.wait_until("document.querySelectorAll('#setups article').length === 3").unwrap();
    assert!(text(&mut page, "#setups").contains("to kiln <b>"));
    assert_eq!(text(&mut page, "#setups h2"), "3 set-ups");
    assert_sound(&mut page, &desk, PHONE);
    page.evaluate(KEEP_SAVED).unwrap();
    page.evaluate("document.querySelector('#save-cards').click()").unwrap();
    page.wait_until("window.saved.length === 1").unwrap();
    let report = page.evaluate("saved[0].text()").unwrap();
    assert_eq!(report.as_str().unwrap().matches("<article class=\"card\"").count(), 3);
    // Corrections of all of them.
    correct(&mut page, "#all-cards", "srgb");
    page.wait_until("document.querySelector('#all-cards .made button')").unwrap();
    assert!(text(&mut page, "#all-cards .made").contains("Save the 7 files"));
}

/// What is saved is kept to be looked at.
const KEEP_SAVED: &str = "window.saved = []; { const made = URL.createObjectURL.bind(URL);
    URL.createObjectURL = (blob) => { saved.push(blob); return made(blob); }; }";

/// Asks for corrections of footage in an encoding.
fn correct(page: &mut Page<'_>, within: &str, footage: &str) {
    page.evaluate(&format!(
        "{{ const place = document.querySelector('{within} .grade'); place.open = true;
            const form = place.querySelector('form');
            form.elements.footage.value = '{footage}'; form.requestSubmit(); }}"
    ))
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
fn what_could_not_be_sent_is_sent_again_and_nothing_is_taken_unasked() {
    let Some(mut browser) = Browser::for_test("the desk and what it does not take") else { return };
    let desk = Served::start(&[]);
    let folder = tempfile::tempdir().unwrap();
    let [huge, empty, photo] =
        ["huge.tif", "empty.jpg", "photo.heic"].map(|name| folder.path().join(name));
    std::fs::File::create(&huge).unwrap().set_len(300 << 20).unwrap();
    std::fs::write(&empty, b"").unwrap();
    std::fs::write(&photo, b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap();
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    page.choose_files("#files", &[huge, empty, photo, sample(LAMPS)]).unwrap();
    // One that fails holds up no other.
    page.wait_until("document.querySelectorAll('#cards article').length === 2").unwrap();
    page.wait_until("document.querySelectorAll('#queue .failed').length === 2").unwrap();
    let told = text(&mut page, "#queue");
    for words in ["300 MB, and 192 MB are the most", "The file is empty"] {
        assert!(told.contains(words), "{words} is not said: {told}");
    }
    assert_eq!(page.evaluate("document.querySelector('#again').hidden").unwrap(), true);

    page.offline(true).unwrap();
    page.choose_files("#files", &[sample(WINDOW)]).unwrap();
    page.wait_until("!document.querySelector('#again').hidden").unwrap();
    page.offline(false).unwrap();
    let back = "document.querySelector('#gone').innerText.includes('answers again')";
    page.wait_until(back).unwrap();
    page.evaluate("document.querySelector('#again').click()").unwrap();
    page.wait_until("document.querySelectorAll('#cards article').length === 3").unwrap();
    // Being offline is complained of in the console, and is all that is.
    let complaints = page.complaints().to_vec();
    assert!(
        complaints.iter().all(|said| said.contains("ERR_INTERNET_DISCONNECTED")),
        "{complaints:?}"
    );

    // A folder full of pictures is hardly one of cards: it is asked.
    let many = folder.path().join("many");
    std::fs::create_dir(&many).unwrap();
    for number in 0..9 {
        let name = format!("frame-{number}.jpg");
        std::fs::copy(sample("frame-shelves-lamps-right.jpg"), many.join(name)).unwrap();
    }
    page.drop_files("#drop", &[many]).unwrap();
    page.wait_until("!document.querySelector('#which').hidden").unwrap();
    let asked = text(&mut page, "#which");
    assert!(asked.contains("These are 9 pictures"), "{asked}");
    page.press("Enter").unwrap();
    page.wait_until("document.querySelectorAll('#frames li.frame').length === 9").unwrap();
    assert_eq!(page.evaluate("document.querySelector('[value=frame]').checked").unwrap(), true);
    assert_eq!(page.evaluate("document.querySelectorAll('#cards article').length").unwrap(), 3);
}

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
