//! Cards and set-ups.

use browser::{Browser, View};

use crate::desk_common::{Served, printed, sample};
use crate::{KEEP_SAVED, LAMPS, PHONE, WINDOW, assert_sound, correct, give, shoot, text};

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
fn a_photo_without_a_card_offers_no_corrections() {
    let Some(mut browser) = Browser::for_test("the desk without a card") else { return };
    let desk = Served::start(&[]);
    let mut page = browser.open(&desk.url, View::default()).unwrap();
    give(&mut page, "card-missing-wrong-photo.jpg");
    let read = text(&mut page, "#cards article");
    assert!(read.contains("Cannot be balanced from"), "{read}");
    let offered = "document.querySelectorAll('#cards .result .grade').length";
    assert_eq!(page.evaluate(offered).unwrap(), 0);
    assert!(text(&mut page, "#cards .after").contains("Remove"));
    give(&mut page, LAMPS);
    page.wait_until(&format!("{offered} === 1")).unwrap();
}
