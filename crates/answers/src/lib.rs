//! Questions to answers with evidence.
