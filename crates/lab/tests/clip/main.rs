//! Invented clips of known motions: what is read from them lies within the stated errors.

mod coverage;
mod motion;
