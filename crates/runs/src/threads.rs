//! Threads: how many are meant, and what a panic on one of them said.

use std::any::Any;
use std::num::NonZero;
use std::thread;

/// How many threads are meant: 0 takes every core.
pub fn cores(threads: usize) -> usize {
    match threads {
        0 => thread::available_parallelism().map_or(1, NonZero::get),
        n => n,
    }
}

/// What a panic said, by what was caught of it.
pub fn panic_words(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|s| (*s).to_owned());
    let text = text.or_else(|| panic.downcast_ref::<String>().cloned());
    text.unwrap_or_else(|| "without words".to_owned())
}
