//! Many photos at once, in the order given, in bounded memory.

use std::io;
use std::panic::{self, AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, sync_channel};
use std::thread;

use rayon::{ThreadPool, ThreadPoolBuilder};

const WORKER: &str = "reader";

/// Hands out work to all cores.
pub(crate) struct Batch {
    pool: ThreadPool,
}

impl Batch {
    /// As many workers as there are cores.
    pub(crate) fn new() -> io::Result<Self> {
        Self::of(0)
    }

    /// At most so many workers, and no more than there are cores.
    #[cfg(feature = "desk")]
    pub(crate) fn of_at_most(workers: usize) -> io::Result<Self> {
        let cores = thread::available_parallelism().map_or(1, usize::from);
        Self::of(cores.min(workers))
    }

    /// So many workers; 0 stands for as many as there are cores.
    fn of(workers: usize) -> io::Result<Self> {
        keep_workers_quiet();
        let pool = ThreadPoolBuilder::new().num_threads(workers);
        let pool = pool.thread_name(|_| WORKER.to_owned()).build();
        pool.map(|pool| Self { pool }).map_err(io::Error::other)
    }

    /// Does one piece of work when a worker is free for it; those that came first come first. A
    /// panic ends that piece alone.
    #[cfg(feature = "desk")]
    pub(crate) fn spawn(&self, work: impl FnOnce() + Send + 'static) {
        self.pool.spawn_fifo(|| {
            // Whoever waits for its result notices that there is none.
            let _ = catch_unwind(AssertUnwindSafe(work));
        });
    }

    /// Does `work` on every item, several at a time, and hands each result to `done` in the order
    /// of the items, as soon as it and all before it are there. `None` stands for a panic.
    ///
    /// About twice as many items as there are workers are under way at once and no more: memory
    /// does not grow with the number of items. An error of `items` or of `done` ends it all.
    pub(crate) fn in_order<T, R, E>(
        &self,
        items: impl Iterator<Item = Result<T, E>> + Send,
        work: impl Fn(&T) -> R + Sync,
        mut done: impl FnMut(&T, Option<R>) -> Result<(), E>,
    ) -> Result<(), E>
    where
        T: Clone + Send,
        R: Send,
        E: Send,
    {
        let work = &work;
        let most = 2 * self.pool.current_num_threads().max(1);
        let (begun, waiting) = sync_channel::<Result<(T, Receiver<R>), E>>(most);
        thread::scope(|threads| {
            // A list may be slow to come; results must not wait for its next line.
            threads.spawn(move || {
                self.pool.in_place_scope(|scope| {
                    for item in items {
                        let (sender, receiver) = sync_channel(1);
                        let (item, entry) = match item {
                            Ok(item) => (Some(item.clone()), Ok((item, receiver))),
                            Err(error) => (None, Err(error)),
                        };
                        // Nobody listens any more once `done` has failed.
                        let (Some(item), Ok(())) = (item, begun.send(entry)) else { return };
                        scope.spawn(move |_| {
                            // After a panic the sender is dropped unused, which is noticed.
                            if let Ok(result) = catch_unwind(AssertUnwindSafe(|| work(&item))) {
                                let _ = sender.send(result);
                            }
                        });
                    }
                });
            });
            waiting.into_iter().try_for_each(|entry| {
                let (item, result) = entry?;
                done(&item, result.recv().ok())
            })
        })
    }
}

/// A worker's panic is told as its photo's error; the usual message would only alarm.
fn keep_workers_quiet() {
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
    use std::time::Duration;

    use super::*;

    fn items(count: usize) -> impl Iterator<Item = Result<usize, io::Error>> {
        (0..count).map(Ok)
    }

    #[test]
    fn results_come_in_order_whatever_is_done_first() {
        let mut seen = Vec::new();
        let batch = Batch::new().unwrap();
        let slow_first = |&item: &usize| {
            thread::sleep(Duration::from_millis(if item % 5 == 0 { 8 } else { 0 }));
            item * 2
        };
        batch
            .in_order(items(60), slow_first, |&item, result| {
                seen.push((item, result));
                Ok(())
            })
            .unwrap();
        assert_eq!(seen, (0..60).map(|item| (item, Some(item * 2))).collect::<Vec<_>>());
    }

    #[test]
    fn a_panic_costs_its_own_item_only() {
        let mut lost = Vec::new();
        let work = |item: &usize| assert!(item % 7 != 3, "worker {item} panics on purpose");
        let note = |&item: &usize, result: Option<()>| {
            lost.extend(result.is_none().then_some(item));
            Ok(())
        };
        Batch::new().unwrap().in_order(items(20), work, note).unwrap();
        assert_eq!(lost, [3, 10, 17]);
    }

    #[test]
    fn no_more_is_begun_than_is_soon_needed() {
        let begun = AtomicUsize::new(0);
        let finished = AtomicUsize::new(0);
        let batch = Batch::new().unwrap();
        // One more is waited for, and one more waits to be begun.
        let most = 2 * batch.pool.current_num_threads() + 2;
        let work = |_: &usize| begun.fetch_add(1, Ordering::SeqCst);
        let done = |_: &usize, _: Option<usize>| {
            let ahead = begun.load(Ordering::SeqCst) - finished.fetch_add(1, Ordering::SeqCst);
            assert!(ahead <= most, "{ahead} begun ahead, at most {most} wanted");
            Ok(())
        };
        batch.in_order(items(500), work, done).unwrap();
        assert_eq!(finished.into_inner(), 500);
    }

    #[test]
    fn an_error_ends_the_batch_after_what_came_before_it() {
        let batch = Batch::new().unwrap();
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
        let (answer, answered) = std::sync::mpsc::channel();
        let wait = Duration::from_secs(20);
        // The second item comes only once the first one's result has been handed on.
        let asking = (0..3).map(move |item| match item {
            0 => Ok(item),
            _ => answered.recv_timeout(wait).map(|()| item).map_err(io::Error::other),
        });
        let done = |_: &i32, _: Option<()>| {
            // Nobody asks any more after the last.
            let _ = answer.send(());
            Ok(())
        };
        Batch::new().unwrap().in_order(asking, |_| (), done).unwrap();
    }
}
