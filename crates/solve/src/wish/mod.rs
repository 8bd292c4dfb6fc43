//! What has to be put in for what is wanted to come out: roots on a line, small quadratic programs, constrained optima of few
//! unknowns.
//!
//! Functions are dear and may have no value in places (`None`): every solver asks for several values at once, so that the caller
//! can find them in parallel, and says how it ended.

pub mod bracket;
pub mod dense;
pub mod line;
pub mod optimum;
pub mod quadratic;

pub use bracket::{Bracket, together};
pub use line::{Line, Piece, Scan};
pub use optimum::{Band, End, Optimum, OptimumSettings, optimum};
pub use quadratic::{Half, Quadratic, least};
