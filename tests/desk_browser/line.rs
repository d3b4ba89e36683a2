//! What is said and done when the desk does not answer, or does not take a file.

use browser::{Browser, View};

use crate::desk_common::{Served, sample};
use crate::{LAMPS, WINDOW, give, text};

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
    // Said for a few seconds, which a busy machine may sleep through: the words stay when they are hidden.
    page.wait_until("document.querySelector('#gone').innerText.includes('answers again')").unwrap();
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
    // A line that comes back before anybody noticed is not said to be back.
    page.wait_until("!document.querySelector('#gone').hidden").unwrap();
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
