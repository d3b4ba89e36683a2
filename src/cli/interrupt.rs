//! Being told to stop (Ctrl-C, or by the system): nothing is left half-written.
//!
//! The program stops at once and ends by the signal itself, so that a shell's loop or a script that
//! started it stops too. A record or a file that is being written is finished first, but a write
//! that does not come to its end, as into a pager, is not waited for long.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// Held while something is written that must be whole.
static WHOLE: Mutex<()> = Mutex::new(());
/// A file under another name that is to be renamed.
static BESIDE: Mutex<Option<PathBuf>> = Mutex::new(None);

/// Does what must not be done by half.
pub(crate) fn whole<R>(write: impl FnOnce() -> R) -> R {
    let _held = WHOLE.lock().unwrap_or_else(PoisonError::into_inner);
    write()
}

/// Notes the file that would be left over if the program ended now; `None` where there is none.
pub(crate) fn left_over(path: Option<&Path>) {
    *BESIDE.lock().unwrap_or_else(PoisonError::into_inner) = path.map(Path::to_path_buf);
}

/// Looks out for being told to stop.
pub(crate) fn watch() {
    #[cfg(unix)]
    unix::watch();
}

#[cfg(unix)]
mod unix {
    use std::fs;
    use std::sync::PoisonError;
    use std::thread;
    use std::time::Duration;

    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    use super::{BESIDE, WHOLE};

    pub(super) fn watch() {
        // Without it the system's own way of stopping does.
        let Ok(mut signals) = Signals::new([SIGINT, SIGTERM]) else { return };
        let stop = move || {
            if let Some(signal) = signals.forever().next() {
                // Not given back: nothing new may be begun.
                let _held = (0..100).find_map(|_| {
                    WHOLE.try_lock().ok().or_else(|| {
                        thread::sleep(Duration::from_millis(10));
                        None
                    })
                });
                let beside = BESIDE.lock().unwrap_or_else(PoisonError::into_inner).take();
                // It may have got its name in the meantime.
                let _ = beside.map(fs::remove_file);
                let _ = emulate_default_handler(signal);
            }
        };
        let _ = thread::Builder::new().name("signals".to_owned()).spawn(stop);
    }
}
