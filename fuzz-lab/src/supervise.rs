//! The parent: starts children, waits for each input no longer than allowed, and goes on behind one
//! that ended a child.

use std::collections::BTreeSet;
use std::io::{self, BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use crate::finding::{Finding, FindingKind, Tally};
use crate::processor;

/// How long, and how hard.
#[derive(Debug, Clone)]
pub struct Budget {
    /// Time for the target.
    pub time: Duration,
    /// What an input may take before it counts as hung: of a processor's time, where the system says how
    /// much that was, so that a busy machine makes no findings; twelve times as long in any case.
    pub hang: Duration,
    /// The child's address space, in KiB; beyond it an allocation fails.
    pub address_kib: u64,
    /// The program to start as a child, and its first arguments.
    pub child: (PathBuf, Vec<String>),
}

/// An input that hardly gets to run, or that waits for another program, is waited for so many times as
/// long.
const WAITS: u32 = 12;
/// More findings than this say nothing new.
const MOST_FINDINGS: usize = 40;

/// Feeds a target until its time is over.
///
/// # Errors
/// The child cannot be started.
pub fn supervise(
    name: &'static str,
    seed: u64,
    first: u64,
    budget: &Budget,
    mut found: impl FnMut(&Finding),
) -> io::Result<Tally> {
    let until = Instant::now() + budget.time;
    let mut watch = Watch { name, tally: Tally::default(), seen: BTreeSet::new() };
    let mut next = first;
    while Instant::now() < until && watch.tally.findings.len() < MOST_FINDINGS {
        let mut child = start(name, seed, next, budget)?;
        let lines = listen(&mut child);
        let before = watch.tally.findings.len();
        let ended = watch.follow(&lines, &Patience::with(&child, budget.hang), next, until);
        // It may have ended by itself.
        let _ = child.kill();
        let status = child.wait()?;
        match ended {
            Ended::TimeIsOver => {}
            Ended::Hung(index) => {
                let what = format!("more than {:?}", budget.hang);
                watch.note(index, FindingKind::Hang, what);
                next = index + 1;
            }
            Ended::Gone(index) => {
                watch.note(index, FindingKind::Crash, status.to_string());
                next = index + 1;
            }
        }
        watch.tally.findings.iter().skip(before).for_each(&mut found);
        if matches!(ended, Ended::TimeIsOver) {
            break;
        }
    }
    Ok(watch.tally)
}

fn start(name: &str, seed: u64, from: u64, budget: &Budget) -> io::Result<Child> {
    let (program, words) = &budget.child;
    // The shell sets the limit, which is out of reach without `unsafe`.
    let limited = format!("ulimit -v {}; exec \"$0\" \"$@\"", budget.address_kib);
    Command::new("sh")
        .args(["-c", &limited])
        .arg(program)
        .args(words)
        .args(["--worker", name, "--seed", &seed.to_string(), "--from", &from.to_string()])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
}

fn listen(child: &mut Child) -> Receiver<String> {
    let (sender, receiver) = channel();
    if let Some(out) = child.stdout.take() {
        std::thread::spawn(move || {
            let lines = BufReader::new(out).lines().map_while(Result::ok);
            // Nobody listens any more once the child is given up.
            let _ = lines.into_iter().try_for_each(|line| sender.send(line));
        });
    }
    receiver
}

/// How long a child is waited for.
struct Patience {
    hang: Duration,
    child: String,
}

impl Patience {
    fn with(child: &Child, hang: Duration) -> Self {
        Self { hang, child: child.id().to_string() }
    }

    /// Whether a child that was last heard of then, when it had worked so long, may still come to its end.
    fn lasts(&self, last: Instant, worked: Duration) -> bool {
        let since = processor::time_of(&self.child).map(|time| time.saturating_sub(worked));
        since.is_some_and(|since| since < self.hang) && last.elapsed() < WAITS * self.hang
    }
}

enum Ended {
    TimeIsOver,
    Hung(u64),
    Gone(u64),
}

struct Watch {
    name: &'static str,
    tally: Tally,
    /// Places of panics that were noted.
    seen: BTreeSet<String>,
}

impl Watch {
    fn note(&mut self, index: u64, kind: FindingKind, what: String) {
        self.tally.findings.push(Finding { target: self.name, index, kind, what });
    }

    fn follow(
        &mut self,
        lines: &Receiver<String>,
        patience: &Patience,
        from: u64,
        until: Instant,
    ) -> Ended {
        let mut current = from;
        let mut last = Instant::now();
        let mut worked = Duration::ZERO;
        loop {
            match lines.recv_timeout(patience.hang) {
                Ok(line) => {
                    last = Instant::now();
                    (current, worked) = self.take(&line).unwrap_or((current, worked));
                }
                Err(RecvTimeoutError::Timeout) if patience.lasts(last, worked) => continue,
                Err(RecvTimeoutError::Timeout) => return Ended::Hung(current),
                Err(RecvTimeoutError::Disconnected) => return Ended::Gone(current),
            }
            if Instant::now() >= until || self.tally.findings.len() >= MOST_FINDINGS {
                return Ended::TimeIsOver;
            }
        }
    }

    /// Takes what the child says; the number of the input that it begins, and what time it had of the
    /// processors until then.
    fn take(&mut self, line: &str) -> Option<(u64, Duration)> {
        let (word, rest) = line.split_once(' ')?;
        let (index, what) = rest.split_once(' ').unwrap_or((rest, ""));
        let index: u64 = index.parse().ok()?;
        match word {
            "begin" => return Some((index, Duration::from_millis(what.parse().unwrap_or(0)))),
            "panic" => {
                // One of each place is enough.
                let place = what.split(": ").next().unwrap_or_default().to_owned();
                if self.seen.insert(place) {
                    self.note(index, FindingKind::Panic, what.to_owned());
                }
            }
            "wrong" => self.note(index, FindingKind::Wrong, what.to_owned()),
            "memory" => self.note(index, FindingKind::Memory, what.to_owned()),
            "end" => {
                let mut figures = what.splitn(3, ' ');
                let micros = figures.next().and_then(|text| text.parse().ok()).unwrap_or(0);
                let held = figures.next().and_then(|text| text.parse().ok()).unwrap_or(0);
                let end = figures.next().unwrap_or_default().to_owned();
                self.tally.inputs += 1;
                *self.tally.ends.entry(end).or_default() += 1;
                self.tally.peak_kib = self.tally.peak_kib.max(held);
                self.tally.slowest = self.tally.slowest.max((Duration::from_micros(micros), index));
            }
            _ => {}
        }
        None
    }
}
