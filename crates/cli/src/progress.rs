//! How far long work is, on standard error; and Ctrl-C, which stops it.

use std::sync::Mutex;
use std::sync::atomic::Ordering;

use calotte_desk::Watch;
use indicatif::{ProgressBar, ProgressStyle};

use crate::stop;

/// Steps of a bar that shows a share.
const STEPS: u64 = 1000;

/// A bar; nothing is drawn when standard error is no terminal.
pub(crate) fn bar(what: &str, total: u64) -> ProgressBar {
    styled(ProgressBar::new(total), "{prefix} {wide_bar} {percent} % {msg}").with_prefix(what.to_owned())
}

fn styled(bar: ProgressBar, template: &str) -> ProgressBar {
    bar.with_style(ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar()))
}

/// A bar for each kind of work, one after another; work whose end is not known shows its words alone.
pub(crate) struct Bars {
    shown: Mutex<Option<(String, ProgressBar)>>,
}

impl Bars {
    /// Nothing to show yet. Ctrl-C ends the program as ever until there is progress, which heeds it then.
    pub(crate) fn new() -> Self {
        Self { shown: Mutex::new(None) }
    }
}

impl Watch for Bars {
    fn progress(&self, share: Option<f64>, words: &str) -> bool {
        // A poisoned lock means that another thread panicked; the work passes that on.
        if let Ok(mut shown) = self.shown.lock() {
            let kind = if share.is_some() { words } else { "" };
            if shown.as_ref().is_none_or(|s| s.0 != kind) {
                let fresh = if share.is_some() {
                    bar(words, STEPS)
                } else {
                    styled(ProgressBar::new_spinner(), "{spinner} {msg}")
                };
                if let Some((_, old)) = shown.replace((kind.to_owned(), fresh)) {
                    old.finish_and_clear();
                }
            }
            if let Some((_, bar)) = shown.as_ref() {
                match share {
                    Some(share) => bar.set_position((STEPS as f64 * share) as u64),
                    None => {
                        bar.set_message(words.to_owned());
                        bar.tick();
                    }
                }
            }
        }
        !stop::watch().load(Ordering::Relaxed)
    }
}

impl Drop for Bars {
    fn drop(&mut self) {
        if let Ok(mut shown) = self.shown.lock()
            && let Some((_, bar)) = shown.take()
        {
            bar.finish_and_clear();
        }
    }
}
