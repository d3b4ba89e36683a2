//! Feeds the library and the program with broken and strange files, and watches what happens.
//!
//! Every input follows from a target, a seed and a number, so that a finding can be made again at
//! any time. Inputs run in a child process with bounded memory: what ends the child, and what keeps
//! it for longer than allowed, is found as surely as a panic.

mod dice;
mod finding;
mod mutate;
mod processor;
mod seeds;
mod supervise;
mod targets;
mod worker;

pub use finding::{Finding, FindingKind, Tally};
pub use supervise::{Budget, supervise};
pub use targets::{Setting, Target, target, target_names};
pub use worker::{input, work};
