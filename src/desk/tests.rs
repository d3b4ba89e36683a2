//! The desk over its wire: plain sockets, so that nothing is sent but what a test says.

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Mutex, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use tokio::sync::oneshot;

use super::limits::Limits;
use super::server::{Desk, DeskError, Place};
use super::work::built_in;

/// A desk in a thread of its own; it ends with this value.
struct Running {
    address: SocketAddr,
    code: String,
    stop: Option<oneshot::Sender<()>>,
    ended: Mutex<mpsc::Receiver<()>>,
}

/// Small and impatient.
fn limits() -> Limits {
    Limits {
        photo_bytes: 1 << 20,
        sealed_bytes: 1 << 20,
        cards: 3,
        bytes_in_flight: 3 << 20,
        head: Duration::from_millis(700),
        pause: Duration::from_millis(700),
        body: Duration::from_millis(1500),
        ..Limits::default()
    }
}

fn desk(limits: Limits) -> Running {
    let desk = Desk::open(Place { port: 0, network: None }, limits, built_in()).unwrap();
    let url = desk.urls().remove(0);
    let (address, code) = url.strip_prefix("http://").unwrap().split_once('/').unwrap();
    let (address, code) = (address.parse().unwrap(), code.trim_end_matches('/').to_owned());
    let (stop, stopped) = oneshot::channel::<()>();
    let (ending, ended) = mpsc::channel();
    thread::spawn(move || {
        let stop = || async { drop(stopped.await) };
        let _ = desk.answer_until(stop, || Ok::<(), DeskError>(()));
        let _ = ending.send(());
    });
    Running { address, code, stop: Some(stop), ended: Mutex::new(ended) }
}

impl Running {
    fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        stream
    }

    /// What comes back to these bytes, until the other side closes.
    fn raw(&self, bytes: &[u8]) -> String {
        let mut stream = self.connect();
        // A refusal may come, and the connection go, before everything is sent.
        let _ = stream.write_all(bytes);
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    }

    fn get(&self, path: &str) -> String {
        let address = self.address;
        self.raw(
            format!("GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n")
                .as_bytes(),
        )
    }

    fn head(&self, what: &str, more: &str) -> String {
        let Self { address, code, .. } = self;
        format!(
            "POST /{code}/{what} HTTP/1.1\r\nHost: {address}\r\nOrigin: http://{address}\r\n\
             Connection: close\r\n{more}\r\n"
        )
    }

    fn post(&self, what: &str, body: &[u8]) -> String {
        let head = self.head(what, &format!("Content-Length: {}\r\n", body.len()));
        self.raw(&[head.as_bytes(), body].concat())
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.stop.take();
    }
}

#[track_caller]
fn assert_status(answer: &str, status: u16) {
    let line = answer.lines().next().unwrap_or_default();
    assert!(line.starts_with(&format!("HTTP/1.1 {status}")), "{status} wanted: {answer:.400}");
}

fn parcel(name: &str, more: &str, bytes: &[u8]) -> Vec<u8> {
    let label = format!("[{{\"name\":{name:?},\"bytes\":{}{more}}}]\n", bytes.len());
    [label.as_bytes(), bytes].concat()
}

fn body_of(answer: &str) -> &str {
    answer.split_once("\r\n\r\n").unwrap().1
}

fn card() -> Vec<u8> {
    let picture = image::RgbImage::from_fn(240, 160, |x, y| {
        let falloff = (x.abs_diff(120) + y.abs_diff(80)) / 12;
        image::Rgb([205, 200, 190].map(|v: u8| v.saturating_sub(falloff as u8)))
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

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
        assert!(begun.elapsed() < Duration::from_millis(600), "{what} waited");
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

#[test]
fn what_makes_no_sense_is_refused_with_words() {
    let desk = desk(limits());
    for (what, body) in [
        ("card", "no parcel"),
        ("card", "[]\n"),
        ("setups", "[{\"name\":\"a\",\"bytes\":0}]\n"),
        ("frames", "{}"),
        ("frames", "[]"),
        ("frames", "{\"frames\":[{\"record\":\"{}\",\"with\":null}]}"),
    ] {
        assert_status(&desk.post(what, body.as_bytes()), 400);
    }
    let forged = "{\"frames\":[{\"record\":\"{}\",\"with\":null,\"seal\":\"AAAA\"}]}";
    assert_status(&desk.post("frames", forged.as_bytes()), 409);
    let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"tungstem\"", b"x"));
    assert_status(&answer, 422);
    assert!(answer.contains("did you mean `tungsten`?"), "{answer}");
}

#[test]
fn slow_senders_are_let_go() {
    let desk = desk(limits());
    let begun = Instant::now();
    // A head that never ends.
    assert!(desk.raw(b"GET / HTTP/1.1\r\nHost: ").lines().all(|line| !line.contains("200")));
    // A body that never comes.
    let head = desk.head("card", "Content-Length: 1000\r\n");
    assert_status(&desk.raw(head.as_bytes()), 408);
    assert_status(&desk.raw((head.clone() + "[{").as_bytes()), 408);
    // One that comes in drops, each soon enough but all together too late.
    let mut stream = desk.connect();
    stream.write_all(head.as_bytes()).unwrap();
    let mut reader = stream.try_clone().unwrap();
    thread::spawn(move || {
        while stream.write_all(b" ").is_ok() {
            thread::sleep(Duration::from_millis(100));
        }
    });
    let mut answer = String::new();
    // The rest of what was still being sent may reset the connection after the answer.
    let _ = reader.read_to_string(&mut answer);
    assert_status(&answer, 408);
    assert!(begun.elapsed() < Duration::from_secs(20), "{:?}", begun.elapsed());
    assert_status(&desk.post("card", &parcel("a.jpg", "", &card())), 200);
}

#[test]
fn aborted_uploads_leave_room_for_others() {
    let desk = desk(limits());
    let head = desk.head("card", "Content-Length: 1000000\r\n");
    // Together more than there is room for.
    for _ in 0..12 {
        let mut stream = desk.connect();
        stream.write_all(head.as_bytes()).unwrap();
        stream.write_all(&[b' '; 10_000]).unwrap();
    }
    // And some that only fall silent.
    let silent: Vec<_> = (0..6)
        .map(|_| {
            let mut stream = desk.connect();
            stream.write_all(head.as_bytes()).unwrap();
            stream
        })
        .collect();
    let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"5600K\"", &card()));
    assert_status(&answer, 200);
    assert!(answer.contains("cct_kelvin"), "{answer:.300}");
    drop(silent);
}

#[test]
fn a_broken_photo_harms_only_itself() {
    let desk = desk(limits());
    let whole = card();
    let half = &whole[..whole.len() / 2];
    let bombs: [&[u8]; 4] = [
        b"",
        b"no picture",
        half,
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\xff\xff\xff\xff\xff\xff\xff\xff\x08\x02\0\0\0",
    ];
    thread::scope(|threads| {
        for bomb in bombs {
            let desk = &desk;
            threads.spawn(move || {
                for what in ["card", "frame"] {
                    let answer = desk.post(what, &parcel("<b>x</b>.jpg", "", bomb));
                    assert_status(&answer, 200);
                    assert!(answer.contains("error"), "{answer:.900}");
                    assert!(!answer.contains("<b>x</b></bdi>"), "{answer}");
                }
            });
        }
        for _ in 0..4 {
            let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"5600K\"", &whole));
            assert_status(&answer, 200);
            assert!(answer.contains("cct_kelvin"), "{answer:.300}");
        }
    });
}

#[test]
fn frames_come_back_in_groups() {
    let desk = desk(limits());
    let (mut sealed, mut sampled) = (Vec::new(), Vec::new());
    for (name, bytes) in [("a.jpg", card()), ("broken.jpg", b"no".to_vec()), ("b.jpg", card())] {
        let answer = desk.post("frame", &parcel(name, "", &bytes));
        assert_status(&answer, 200);
        let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
        sealed.push(answer["shown"].clone());
        sampled.push(answer["sampled"].clone());
    }
    let body = serde_json::json!({"frames": sealed}).to_string();
    let answer = desk.post("frames", body.as_bytes());
    assert_status(&answer, 200);
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    let records = answer["records"].as_array().unwrap();
    assert_eq!(records.len(), 4, "three frames and a group: {records:?}");
    let section = answer["section"].as_str().unwrap();
    assert_eq!(section.matches("<li class=\"frame\"").count(), 3);
    assert!(section.contains("data:image/jpeg;base64,"));
    // What was changed in between is noticed.
    let changed = body.replace("b.jpg", "c.jpg");
    assert_status(&desk.post("frames", changed.as_bytes()), 409);
    // One for the other is not taken either.
    let swapped = serde_json::json!({"frames": sampled}).to_string();
    assert_status(&desk.post("frames", swapped.as_bytes()), 409);

    let wanted = |frames: &[Value]| {
        let wanted = serde_json::json!({"footage": "srgb", "strength": "100", "frames": frames});
        desk.post("corrections", wanted.to_string().as_bytes())
    };
    let answer = wanted(&sampled);
    assert_status(&answer, 200);
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    assert_eq!(answer["records"].as_array().unwrap().len(), 4);
    assert_status(&wanted(&sealed), 409);
}

#[test]
fn corrections_that_make_no_sense_are_refused_with_words() {
    let desk = desk(limits());
    let answer = desk.post("card", &parcel("a.jpg", ",\"shot_at\":\"5600K\"", &card()));
    let answer: Value = serde_json::from_str(body_of(&answer)).unwrap();
    let sealed = &answer["sealed"];
    let ask = |footage: &str, strength: &str, cards: &[&Value]| {
        let wanted = serde_json::json!({"footage": footage, "strength": strength, "cards": cards});
        desk.post("corrections", wanted.to_string().as_bytes())
    };
    assert_status(&ask("srgb", "100", &[sealed]), 200);
    for (footage, strength, words) in [
        ("log", "100", "choose Rec. 709 or linear light here"),
        ("technicolour", "100", "no encoding that is known here"),
        ("srgb", "0", "a percentage from 1 to 100"),
    ] {
        let answer = ask(footage, strength, &[sealed]);
        assert_status(&answer, 422);
        assert!(answer.contains(words) && !answer.contains("--"), "{answer}");
    }
    assert_status(&ask("srgb", "100", &[]), 400);
    assert_status(&desk.post("cards", b"{\"cards\":[]}"), 400);
    let many = vec![sealed; 4];
    let answer = desk.post("cards", serde_json::json!({"cards": many}).to_string().as_bytes());
    assert_status(&answer, 413);
    assert!(answer.contains("3 are the most"), "{answer}");
}

#[test]
fn it_ends_when_it_is_told_to_even_while_somebody_dawdles() {
    let mut desk = desk(Limits { farewell: Duration::from_millis(300), ..limits() });
    let mut stream = desk.connect();
    stream.write_all(desk.head("card", "Content-Length: 1000\r\n").as_bytes()).unwrap();
    desk.stop.take();
    desk.ended.lock().unwrap().recv_timeout(Duration::from_secs(20)).expect("it ends");
    assert!(TcpStream::connect(desk.address).is_err(), "nobody listens any more");
}

#[test]
fn a_crowd_is_answered_to_the_last() {
    let desk =
        desk(Limits { pause: Duration::from_secs(30), body: Duration::from_secs(60), ..limits() });
    let bytes = parcel("a.jpg", ",\"shot_at\":\"5600K\"", &[card(), vec![0; 600_000]].concat());
    let answers: Vec<String> = thread::scope(|threads| {
        let asked: Vec<_> = (0..50).map(|_| threads.spawn(|| desk.post("card", &bytes))).collect();
        asked.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert_eq!(answers.len(), 50);
    for answer in answers {
        assert_status(&answer, 200);
        assert!(answer.contains("cct_kelvin"), "{answer:.300}");
    }
}
