//! Grey pictures: decoded, drawn, and the edges in them.

mod gray;

pub use gray::Gray;
