//! What is wrong with a page is noticed: or a test that finds nothing would prove nothing.

use browser::{Browser, View};

const PAGE: &str = r#"<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>A page</title>
<style>p { width: 900px } @media (prefers-color-scheme: dark) { body { background: rgb(1, 2, 3) } }</style>
</head><body><p id="wide">wide</p><img src="http://127.0.0.1:9/outside.png">
<svg role="img" aria-label="A drawing" width="9" height="9"></svg>
<script>document.title = "ran"; console.error("it complains"); throw new Error("it breaks");</script>
</body></html>"#;

#[test]
fn what_is_wrong_with_a_page_is_noticed() {
    let Some(mut browser) = Browser::for_test("whether faults are noticed") else { return };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.html");
    std::fs::write(&path, PAGE).unwrap();
    let address = format!("file://{}", path.display());

    let phone = View { width: 380, dark: true, ..View::default() };
    let mut page = browser.open(&address, phone).unwrap();
    assert_eq!(page.evaluate("document.title").unwrap(), "ran");
    let complaints = page.complaints().join("\n");
    assert!(complaints.contains("it complains") && complaints.contains("it breaks"));
    assert!(page.requests().iter().any(|asked| asked.ends_with("outside.png")));
    let wide = page.evaluate("document.documentElement.scrollWidth").unwrap();
    assert!(wide.as_u64().unwrap() >= 900, "{wide}");
    let background = page.evaluate("getComputedStyle(document.body).backgroundColor").unwrap();
    assert_eq!(background, "rgb(1, 2, 3)");
    let told = page.accessible().unwrap();
    assert!(told.iter().any(|node| node.name == "A drawing"), "{told:?}");
    assert!(page.evaluate("undefined.nothing").is_err());
    assert!(page.screenshot(Some(100)).unwrap().starts_with(b"\x89PNG"));
    assert!(page.printed([8.27, 11.69]).unwrap().starts_with(b"%PDF"));
    drop(page);

    let without = View { script: false, ..View::default() };
    let mut page = browser.open(&address, without).unwrap();
    assert_eq!(page.evaluate("document.title").unwrap(), "A page");
}
