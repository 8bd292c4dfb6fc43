//! Geometrically exact thin shells of revolution and their circumferential harmonics.
