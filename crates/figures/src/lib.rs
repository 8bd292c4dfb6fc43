//! Figures fit for a paper, from answers.
