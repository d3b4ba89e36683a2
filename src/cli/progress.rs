//! How far a run has come, on standard error where that is a terminal.

use std::io::{self, IsTerminal};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A bar that is taken away when it is dropped.
pub(crate) struct Progress(ProgressBar);

impl Progress {
    /// Of so many, where that is known; hidden where nobody would see it.
    pub(crate) fn new(total: Option<u64>) -> Self {
        if !Self::is_seen() {
            return Self(ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden()));
        }
        let bar = match total {
            Some(total) => ProgressBar::new(total),
            None => ProgressBar::no_length(),
        };
        let shape = match total {
            Some(_) => "{pos} of {len} checked {wide_bar} {eta} left",
            None => "{pos} checked",
        };
        // The shapes are fixed and sound; if not, the default one does.
        if let Ok(style) = ProgressStyle::with_template(shape) {
            bar.set_style(style.progress_chars("=> "));
        }
        Self(bar)
    }

    /// Whether anybody would see it.
    pub(crate) fn is_seen() -> bool {
        io::stderr().is_terminal()
    }

    pub(crate) fn step(&self) {
        self.0.inc(1);
    }

    /// Does what prints, with the bar out of the way.
    pub(crate) fn aside<R>(&self, print: impl FnOnce() -> R) -> R {
        self.0.suspend(print)
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
