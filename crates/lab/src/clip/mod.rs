//! Clips: motion of pole and rim from frames.
