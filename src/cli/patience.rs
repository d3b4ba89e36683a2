//! A result that is waited for, but not for ever.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::{Duration, Instant};

use mirecast::report::ErrorRecord;

/// Why there is no result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lost {
    /// The work stumbled.
    Panicked,
    /// It took longer than this, and was given up.
    TooSlow(Duration),
}

impl From<Lost> for ErrorRecord {
    fn from(lost: Lost) -> Self {
        match lost {
            Lost::Panicked => Self::stumbled(),
            Lost::TooSlow(limit) => Self::too_slow(limit),
        }
    }
}

/// Time that somebody has waited, in milliseconds. It stands still while the program is stopped and
/// continued later, or while nobody waits because the results are not taken.
#[derive(Debug, Clone, Default)]
pub(crate) struct Clock(Arc<AtomicU64>);

/// A wait is made of steps this long.
const STEP: Duration = Duration::from_millis(20);

/// What a worker will say of its item.
pub(crate) struct Promise<R> {
    state: Mutex<State<R>>,
    changed: Condvar,
    clock: Clock,
}

enum State<R> {
    Waiting,
    /// At this time by the clock.
    Begun(u64),
    Kept(Result<R, Lost>),
    /// Nobody waits for it any more.
    Over,
}

impl<R> Promise<R> {
    pub(crate) fn new(clock: Clock) -> Self {
        Self { state: Mutex::new(State::Waiting), changed: Condvar::new(), clock }
    }

    /// The worker begins.
    pub(crate) fn begin(&self) {
        let now = self.clock.0.load(Ordering::Relaxed);
        *self.state.lock().unwrap_or_else(PoisonError::into_inner) = State::Begun(now);
    }

    /// The worker is done; false if nobody waits for it any more.
    pub(crate) fn keep(&self, result: Result<R, Lost>) -> bool {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        let wanted = !matches!(*state, State::Over);
        if wanted {
            *state = State::Kept(result);
            self.changed.notify_all();
        }
        wanted
    }

    /// The result, or that it took longer than `limit` from when it was begun.
    pub(crate) fn wait(&self, limit: Duration) -> Result<R, Lost> {
        let most = u64::try_from(limit.as_millis()).unwrap_or(u64::MAX);
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            let now = self.clock.0.load(Ordering::Relaxed);
            match &*state {
                State::Kept(_) => {
                    return match std::mem::replace(&mut *state, State::Over) {
                        State::Kept(result) => result,
                        _ => Err(Lost::Panicked),
                    };
                }
                State::Begun(at) if now.saturating_sub(*at) >= most => {
                    *state = State::Over;
                    return Err(Lost::TooSlow(limit));
                }
                _ => {}
            }
            let start = Instant::now();
            let waited = self.changed.wait_timeout(state, STEP);
            state = waited.unwrap_or_else(PoisonError::into_inner).0;
            // A step that seems to have taken long is one in which the program was stopped.
            let step = start.elapsed().min(2 * STEP).as_millis();
            self.clock.0.fetch_add(u64::try_from(step).unwrap_or(0), Ordering::Relaxed);
        }
    }
}
