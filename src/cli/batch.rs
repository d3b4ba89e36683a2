//! Many photos at once, in the order given, in bounded memory, none of them for ever.

use std::hint::black_box;
use std::io;
use std::num::NonZero;
use std::panic::{self, AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use mirecast::in_system_words;

use super::patience::{Clock, Lost, Promise};

pub(crate) const WORKER: &str = "reader";

/// Workers that were given up and may still be busy. With more of them the machine does little else.
const MOST_GIVEN_UP: usize = 16;

/// What ends a batch before its items do.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Stopped {
    /// Nothing can be read.
    #[error("cannot begin to read: {}", in_system_words(.0))]
    NoWorker(#[from] io::Error),
    /// Each takes a thread with it, and they do not come back.
    #[error(
        "{MOST_GIVEN_UP} files took too long, so the rest was not read. Check the drive, or allow \
         more with --max-seconds"
    )]
    TooManySlow,
}

/// Hands out work to threads.
pub(crate) struct Batch {
    threads: usize,
    limit: Duration,
}

impl Batch {
    /// So many workers, or as many as there are cores; an item may take so long.
    pub(crate) fn new(threads: Option<NonZero<usize>>, limit: Duration) -> Self {
        keep_workers_quiet();
        let cores = || thread::available_parallelism().map_or(1, NonZero::get);
        Self { threads: threads.map_or_else(cores, NonZero::get), limit }
    }

    /// Does `work` on every item, several at a time, and hands each result to `done` in the order
    /// of the items, as soon as it and all before it are there.
    ///
    /// About twice as many items as there are workers are under way at once and no more: memory
    /// does not grow with the number of items. An item that takes longer than the limit is lost,
    /// and its worker is left to itself for a fresh one; the process does not wait for it when it
    /// ends. An error of `items` or of `done` ends it all.
    pub(crate) fn in_order<T, R, E>(
        &self,
        items: impl Iterator<Item = Result<T, E>> + Send,
        work: impl Fn(&T) -> R + Send + Sync + 'static,
        mut done: impl FnMut(&T, Result<R, Lost>) -> Result<(), E>,
    ) -> Result<(), E>
    where
        T: Clone + Send + 'static,
        R: Send + 'static,
        E: Send + From<Stopped>,
    {
        let (to_do, queue) = channel::<Job<T, R>>();
        let crew = Crew { queue: Arc::new(Mutex::new(queue)), work: Arc::new(work) };
        for number in 0..self.threads {
            match crew.hire() {
                // Fewer do as well, only slower.
                Err(_) if number > 0 => break,
                hired => hired.map_err(Stopped::from)?,
            }
        }
        let clock = Clock::default();
        let mut given_up = 0;
        let (begun, waiting) = sync_channel::<Result<(T, Arc<Promise<R>>), E>>(2 * self.threads);
        thread::scope(|threads| {
            // A list may be slow to come; results must not wait for its next line.
            let feeder_clock = clock.clone();
            threads.spawn(move || {
                for item in items {
                    let promise = Arc::new(Promise::new(feeder_clock.clone()));
                    let job = item.as_ref().ok().map(|item| (item.clone(), promise.clone()));
                    let entry = item.map(|item| (item, promise));
                    // Nobody listens any more once `done` has failed.
                    let (Ok(()), Some(job)) = (begun.send(entry), job) else { return };
                    if to_do.send(job).is_err() {
                        return;
                    }
                }
            });
            waiting.into_iter().try_for_each(|entry| {
                let (item, promise) = entry?;
                let result = promise.wait(self.limit);
                if matches!(result, Err(Lost::TooSlow(_))) {
                    given_up += 1;
                    if given_up > MOST_GIVEN_UP {
                        done(&item, result)?;
                        return Err(Stopped::TooManySlow.into());
                    }
                    crew.hire().map_err(Stopped::from)?;
                }
                done(&item, result)
            })
        })
    }
}

type Job<T, R> = (T, Arc<Promise<R>>);

/// What a worker needs to be one.
struct Crew<T, R, W> {
    queue: Arc<Mutex<Receiver<Job<T, R>>>>,
    work: Arc<W>,
}

impl<T, R, W> Crew<T, R, W>
where
    T: Send + 'static,
    R: Send + 'static,
    W: Fn(&T) -> R + Send + Sync + 'static,
{
    /// Starts a worker. It ends when there is nothing more to do, or when it was given up.
    fn hire(&self) -> io::Result<()> {
        let (queue, work) = (self.queue.clone(), self.work.clone());
        let next = move || queue.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let toil = move || {
            hold_on_to_memory();
            while let Ok((item, promise)) = next() {
                promise.begin();
                let result = catch_unwind(AssertUnwindSafe(|| work(&item)));
                if !promise.keep(result.map_err(|_| Lost::Panicked)) {
                    return;
                }
            }
        };
        thread::Builder::new().name(WORKER.to_owned()).spawn(toil).map(drop)
    }
}

/// Has the allocator keep what a worker gives back for its next item, up to about twice this, rather than hand it to
/// the system and ask for it again: a fifth of the time of a large JPEG. The GNU C library goes by the largest piece
/// it has seen come back; others do not mind.
fn hold_on_to_memory() {
    const PIECE: usize = 8 << 20;
    drop(black_box(Vec::<u8>::with_capacity(PIECE)));
}

/// A worker's panic is told as its photo's error; the usual message would only alarm.
pub(crate) fn keep_workers_quiet() {
    let usual = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        if thread::current().name() != Some(WORKER) {
            usual(info);
        }
    }));
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Instant;

    use super::*;

    impl From<Stopped> for io::Error {
        fn from(stopped: Stopped) -> Self {
            Self::other(stopped)
        }
    }

    fn batch(threads: usize) -> Batch {
        Batch::new(NonZero::new(threads), Duration::from_secs(30))
    }

    fn items(count: usize) -> impl Iterator<Item = Result<usize, io::Error>> {
        (0..count).map(Ok)
    }

    #[test]
    fn results_come_in_order_whatever_is_done_first() {
        for threads in [1, 2, 8] {
            let mut seen = Vec::new();
            let slow_first = |&item: &usize| {
                thread::sleep(Duration::from_millis(if item % 5 == 0 { 8 } else { 0 }));
                item * 2
            };
            batch(threads)
                .in_order(items(60), slow_first, |&item, result| {
                    seen.push((item, result.ok()));
                    Ok(())
                })
                .unwrap();
            assert_eq!(seen, (0..60).map(|item| (item, Some(item * 2))).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_panic_costs_its_own_item_only() {
        let mut lost = Vec::new();
        let work = |item: &usize| assert!(item % 7 != 3, "worker {item} panics on purpose");
        let note = |&item: &usize, result: Result<(), Lost>| {
            lost.extend(result.is_err().then_some(item));
            Ok(())
        };
        batch(2).in_order(items(20), work, note).unwrap();
        assert_eq!(lost, [3, 10, 17]);
    }

    #[test]
    fn what_takes_too_long_holds_nothing_up() {
        let start = Instant::now();
        let batch = Batch::new(NonZero::new(2), Duration::from_millis(1500));
        // More hang at once than there are workers.
        let work = |&item: &usize| {
            if matches!(item, 2..=5) {
                thread::sleep(Duration::from_secs(60));
            }
        };
        let mut slow = Vec::new();
        let note = |&item: &usize, result: Result<(), Lost>| {
            slow.extend(matches!(result, Err(Lost::TooSlow(_))).then_some(item));
            Ok(())
        };
        batch.in_order(items(40), work, note).unwrap();
        assert_eq!(slow, [2, 3, 4, 5]);
        assert!(start.elapsed() < Duration::from_secs(30));
    }

    #[test]
    fn where_everything_takes_too_long_it_ends() {
        let batch = Batch::new(NonZero::new(8), Duration::from_millis(50));
        let mut count = 0;
        let ended = batch.in_order(
            items(1000),
            |_| thread::sleep(Duration::from_secs(60)),
            |_, result| {
                count += 1;
                assert!(result.is_err());
                Ok(())
            },
        );
        assert!(ended.unwrap_err().to_string().contains("took too long"));
        assert_eq!(count, MOST_GIVEN_UP + 1);
    }

    #[test]
    fn no_more_is_begun_than_is_soon_needed() {
        let begun = Arc::new(AtomicUsize::new(0));
        let finished = AtomicUsize::new(0);
        let batch = batch(2);
        // One more is waited for, and one more waits to be begun.
        let most = 2 * batch.threads + 2;
        let count = begun.clone();
        let work = move |_: &usize| count.fetch_add(1, Ordering::SeqCst);
        let done = |_: &usize, _: Result<usize, Lost>| {
            let ahead = begun.load(Ordering::SeqCst) - finished.fetch_add(1, Ordering::SeqCst);
            assert!(ahead <= most, "{ahead} begun ahead, at most {most} wanted");
            Ok(())
        };
        batch.in_order(items(500), work, done).unwrap();
        assert_eq!(finished.into_inner(), 500);
    }

    #[test]
    fn an_error_ends_the_batch_after_what_came_before_it() {
        let batch = batch(2);
        let broken = items(3).chain([Err(io::Error::other("list torn"))]).chain(items(9));
        let mut count = 0;
        let result = batch.in_order(
            broken,
            |_| (),
            |_, _| {
                count += 1;
                Ok(())
            },
        );
        assert_eq!((result.unwrap_err().to_string().as_str(), count), ("list torn", 3));
        let full = batch.in_order(items(100), |_| (), |_, _| Err(io::Error::other("full")));
        assert_eq!(full.unwrap_err().to_string(), "full");
    }

    #[test]
    fn a_result_does_not_wait_for_the_next_item() {
        let (answer, answered) = channel();
        let wait = Duration::from_secs(20);
        // The second item comes only once the first one's result has been handed on.
        let asking = (0..3).map(move |item| match item {
            0 => Ok(item),
            _ => answered.recv_timeout(wait).map(|()| item).map_err(io::Error::other),
        });
        let done = |_: &i32, _: Result<(), Lost>| {
            // Nobody asks any more after the last.
            let _ = answer.send(());
            Ok(())
        };
        batch(2).in_order(asking, |_| (), done).unwrap();
    }
}
