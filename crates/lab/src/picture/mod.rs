//! Grey pictures: decoded, drawn, and the edges in them.

mod gray;
pub mod paint;

pub use gray::Gray;
