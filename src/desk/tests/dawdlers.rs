//! Who is slow, goes away, or comes with many others.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::thread;
use std::time::{Duration, Instant};

use super::{assert_status, card, desk, impatient, limits, parcel};
use crate::desk::Limits;

#[test]
fn slow_senders_are_let_go() {
    let desk = desk(impatient());
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
    let desk = desk(impatient());
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
    let desk = desk(limits());
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
