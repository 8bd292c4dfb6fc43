//! Grey pictures: decoded, drawn, and the edges in them.

mod contour;
mod decode;
mod edge;
mod gray;
pub mod paint;

pub use contour::{Contour, Split, background, contours, split_level};
pub use decode::{
    BadPicture, Decoded, LONGEST_SIDE, Light, MOST_PIXELS, SHORTEST_SIDE, decode, light_of, stored_of,
};
pub use edge::{Edge, EdgeSettings, NoEdge, edge_across, edge_along, least_deviation, refine};
pub use gray::Gray;
