//! A desk of its own for a test, and a plain way to speak to it.
#![allow(dead_code, reason = "each test program uses its own part of this module")]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

use serde_json::Value;

/// The program with its page; it ends with this value.
pub(crate) struct Served {
    child: Child,
    out: BufReader<std::process::ChildStdout>,
    /// The page's address, with its code.
    pub(crate) url: String,
    /// Everything printed up to that.
    pub(crate) printed: String,
}

impl Served {
    pub(crate) fn start(words: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_mirecast"))
            // The settings of whoever runs the tests are none of theirs.
            .env("XDG_CONFIG_HOME", "/nowhere")
            .arg("desk")
            .args(words)
            .stdout(Stdio::piped())
            .stdin(Stdio::null())
            .spawn()
            .expect("starts");
        let mut out = BufReader::new(child.stdout.take().expect("is piped"));
        let mut printed = String::new();
        while !printed.contains("Ctrl-C") {
            assert_ne!(out.read_line(&mut printed).expect("prints"), 0, "it ended: {printed}");
        }
        let url = printed.lines().find_map(|line| line.trim().strip_prefix("http://"));
        let url = format!("http://{}", url.expect("prints its address"));
        Self { child, out, url, printed }
    }

    /// Ends it at once, as a machine that is switched off.
    pub(crate) fn kill(&mut self) {
        self.child.kill().expect("was running");
        self.child.wait().expect("has ended");
    }

    pub(crate) fn id(&self) -> u32 {
        self.child.id()
    }

    /// How it ended, and what it said at the end.
    pub(crate) fn end(&mut self) -> (ExitStatus, String) {
        let mut said = String::new();
        self.out.read_to_string(&mut said).expect("prints");
        (self.child.wait().expect("has ended"), said)
    }

    /// Sends photos as the page does; the status, and the answer.
    pub(crate) fn post(&self, what: &str, photos: &[(&str, Option<&str>, &[u8])]) -> (u16, Value) {
        let labels: Vec<Value> = photos
            .iter()
            .map(|(name, shot_at, bytes)| {
                serde_json::json!({"name": name, "shot_at": shot_at, "bytes": bytes.len()})
            })
            .collect();
        let mut body = serde_json::to_vec(&labels).expect("is JSON");
        body.push(b'\n');
        photos.iter().for_each(|(_, _, bytes)| body.extend_from_slice(bytes));
        self.post_bytes(what, &body)
    }

    pub(crate) fn post_bytes(&self, what: &str, body: &[u8]) -> (u16, Value) {
        let (host, path) = self.url["http://".len()..].split_once('/').expect("has a path");
        let mut stream = TcpStream::connect(host).expect("listens");
        stream.set_read_timeout(Some(Duration::from_secs(300))).expect("can wait");
        let head = format!(
            "POST /{path}{what} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n\
             Connection: close\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        stream.write_all(head.as_bytes()).expect("takes it");
        stream.write_all(body).expect("takes it");
        let mut answer = String::new();
        stream.read_to_string(&mut answer).expect("answers");
        let (head, body) = answer.split_once("\r\n\r\n").expect("is an answer");
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok());
        (status.expect("has a status"), serde_json::from_str(body).unwrap_or(body.into()))
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // Gone already is as good.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// One of the sample pictures.
pub(crate) fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-frames").join(name)
}

/// What the program prints of the samples.
pub(crate) fn printed(words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_mirecast"))
        .env("XDG_CONFIG_HOME", "/nowhere")
        .args(words)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-frames"))
        .output()
        .expect("runs");
    String::from_utf8(output.stdout).expect("is text")
}
