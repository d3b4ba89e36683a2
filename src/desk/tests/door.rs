//! Who is let in, and to what.

use std::time::{Duration, Instant};

use super::{Running, assert_status, desk, limits};

#[test]
fn every_answer_has_its_headers_and_no_cookie() {
    let desk = desk(limits());
    let code = &desk.code;
    for path in
        [format!("/{code}/"), format!("/{code}/desk.js"), "/".to_owned(), format!("/{code}/no")]
    {
        let answer = desk.get(&path).to_lowercase();
        for header in [
            "content-security-policy: default-src 'none';",
            "x-content-type-options: nosniff",
            "cache-control: no-store",
            "referrer-policy: same-origin",
            "content-type: text/",
        ] {
            assert!(answer.contains(header), "{path} has no {header}: {answer:.900}");
        }
        assert!(!answer.contains("set-cookie") && !answer.contains("access-control"), "{path}");
    }
}

#[test]
fn the_page_and_its_files_are_served_behind_the_code_only() {
    let desk = desk(limits());
    let code = &desk.code;
    for (file, kind) in [
        ("", "text/html"),
        ("desk.css", "text/css"),
        ("desk.js", "text/javascript"),
        ("setups.js", "text/javascript"),
        ("report.css", "text/css"),
        ("report.js", "text/javascript"),
    ] {
        let answer = desk.get(&format!("/{code}/{file}"));
        assert_status(&answer, 200);
        assert!(answer.contains(kind), "{answer:.600}");
        assert_status(&desk.get(&format!("/{file}")), 403);
        assert_status(&desk.get(&format!("/{}/{file}", "2".repeat(12))), 403);
    }
    assert_status(&desk.get(&format!("/{code}")), 308);
    assert_status(&desk.get(&format!("/{code}/alive")), 204);
    assert_status(&desk.get(&format!("/{code}/card")), 405);
    assert_status(&desk.post("desk.js", b""), 405);
}

#[test]
fn tricks_with_paths_lead_nowhere() {
    let desk = desk(limits());
    let code = &desk.code;
    for path in [
        "/../../etc/passwd",
        "/..%2f..%2fetc/passwd",
        "//",
        "/%2e%2e/",
        &format!("//{code}/"),
        &format!("/./{code}/"),
        &format!("/x/../{code}/"),
        &format!("/%{:02x}{}/", code.as_bytes()[0], &code[1..]),
    ] {
        assert_status(&desk.get(path), 403);
    }
    for rest in [
        "../",
        "..",
        "../../etc/passwd",
        "%2e%2e/",
        "desk.js/",
        "/desk.js",
        "./desk.js",
        "card/..",
        "desk%2ejs",
        "src/main.rs",
    ] {
        let answer = desk.get(&format!("/{code}/{rest}"));
        // The one that is not a path of the desk at all, as a browser never sends it, is led back.
        assert_status(&answer, if rest == ".." { 308 } else { 404 });
    }
}

#[test]
fn other_hosts_and_origins_are_refused() {
    let desk = desk(limits());
    let Running { address, code, .. } = &desk;
    let ask = |head: &str| desk.raw(format!("{head}\r\nConnection: close\r\n\r\n").as_bytes());
    for host in ["evil.example", "127.0.0.1", "evil.example:80", "[::1]:80", "localhost"] {
        assert_status(&ask(&format!("GET /{code}/ HTTP/1.1\r\nHost: {host}")), 421);
    }
    assert_status(&ask(&format!("GET /{code}/ HTTP/1.1")), 421);
    assert_status(
        &ask(&format!("GET /{code}/ HTTP/1.1\r\nHost: {address}\r\nHost: {address}")),
        421,
    );
    assert_status(&ask(&format!("GET http://{address}/{code}/ HTTP/1.1\r\nHost: {address}")), 421);
    let local = format!("localhost:{}", address.port());
    assert_status(&ask(&format!("GET /{code}/ HTTP/1.1\r\nHost: {local}")), 200);
    let post = format!("POST /{code}/card HTTP/1.1\r\nHost: {address}\r\nContent-Length: 0");
    for origin in
        ["", "\r\nOrigin: null", "\r\nOrigin: http://evil.example", "\r\nOrigin: https://127.0.0.1"]
    {
        assert_status(&ask(&format!("{post}{origin}")), 403);
    }
    assert_status(&ask(&format!("{post}\r\nOrigin: http://{local}")), 403);
    assert_status(
        &ask(&format!("{post}\r\nOrigin: http://{address}\r\nSec-Fetch-Site: cross-site")),
        403,
    );
    // From the page itself it comes as far as being found empty.
    assert_status(&ask(&format!("{post}\r\nOrigin: http://{address}")), 400);
    assert_status(&ask("BREW /coffee HTTP/1.1\r\nHost: x"), 421);
    assert_status(&ask("no request at all"), 400);
}

#[test]
fn oversized_bodies_are_refused_before_they_are_sent() {
    let desk = desk(limits());
    for (what, length, status) in [
        ("card", "2000000", 413),
        ("frame", "99999999999999999999", 400),
        ("frame", "1099511627776", 413),
        ("frames", "1048577", 413),
        ("setups", "-1", 400),
    ] {
        let begun = Instant::now();
        let answer = desk.raw(desk.head(what, &format!("Content-Length: {length}\r\n")).as_bytes());
        assert_status(&answer, status);
        assert!(begun.elapsed() < Duration::from_secs(20), "{what} waited");
    }
    // Of unknown length, and of a length that is two.
    let chunked = desk.head("card", "Transfer-Encoding: chunked\r\n") + "1\r\nx\r\n0\r\n\r\n";
    assert_status(&desk.raw(chunked.as_bytes()), 411);
    let photos = "{\"name\":\"a\",\"bytes\":0},".repeat(7);
    let body = format!("[{}]\n", photos.trim_end_matches(','));
    assert_status(&desk.post("setups", body.as_bytes()), 413);
    let long = desk.head("card", &format!("X-Filler: {}\r\n", "x".repeat(100_000)));
    assert_status(&desk.raw(long.as_bytes()), 431);
}
