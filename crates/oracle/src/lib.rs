//! Known answers, each with its source; for tests only.
