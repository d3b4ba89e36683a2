//! The desk in a real browser. Where there is none, these tests say that they are skipped; with
//! `MIRECAST_BROWSER_REQUIRED` set they fail.

#![cfg(feature = "desk")]
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cards;
#[path = "../desk_common/mod.rs"]
mod desk_common;
mod frames;
mod keyboard;
mod line;
mod pictures;

use browser::{Page, View};
use desk_common::{Served, sample};

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
