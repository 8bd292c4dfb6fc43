//! Ctrl-C asks long work to stop after the piece in hand.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

/// The flag that Ctrl-C sets. A second Ctrl-C ends the program at once.
pub(crate) fn watch() -> Arc<AtomicBool> {
    static FLAG: OnceLock<Arc<AtomicBool>> = OnceLock::new();
    FLAG.get_or_init(|| {
        let flag = Arc::new(AtomicBool::new(false));
        let own = Arc::clone(&flag);
        // Without a handler Ctrl-C ends the program, and finished pieces are kept all the same.
        let _ = ctrlc::set_handler(move || {
            if own.swap(true, Ordering::Relaxed) {
                std::process::exit(130);
            }
        });
        flag
    })
    .clone()
}
