//! Work on photos: a few at a time, in turn, none of it for ever.

use std::sync::Arc;
use std::time::Duration;

use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;
use tokio::time::timeout;

use super::refusal::Refusal;
use crate::cli::batch::keep_workers_quiet;

/// Workers, each of which holds a whole picture.
pub(crate) struct Pool {
    free: Arc<Semaphore>,
    longest: Duration,
}

impl Pool {
    /// At most so many at once, and no more than there are cores; each may take so long.
    pub(crate) fn new(most: usize, longest: Duration) -> Self {
        keep_workers_quiet();
        let cores = std::thread::available_parallelism().map_or(1, usize::from);
        Self { free: Arc::new(Semaphore::new(cores.min(most))), longest }
    }

    /// Does the work once a worker is free; those that came first come first.
    ///
    /// # Errors
    /// [`Refusal::Stumbled`] after a panic, which ends this piece alone, and [`Refusal::TooLong`].
    /// What takes too long is left to itself: it cannot be stopped, but nobody waits for it.
    pub(crate) async fn run<R: Send + 'static>(
        &self,
        work: impl FnOnce() -> R + Send + 'static,
    ) -> Result<R, Refusal> {
        let free = Arc::clone(&self.free);
        let place = free.acquire_owned().await.map_err(|_| Refusal::Stumbled)?;
        let longest = self.longest;
        // Apart from the request: the place is held while the work goes on, though whoever asked
        // may go.
        let task = tokio::spawn(async move {
            let done = timeout(longest, spawn_blocking(work)).await;
            drop(place);
            match done {
                Ok(done) => done.map_err(|_| Refusal::Stumbled),
                Err(_) => Err(Refusal::TooLong { seconds: longest.as_secs() }),
            }
        });
        task.await.map_err(|_| Refusal::Stumbled)?
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_panic_and_a_hang_cost_their_own_request_only() {
        let pool = Pool::new(1, Duration::from_secs(1));
        let panics = pool.run(|| panic!("on purpose")).await;
        assert_eq!(panics, Err::<(), _>(Refusal::Stumbled));
        let hangs = pool.run(|| std::thread::sleep(Duration::from_millis(2500))).await;
        assert_eq!(hangs, Err(Refusal::TooLong { seconds: 1 }));
        assert_eq!(pool.run(|| 5).await, Ok(5));
    }
}
