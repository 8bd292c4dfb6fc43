//! Long runs of many points on all cores: resumable after a kill at any moment, the same bits for any
//! number of threads, and tables as CSV and Parquet. Knows no mechanics.
//!
//! [`run`] cuts the points of a [`Job`] into chunks, has each chunk computed on one of several threads and
//! keeps it in a file of its own below `NAME.run/` as soon as it is finished. Whatever ends the process,
//! the next [`run`] of the same job reads the finished chunks and computes the missing ones only. When all
//! are there, `NAME.csv` and `NAME.parquet` are written and `NAME.run/` is removed.
//!
//! A run that outgrows one machine keeps its chunks as files of a table instead: [`Shards`].
//!
//! `folder.rs` says what lies in `NAME.run/` and in which order it comes and goes; `manifest.rs` and
//! `chunk.rs` are its two kinds of files; `run.rs` conducts the threads; `table.rs` is the result,
//! `as_csv.rs` and `as_parquet.rs` its two dresses, `from_parquet.rs` reads one back; `shards.rs` are chunks
//! as files of a table, `points.rs` computes them; `threads.rs` is for both.

mod as_csv;
mod as_parquet;
mod chunk;
mod failure;
mod files;
mod folder;
mod from_parquet;
mod job;
mod manifest;
mod points;
mod run;
mod shards;
mod table;
mod threads;

pub use failure::Failure;
pub use files::{checksum, make_folder, read, write_atomic, write_with};
pub use job::Job;
pub use run::{Compute, Outcome, Progress, run};
pub use shards::{Shard, Shards, Whole};
pub use table::{Column, Kind, Table, Value};
pub use threads::{cores, panic_words};
