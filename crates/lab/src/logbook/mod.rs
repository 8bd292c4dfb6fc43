//! Logbooks: specimens and trials beside theory.
