//! Work with the interpreter's lock released, watched: progress goes to a callback, signals stop it.
//!
//! The work runs on a thread of its own; the thread that asked wakes now and then, lets Python handle signals and tells the
//! callback. An interrupt is raised at once: work that can be stopped ends at its next step, work that cannot goes on to its end in
//! the background and its result is dropped.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use calotte_desk::Watch;
use calotte_runs::panic_words;
use pyo3::prelude::*;

use crate::failure::FailedError;

/// How often signals are looked at.
const BEAT: Duration = Duration::from_millis(50);

/// What the work is told and tells.
#[derive(Default)]
pub(crate) struct Watched {
    /// Set when it is to stop.
    pub(crate) stop: AtomicBool,
    latest: Mutex<Option<(Option<f64>, String)>>,
}

impl Watched {
    /// Tells how far it is.
    pub(crate) fn tell(&self, share: Option<f64>, words: &str) {
        *self.latest.lock().unwrap_or_else(PoisonError::into_inner) = Some((share, words.to_owned()));
    }
}

impl Watch for Watched {
    fn progress(&self, share: Option<f64>, words: &str) -> bool {
        self.tell(share, words);
        !self.stop.load(Ordering::Relaxed)
    }
}

/// Does work on a thread of its own and waits for it. `progress(share or None, words)` is called on the calling thread, at most
/// every 50 ms and once at the end; what it raises stops the work and is raised.
///
/// # Errors
/// What a signal handler or the callback raised; `FailedError` when the work panicked.
pub(crate) fn watched<T: Send + 'static>(
    py: Python<'_>,
    progress: Option<&Bound<'_, PyAny>>,
    work: impl FnOnce(&Watched) -> T + Send + 'static,
) -> PyResult<T> {
    let state = Arc::new(Watched::default());
    let theirs = Arc::clone(&state);
    let (send, receive) = channel();
    std::thread::Builder::new()
        .name("calotte".to_owned())
        .spawn(move || {
            let done = catch_unwind(AssertUnwindSafe(|| work(&theirs)));
            // Nobody listens when the wait was interrupted.
            let _ = send.send(done);
        })
        .map_err(|e| FailedError::new_err(format!("no thread could be started: {e}")))?;
    let receive = Mutex::new(receive);
    loop {
        let heard = py.detach(|| receive.lock().unwrap_or_else(PoisonError::into_inner).recv_timeout(BEAT));
        let ended = match heard {
            Ok(Ok(done)) => Some(done),
            Ok(Err(panic)) => {
                let text = panic_words(&*panic);
                let says = format!("the computation broke down, a fault of the program: {text}");
                return Err(FailedError::new_err(says));
            }
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => {
                return Err(FailedError::new_err("the computation broke down, a fault of the program"));
            }
        };
        let told = match (progress, state.latest.lock().unwrap_or_else(PoisonError::into_inner).take()) {
            (Some(call), Some((share, words))) => call.call1((share, words)).map(|_| ()),
            _ => Ok(()),
        };
        if let Err(raised) = told.and_then(|()| py.check_signals()) {
            state.stop.store(true, Ordering::Relaxed);
            // Work that heeds it ends at once, so that its files are closed when the exception is seen.
            py.detach(|| {
                let _ = receive.lock().unwrap_or_else(PoisonError::into_inner).recv_timeout(4 * BEAT);
            });
            return Err(raised);
        }
        if let Some(done) = ended {
            return Ok(done);
        }
    }
}
