//! Sweeps: questions asked at many points, as many as a cluster can bear.
//!
//! A plan file says which case, which questions, which numbers vary and how ([`read_plan`]). Point `k` is a pure function of plan and
//! `k` (`design.rs`), its row a pure function of the point ([`Sweep::row`]), so that any machine may compute any chunk and no bit
//! depends on who did. `question.rs` asks one point, for `calotte series` too; `folder.rs` is the folder of results, its shards
//! kept by `calotte-runs`; `laid.rs` reads it for a map; `slurm.rs` writes what a cluster is given. Prints nothing and starts no program; files are touched
//! through `calotte-runs` alone.

mod chunks;
mod design;
mod folder;
mod laid;
mod plan;
mod question;
mod read;
pub mod slurm;
mod sweep;
mod table;

pub use chunks::{ranges, read_chunks};
pub use design::Design;
pub use folder::{Count, Damaged, Gathered, Place};
pub use plan::{Plan, Spacing, Varied};
pub use question::{Answer, Asked, Question, threshold_at};
pub use read::{ReadPlan, find_key, read_plan};
pub use sweep::{Point, PointValue, Sweep};
