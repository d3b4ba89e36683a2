//! The browser's own process.

use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use tempfile::TempDir;

use crate::{BrowserError, VARIABLE};

#[derive(Debug)]
pub(crate) struct Process {
    child: Child,
    /// Its profile; removed once it has ended.
    _profile: TempDir,
}

/// What the browser is called on various systems.
const NAMES: [&str; 4] = ["chromium", "chromium-browser", "google-chrome", "chrome"];

pub(crate) fn find() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os(VARIABLE) {
        return Some(named.into());
    }
    let folders: Vec<PathBuf> =
        std::env::split_paths(&std::env::var_os("PATH").unwrap_or_default()).collect();
    let candidates = NAMES.iter().flat_map(|name| folders.iter().map(move |f| f.join(name)));
    candidates.into_iter().find(|path| path.is_file())
}

const FLAGS: [&str; 12] = [
    "--headless",
    // Tests run in containers, as root, on pages of our own.
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
    "--hide-scrollbars",
    "--remote-debugging-port=0",
];

impl Process {
    /// The process, and the address at which it is spoken to.
    pub(crate) fn start(program: PathBuf) -> Result<(Self, String), BrowserError> {
        let failed = |why: String| BrowserError::Start(program.clone(), why);
        let profile = TempDir::new().map_err(|error| failed(error.to_string()))?;
        let child = Command::new(&program)
            .args(FLAGS)
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg("about:blank")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| failed(error.to_string()))?;
        let port_file = profile.path().join("DevToolsActivePort");
        let mut process = Self { child, _profile: profile };
        let begun = Instant::now();
        loop {
            let told = std::fs::read_to_string(&port_file).unwrap_or_default();
            if let Some((port, path)) = told.split_once('\n') {
                return Ok((process, format!("ws://127.0.0.1:{}{}", port.trim(), path.trim())));
            }
            if let Ok(Some(status)) = process.child.try_wait() {
                return Err(failed(format!("it ended at once ({status})")));
            }
            if begun.elapsed() > Duration::from_secs(60) {
                return Err(failed("it does not answer".to_owned()));
            }
            thread::sleep(Duration::from_millis(30));
        }
    }
}

impl Drop for Process {
    fn drop(&mut self) {
        // Gone already is as good.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
