//! A headless Chromium, driven over the Chrome DevTools Protocol: for tests that look at pages as
//! people do, and for screenshots.
//!
//! ```no_run
//! let mut browser = browser::Browser::start()?;
//! let mut page = browser.open("file:///tmp/page.html", browser::View::default())?;
//! assert_eq!(page.evaluate("document.title")?, "A page");
//! assert!(page.complaints().is_empty());
//! # Ok::<(), browser::BrowserError>(())
//! ```

mod connection;
mod page;
mod process;

use std::path::PathBuf;

use serde_json::{Value, json};

use connection::Connection;
pub use page::{Named, Page, View};
use process::Process;

/// A running browser; it ends with this value.
#[derive(Debug)]
pub struct Browser {
    // The connection is closed before the process is ended.
    connection: Connection,
    _process: Process,
}

/// What can go wrong with a browser.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BrowserError {
    /// There is none on this machine.
    #[error("no Chromium here; install it, or name it in the variable {VARIABLE}")]
    Absent,
    /// It did not start.
    #[error("{0} did not start: {1}")]
    Start(PathBuf, String),
    /// The connection to it broke.
    #[error("the browser went away: {0}")]
    Connection(String),
    /// It refused a command.
    #[error("{method}: {message}")]
    Refused {
        /// The command.
        method: String,
        /// What the browser said.
        message: String,
    },
    /// A page's own script failed where it was asked for a value.
    #[error("the page: {0}")]
    Script(String),
}

/// The environment variable that names the browser, where it is not found by itself.
pub const VARIABLE: &str = "MIRECAST_BROWSER";

/// The environment variable that makes the absence of a browser an error: where all must hold.
pub const REQUIRED: &str = "MIRECAST_BROWSER_REQUIRED";

impl Browser {
    /// Starts the browser of this machine, without a window and without a network of its own.
    ///
    /// # Errors
    /// [`BrowserError::Absent`] where there is none; others where it does not start.
    pub fn start() -> Result<Self, BrowserError> {
        let program = process::find().ok_or(BrowserError::Absent)?;
        let (process, address) = Process::start(program)?;
        Ok(Self { connection: Connection::open(&address)?, _process: process })
    }

    /// Starts the browser, or says on standard error that `what` is skipped for want of one.
    ///
    /// # Panics
    /// Where it does not start, and where there is none although [`REQUIRED`] is set: this is for
    /// tests.
    #[must_use]
    #[expect(clippy::print_stderr, reason = "a test that is skipped must say so")]
    pub fn for_test(what: &str) -> Option<Self> {
        match Self::start() {
            Ok(browser) => Some(browser),
            Err(BrowserError::Absent) if std::env::var_os(REQUIRED).is_none() => {
                eprintln!("skipped: {what}: {}", BrowserError::Absent);
                None
            }
            Err(error) => panic!("{what}: {error}"),
        }
    }

    /// Opens a page and waits until it has loaded.
    ///
    /// # Errors
    /// [`BrowserError`] if the browser goes away or refuses.
    pub fn open(&mut self, url: &str, view: View) -> Result<Page<'_>, BrowserError> {
        let target =
            self.connection.call(None, "Target.createTarget", json!({"url": "about:blank"}))?;
        let attach = json!({"targetId": target["targetId"], "flatten": true});
        let attached = self.connection.call(None, "Target.attachToTarget", attach)?;
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        let session = text(&attached["sessionId"]);
        Page::load(&mut self.connection, session, text(&target["targetId"]), url, view)
    }
}
