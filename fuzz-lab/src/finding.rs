//! What was found, and what was tried.

use std::collections::BTreeMap;
use std::time::Duration;

/// What an input did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FindingKind {
    /// A panic, wherever it was caught.
    Panic,
    /// The process ended: a stack overflow, an abort, memory beyond the limit.
    Crash,
    /// It took longer than an input may.
    Hang,
    /// It took more memory than an input may.
    Memory,
    /// What came out contradicts itself or what went in: a wrong exit code, a lost record, a raw
    /// control character.
    Wrong,
}

/// One finding; `index` makes its input again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The target's name.
    pub target: &'static str,
    /// The number of the input.
    pub index: u64,
    /// What happened.
    pub kind: FindingKind,
    /// In words: the panic's place and message, or what was wrong.
    pub what: String,
}

/// What was tried on one target.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    /// Inputs run.
    pub inputs: u64,
    /// How they ended, by the error's code, or `read`.
    pub ends: BTreeMap<String, u64>,
    /// The longest time for one, and its number.
    pub slowest: (Duration, u64),
    /// The largest amount of memory, in KiB, that the child ever held.
    pub peak_kib: u64,
    /// What was found; of panics at one place only the first.
    pub findings: Vec<Finding>,
}
