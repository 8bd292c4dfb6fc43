//! Physics-free numerics: banded LDLT with inertia, minimisation, path following, folds.
