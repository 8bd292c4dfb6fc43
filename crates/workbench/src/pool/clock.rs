//! How long a worker has worked: on a busy machine, less than the time that went by.

use std::time::Duration;

use tokio::time::{Instant, sleep};

/// Ticks a second in which Linux tells times of processes, whatever its own clock.
const TICKS: u32 = 100;

/// Time of the processor that a process has had, its own and the system's for it; `None` where that is not told.
fn worked(pid: Option<u32>) -> Option<Duration> {
    let stat = std::fs::read_to_string(format!("/proc/{}/stat", pid?)).ok()?;
    let ticks = ticks(&stat)?;
    Some(Duration::from_secs(ticks) / TICKS)
}

/// The two times in a line about a process. Its second field is a name in brackets that may hold anything.
fn ticks(stat: &str) -> Option<u64> {
    let mut fields = stat.rsplit_once(')')?.1.split_whitespace().skip(11);
    let mut next = || fields.next()?.parse::<u64>().ok();
    next()?.checked_add(next()?)
}

/// Returns when the process has worked for `limit` from now on, or `clock` went by, and says which of them was over.
pub(super) async fn over(pid: Option<u32>, limit: Duration, clock: Duration) -> Duration {
    let start = Instant::now();
    let before = worked(pid);
    let mut left = limit.min(clock);
    loop {
        sleep(left).await;
        let passed = start.elapsed();
        if passed >= clock {
            return clock;
        }
        let done = before.and_then(|b| worked(pid)?.checked_sub(b)).unwrap_or(passed);
        if done >= limit {
            return limit;
        }
        // It cannot be over sooner; a process of one thread works no faster than the clock.
        left = (limit - done).min(clock - passed).max(Duration::from_millis(10));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_behind_any_name() {
        let rest = "S 1 2 3 0 -1 4194560 100 0 1 0 250 50 7 8 20 0 1 0 99 1000 10";
        assert_eq!(ticks(&format!("12 (a) b (c) {rest}")), Some(300));
        assert_eq!(ticks("12 (a) S 1 2"), None);
        assert_eq!(ticks(""), None);
    }

    #[cfg(target_os = "linux")]
    #[tokio::test]
    async fn who_sleeps_has_the_clock_and_who_works_the_limit() {
        let run = |words: &str| {
            let mut command = tokio::process::Command::new("sh");
            command.args(["-c", words]).kill_on_drop(true).spawn().unwrap()
        };
        let ms = Duration::from_millis;
        let sleeps = run("exec sleep 60");
        assert_eq!(over(sleeps.id(), ms(100), ms(400)).await, ms(400));
        let works = run("while :; do :; done");
        assert_eq!(over(works.id(), ms(200), Duration::from_secs(60)).await, ms(200));
    }

    #[tokio::test]
    async fn who_is_not_known_has_the_limit() {
        let ms = Duration::from_millis;
        assert_eq!(over(None, ms(20), Duration::from_secs(60)).await, ms(20));
        assert_eq!(over(None, ms(20), ms(20)).await, ms(20));
    }
}
