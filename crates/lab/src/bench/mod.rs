//! Bench tests: modulus, memory and thickness from simple tests.
