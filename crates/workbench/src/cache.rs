//! Answers that were given already, so that going back to an earlier number costs nothing; bounded in bytes.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What an entry costs besides its bytes: nodes of two trees, counters.
const OVERHEAD: usize = 256;

struct Entry {
    lines: Arc<[Arc<str>]>,
    bytes: usize,
    used: u64,
}

#[derive(Default)]
struct Kept {
    by_key: BTreeMap<Arc<str>, Entry>,
    /// Keys by when they were used last.
    by_use: BTreeMap<u64, Arc<str>>,
    bytes: usize,
    clock: u64,
}

/// The answers.
pub(crate) struct Cache {
    kept: Mutex<Kept>,
    most: usize,
}

impl Cache {
    /// Keeps at most `most` bytes.
    pub(crate) fn new(most: usize) -> Arc<Self> {
        Arc::new(Self { kept: Mutex::default(), most })
    }

    fn lock(&self) -> MutexGuard<'_, Kept> {
        // A poisoned cache may have lost an entry, never mixed two up: the key is looked up as a whole.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The lines of an answer given before.
    pub(crate) fn get(&self, key: &str) -> Option<Arc<[Arc<str>]>> {
        let mut guard = self.lock();
        let kept = &mut *guard;
        let now = kept.clock;
        kept.clock += 1;
        let (name, _) = kept.by_key.get_key_value(key)?;
        let name = Arc::clone(name);
        let entry = kept.by_key.get_mut(key)?;
        kept.by_use.remove(&entry.used);
        entry.used = now;
        kept.by_use.insert(now, name);
        Some(Arc::clone(&entry.lines))
    }

    fn keep(&self, key: &Arc<str>, lines: Vec<Arc<str>>) {
        let bytes = OVERHEAD + key.len() + lines.iter().map(|l| l.len()).sum::<usize>();
        if bytes > self.most / 4 {
            return;
        }
        let mut guard = self.lock();
        let kept = &mut *guard;
        let now = kept.clock;
        kept.clock += 1;
        let entry = Entry { lines: lines.into(), bytes, used: now };
        kept.bytes += bytes;
        if let Some(old) = kept.by_key.insert(Arc::clone(key), entry) {
            kept.bytes -= old.bytes;
            kept.by_use.remove(&old.used);
        }
        kept.by_use.insert(now, Arc::clone(key));
        while kept.bytes > self.most {
            let Some((_, oldest)) = kept.by_use.pop_first() else { return };
            if let Some(gone) = kept.by_key.remove(&oldest) {
                kept.bytes -= gone.bytes;
            }
        }
    }
}

/// Where one answer is to be kept.
pub(crate) struct Slip {
    pub(crate) cache: Arc<Cache>,
    pub(crate) key: Arc<str>,
}

impl Slip {
    /// Keeps the lines of an answer.
    pub(crate) fn keep(&self, lines: Vec<Arc<str>>) {
        self.cache.keep(&self.key, lines);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keep(cache: &Cache, key: &str, bytes: usize) {
        cache.keep(&Arc::from(key), vec![Arc::from("x".repeat(bytes - OVERHEAD - key.len()))]);
    }

    #[test]
    fn what_was_used_longest_ago_goes_first() {
        let cache = Cache::new(4000);
        for key in ["a", "b", "c", "d"] {
            keep(&cache, key, 1000);
        }
        assert!(cache.get("a").is_some());
        keep(&cache, "e", 1000);
        let there = |key: &str| cache.get(key).is_some();
        assert_eq!(["a", "b", "c", "d", "e"].map(there), [true, false, true, true, true]);
    }

    #[test]
    fn bytes_stay_bounded_and_replaced_entries_are_counted_once() {
        let cache = Cache::new(10_000);
        for i in 0..1000 {
            keep(&cache, &format!("{}", i % 30), 500 + i);
        }
        let kept = cache.lock();
        let sum: usize = kept.by_key.values().map(|e| e.bytes).sum();
        assert_eq!((kept.bytes, kept.by_key.len()), (sum, kept.by_use.len()));
        assert!(sum <= 10_000 && sum > 5_000, "{sum}");
    }

    #[test]
    fn what_would_fill_it_alone_is_not_kept() {
        let cache = Cache::new(4000);
        keep(&cache, "big", 1001);
        assert!(cache.get("big").is_none());
    }
}
