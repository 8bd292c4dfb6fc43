//! What lies on the bench: shape, wall, material, rim, and the case file that describes them.
