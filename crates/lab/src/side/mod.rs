//! Side views: the part in a photograph.
