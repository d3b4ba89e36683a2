//! A processor's time, which other programs on the machine do not lengthen.

use std::fs;
use std::time::Duration;

/// Linux counts in hundredths of a second, whatever its clock ticks at.
const TICK: Duration = Duration::from_millis(10);

/// What a process has had of the processors so far, with its children that have ended; `None` where the
/// system does not say. `process` is its number, or `self`.
pub(crate) fn time_of(process: &str) -> Option<Duration> {
    let stat = fs::read_to_string(format!("/proc/{process}/stat")).ok()?;
    // The name in brackets may hold anything. After it the 12th to the 15th field are meant (proc(5)).
    let (_, fields) = stat.rsplit_once(')')?;
    let fields: Vec<&str> = fields.split_whitespace().collect();
    let ticks: Option<Vec<u32>> = fields.get(11..15)?.iter().map(|t| t.parse().ok()).collect();
    Some(TICK * ticks?.iter().sum::<u32>())
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn work_is_counted_and_sleep_is_not() {
        // The thread's own: other tests work meanwhile.
        let spent = || time_of("thread-self").expect("Linux says");
        let before = spent();
        std::thread::sleep(Duration::from_millis(50));
        assert!(spent() <= before + 2 * TICK);
        let mut sum = 0_u64;
        while spent() < before + 3 * TICK {
            sum = (0..1_000_000).fold(sum, |sum, n| sum.wrapping_mul(31).wrapping_add(n));
        }
        assert!(std::hint::black_box(sum) > 0);
        assert_eq!(time_of("no process"), None);
    }
}
