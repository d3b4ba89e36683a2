//! How children are watched, on children of a shell.
#![cfg(target_os = "linux")]

use std::time::Duration;

use fuzz_lab::{Budget, FindingKind, Tally, supervise};

/// Watches a child that runs a script.
fn watched(script: &str, hang: Duration) -> Tally {
    let budget = Budget {
        time: Duration::from_millis(1500),
        hang,
        address_kib: 1 << 20,
        child: ("sh".into(), vec!["-c".to_owned(), script.to_owned()]),
    };
    supervise("script", 1, 5, &budget, |_| {}).expect("starts")
}

#[test]
fn what_works_on_and_on_is_hung() {
    let tally = watched("echo begin 7 0; while :; do :; done", Duration::from_millis(100));
    let found = tally.findings.first().expect("found");
    assert_eq!((found.kind, found.index, tally.inputs), (FindingKind::Hang, 7, 0));
}

#[test]
fn what_only_waits_for_its_turn_is_not() {
    let script = "while :; do echo begin 7 0; sleep 0.5; echo end 7 0 0 read; done";
    let tally = watched(script, Duration::from_millis(200));
    assert_eq!(tally.findings, []);
    assert!(tally.inputs >= 1);
}

#[test]
fn what_says_nothing_more_is_waited_for_no_longer_than_twelve_times() {
    let tally = watched("echo begin 7 0; exec sleep 60", Duration::from_millis(50));
    assert_eq!(tally.findings.first().map(|found| found.kind), Some(FindingKind::Hang));
}

#[test]
fn what_ends_by_itself_is_a_crash_of_the_input_in_hand() {
    let tally = watched("echo begin 7 0; exit 3", Duration::from_secs(1));
    let found = tally.findings.first().expect("found");
    assert_eq!((found.kind, found.index), (FindingKind::Crash, 7));
}
