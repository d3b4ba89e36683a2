//! The pages of `--report` in a real browser. Where there is none, these tests say that they are
//! skipped; with `MIRECAST_BROWSER_REQUIRED` set they fail.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli_common;
mod still_common;

use browser::{Browser, Named, Page, View};
use cli_common::{Shoot, card, daylight_card, recorded, silent_card, white_card};
use exif::{Tag, Value};
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use still_common::{Extras, ascii, encode, exif_block, linear_to_srgb};

/// Names that want to be something else, and names in other scripts.
const MARKUP: &str = "<img src=x onerror=alert(1)>.jpg";
const SCRIPTS: &str = "窓辺 окно شباك.jpg";
/// Looks like a picture's name where the direction of writing is turned.
const TURNED: &str = "card\u{202e}gpj.jpg";

const PHONE: View =
    View { width: 380, height: 780, scale: 1.0, dark: false, script: true, print: false };

fn squares(rgb: [f64; 3]) -> DynamicImage {
    RgbImage::from_fn(240, 160, |x, y| {
        let grey = 0.1 + 0.1 * f64::from((x / 20 * 5 + y / 20 * 3) % 8);
        let tinted = |i: usize| {
            let paint = if (x / 20 + y / 20) % 3 == i as u32 { 1.15 } else { 0.9 };
            linear_to_srgb((grey * paint * rgb[i]).min(1.0)) * 255.0
        };
        Rgb([0, 1, 2].map(|i| tinted(i).round() as u8))
    })
    .into()
}

/// Taken so many minutes after nine, by a camera with a name to be wary of.
fn frame(rgb: [f64; 3], minute: u32) -> Vec<u8> {
    let exif = exif_block(&[
        (Tag::LightSource, Value::Short(vec![1])),
        (Tag::WhiteBalance, Value::Short(vec![1])),
        (Tag::DateTimeOriginal, ascii(&format!("2024:03:12 09:{minute:02}:00"))),
        (Tag::Model, ascii("<script>document.title='taken'</script>")),
    ]);
    encode(&squares(rgb), ImageFormat::Jpeg, Extras::exif(exif))
}

/// Frames of every kind there is, and their page.
fn frames() -> Shoot {
    // Shot at the shade preset, one red all over says next to nothing.
    let exif = exif_block(&[(Tag::LightSource, Value::Short(vec![11]))]);
    let red: DynamicImage = RgbImage::from_pixel(240, 160, Rgb([180, 40, 30])).into();
    let red = encode(&red, ImageFormat::Jpeg, Extras::exif(exif));
    let bare = encode(&squares([1.0; 3]), ImageFormat::Png, Extras::default());
    let shoot = Shoot::new()
        .with(MARKUP, &frame([1.0; 3], 1))
        .with(SCRIPTS, &frame([1.0, 0.6, 0.28], 2))
        .with("orange.jpg", &frame([1.0, 0.6, 0.28], 3))
        .with("blue.jpg", &frame([0.4, 0.7, 1.0], 50))
        .with("no-exif.png", &bare)
        .with("nothing-to-go-by.jpg", &red)
        .with("broken.jpg", b"no picture at all");
    let run = shoot.run(&["frames", "--report", "page.html", "."]);
    assert_eq!(run.code, 1, "{}", run.err);
    shoot
}

fn url(shoot: &Shoot) -> String {
    format!("file://{}", shoot.path("page.html").display())
}

/// What must hold of every page in every view.
#[track_caller]
fn assert_sound(page: &mut Page<'_>, address: &str, view: View) {
    let wide = page.evaluate("document.documentElement.scrollWidth").unwrap().as_u64().unwrap();
    assert!(wide <= u64::from(view.width), "{wide} wide in {view:?}");
    let drawn = page
        .evaluate(
            "[...document.querySelectorAll('img, svg[role=img]')]
                 .filter(picture => picture.getClientRects().length > 0).length",
        )
        .unwrap();
    let told: Vec<Named> = page.accessible().unwrap();
    let pictures: Vec<_> =
        told.iter().filter(|node| matches!(node.role.as_str(), "image" | "img")).collect();
    assert!(drawn.as_u64().unwrap() >= 3, "only {drawn} pictures");
    assert_eq!(pictures.len() as u64, drawn.as_u64().unwrap(), "in {view:?}: {pictures:?}");
    for picture in &pictures {
        assert!(picture.name.chars().count() > 10, "no words for a picture: {picture:?}");
    }
    let broken = "[...document.images].filter(i => !i.complete || i.naturalWidth === 0).length";
    assert_eq!(page.evaluate(broken).unwrap(), 0);
    let outside: Vec<_> = page
        .requests()
        .iter()
        .filter(|asked| asked.as_str() != address && !asked.starts_with("data:"))
        .cloned()
        .collect();
    assert!(outside.is_empty(), "loaded from outside: {outside:?}");
    assert_eq!(page.complaints(), &[] as &[String]);
}

/// The page as a phone, a laptop and paper have it, in both themes, and without its script.
#[track_caller]
fn assert_sound_everywhere(browser: &mut Browser, shoot: &Shoot) {
    let address = url(shoot);
    for view in [
        PHONE,
        View { dark: true, ..PHONE },
        View { script: false, ..PHONE },
        View::default(),
        View { print: true, width: 700, ..View::default() },
    ] {
        let mut page = browser.open(&address, view).unwrap();
        assert_sound(&mut page, &address, view);
    }
}

fn text(page: &mut Page<'_>) -> String {
    page.evaluate("document.body.innerText").unwrap().as_str().unwrap().to_owned()
}

#[test]
fn frames_are_shown_right_whatever_they_are_called() {
    let Some(mut browser) = Browser::for_test("the page of frames") else { return };
    let shoot = frames();
    assert_sound_everywhere(&mut browser, &shoot);
    for script in [true, false] {
        let view = View { script, ..View::default() };
        let mut page = browser.open(&url(&shoot), view).unwrap();
        let shown = text(&mut page);
        for name in [MARKUP, SCRIPTS, "no-exif.png", "nothing-to-go-by.jpg", "broken.jpg"] {
            assert!(shown.contains(name), "{name} is not there: {shown}");
        }
        for words in [
            "<script>document.title='taken'</script>",
            "Undecided",
            "Could not be read",
            "No time recorded",
            "Balance unknown",
            "mirecast 0.",
            "within 20 mired",
        ] {
            assert!(shown.contains(words), "{words} is not said: {shown}");
        }
        assert_eq!(page.evaluate("document.title").unwrap(), "Frames");
        let injected = "document.querySelectorAll('img[src=x], main script').length";
        assert_eq!(page.evaluate(injected).unwrap(), 0);
        let frames = page.evaluate("document.querySelectorAll('li.frame').length").unwrap();
        assert_eq!(frames, 7);
        // Controls that do nothing would only mislead.
        let controls = page.evaluate("!document.querySelector('.controls').hidden").unwrap();
        assert_eq!(controls, script);
    }
}

/// Names of the frames that are to be seen, in their order.
fn seen(page: &mut Page<'_>) -> Vec<String> {
    let names = page
        .evaluate(
            "[...document.querySelectorAll('li.frame')].filter(f => f.offsetParent !== null)
                 .map(f => f.querySelector('h3').innerText)",
        )
        .unwrap();
    names.as_array().unwrap().iter().map(|name| name.as_str().unwrap().to_owned()).collect()
}

fn choose(page: &mut Page<'_>, order: &str) {
    let set = format!(
        "{{ const order = document.querySelector('[name=order]'); order.value = '{order}';
            order.dispatchEvent(new Event('change', {{bubbles: true}})); }}"
    );
    page.evaluate(&set).unwrap();
}

#[test]
fn frames_are_sorted_and_filtered() {
    let Some(mut browser) = Browser::for_test("sorting and filtering frames") else { return };
    let shoot = frames();
    let mut page = browser.open(&url(&shoot), View::default()).unwrap();
    let grouped = seen(&mut page);
    assert_eq!(grouped.len(), 7);
    choose(&mut page, "name");
    let by_name = seen(&mut page);
    assert_eq!(by_name.first().unwrap(), MARKUP);
    assert_ne!(by_name, grouped);
    choose(&mut page, "time");
    let by_time = seen(&mut page);
    assert_eq!(by_time[..4], [MARKUP, SCRIPTS, "orange.jpg", "blue.jpg"]);
    choose(&mut page, "cast");
    let by_cast = seen(&mut page);
    assert!(["orange.jpg", "blue.jpg", SCRIPTS].contains(&by_cast[0].as_str()), "{by_cast:?}");
    // Neither shows a cast, so they stay as they were given.
    assert_eq!(by_cast[5..], ["broken.jpg", "nothing-to-go-by.jpg"]);
    page.evaluate("document.querySelector('[name=kind][value=orange]').click()").unwrap();
    let without = seen(&mut page);
    assert!(!without.contains(&"orange.jpg".to_owned()), "{without:?}");
    assert!(without.contains(&"broken.jpg".to_owned()), "{without:?}");
    let status = page.evaluate("document.querySelector('[role=status]').innerText").unwrap();
    assert_eq!(status, format!("{} of 7 shown", without.len()));
    choose(&mut page, "group");
    page.evaluate("document.querySelector('[name=kind][value=orange]').click()").unwrap();
    assert_eq!(seen(&mut page), grouped, "and back");
}

#[test]
fn cards_are_shown_right_whatever_came_of_them() {
    let Some(mut browser) = Browser::for_test("the page of cards") else { return };
    let names = [MARKUP, SCRIPTS, TURNED, "silent.jpg", "white.jpg", "broken.jpg"];
    let shoot = Shoot::new()
        .with(MARKUP, &daylight_card())
        .with(SCRIPTS, &recorded(&card([0.6, 0.5, 0.3]), 1))
        .with(TURNED, &daylight_card())
        .with("silent.jpg", &silent_card())
        .with("white.jpg", &white_card())
        .with("broken.jpg", b"no picture at all");
    let mut words = vec!["card", "--report", "page.html"];
    words.extend(names);
    assert_eq!(shoot.run(&words).code, 1);
    assert_sound_everywhere(&mut browser, &shoot);
    let mut page = browser.open(&url(&shoot), View::default()).unwrap();
    let shown = text(&mut page);
    for words in [
        MARKUP,
        SCRIPTS,
        "card\\u{202e}gpj.jpg",
        "Good to balance from",
        "Can be balanced from, but its light is unknown",
        "Cannot be balanced from",
        "Could not be read",
    ] {
        assert!(shown.contains(words), "{words} is not said: {shown}");
    }
    assert!(!shown.contains('\u{202e}'), "the direction of writing can be turned");
    let told = page.accessible().unwrap();
    for what in ["Chromaticity diagram", "Mired scale", "The photo ", "Left the card's colour"] {
        let is_told = told.iter().any(|node| node.name.starts_with(what));
        assert!(is_told, "no picture says: {what}");
    }
}

#[test]
fn setups_and_brackets_are_shown_right() {
    let Some(mut browser) = Browser::for_test("the pages of set-ups and brackets") else { return };
    let shoot = Shoot::new()
        .with("a.jpg", &recorded(&card([0.5, 0.5, 0.55]), 1))
        .with("b.jpg", &recorded(&card([0.55, 0.5, 0.45]), 1));
    let lamp = format!("{}=b.jpg", MARKUP.trim_end_matches(".jpg").replace('=', ":"));
    let run = shoot.run(&["setups", "--report", "page.html", "a.jpg", &lamp, "3200K"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_sound_everywhere(&mut browser, &shoot);
    let mut page = browser.open(&url(&shoot), View::default()).unwrap();
    let shown = text(&mut page);
    for words in ["<img src:x onerror:alert(1)>", "One balance for all", "Take care"] {
        assert!(shown.contains(words), "{words} is not said: {shown}");
    }
    drop(page);
    let words = ["dial", "--report", "page.html", "--force", "a.jpg@5200K", "b.jpg@5900K"];
    assert_eq!(shoot.run(&words).code, 0);
    assert_sound_everywhere(&mut browser, &shoot);
    let mut page = browser.open(&url(&shoot), View::default()).unwrap();
    let shown = text(&mut page);
    assert!(shown.contains("The card is neutral on this camera at"), "{shown}");
}
