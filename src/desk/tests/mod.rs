//! The desk over its wire: plain sockets, so that nothing is sent but what a test says.

mod answers;
mod dawdlers;
mod door;

use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::{Mutex, mpsc};
use std::thread;
use std::time::Duration;

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

/// Small, and more patient than a busy machine is slow.
fn limits() -> Limits {
    Limits {
        photo_bytes: 1 << 20,
        sealed_bytes: 1 << 20,
        cards: 3,
        bytes_in_flight: 3 << 20,
        head: Duration::from_secs(30),
        pause: Duration::from_secs(30),
        body: Duration::from_secs(60),
        ..Limits::default()
    }
}

fn impatient() -> Limits {
    Limits {
        head: Duration::from_millis(700),
        pause: Duration::from_millis(700),
        body: Duration::from_millis(1500),
        ..limits()
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
