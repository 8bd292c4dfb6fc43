//! The workbench: a page on which a case is edited and asked, served on the machine where it is used. The only crate that speaks HTTP.
//!
//! [`serve`] is the server, [`work`] what its worker processes do. The server reads no mechanics: it checks who asks, hands
//! jobs to workers and passes their lines on. A worker answers one job after another through `calotte_desk::ask`, which the terminal
//! uses too, so both say the same.
//!
//! Nothing is sent anywhere but to who asked. Nothing is printed here; [`Said`] goes to the caller.

mod about;
mod api;
mod ask;
mod cache;
mod cases;
mod findings;
mod folder;
mod guard;
mod listen;
mod page;
mod pool;
mod routes;
mod stall;
mod work;

use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

pub use api::{
    About, AnswerLine, CaseFiles, CaseName, FigureLine, FindingLine, FolderFiles, FolderName, Kind, Limits,
    Line, Named, ProgressLine, Refused, TableLine, Wants,
};
pub use listen::{Failure, serve};
pub use work::{WorkEnd, work};

/// Port where the page is looked for first.
pub const USUAL_PORT: u16 = 8722;

/// Largest body of a request, bytes.
pub const BODY_BYTES: usize = 2 << 20;

/// Time for `look` and `verdict`: of the processor where the machine tells, else by the clock.
pub const QUICK: Duration = Duration::from_secs(5);

/// The same by the clock, however little the processor did meanwhile.
pub const QUICK_BY_THE_CLOCK: Duration = Duration::from_secs(15);

/// Time for the other questions, unless the caller sets another.
pub const LONG: Duration = Duration::from_secs(180);

/// Address space of a worker, bytes: more than any worked case needs by far.
pub const WORKER_BYTES: u64 = 4 << 30;

/// How to serve.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Address to listen at.
    pub address: IpAddr,
    /// Port; `None` means the usual one, or any that is free.
    pub port: Option<u16>,
    /// Whether machines other than this one may ask.
    pub allow_others: bool,
    /// What everybody who asks must know; made up where others may ask and none is given.
    pub token: Option<String>,
    /// A folder where the page may keep cases.
    pub folder: Option<PathBuf>,
    /// Time for long questions.
    pub limit: Duration,
    /// The program that works, called with the argument `worker`.
    pub worker: PathBuf,
    /// Most address space of a worker, bytes, where the machine can bound it.
    pub worker_bytes: u64,
    /// Times for slow clients.
    pub patience: Patience,
}

/// How long the server waits for a client.
#[derive(Clone, Copy, Debug)]
pub struct Patience {
    /// For the head of a request; as long a connection may be idle.
    pub head: Duration,
    /// For its body.
    pub body: Duration,
    /// For the client to take some of an answer.
    pub taking: Duration,
}

impl Default for Patience {
    fn default() -> Self {
        let seconds = Duration::from_secs;
        Self { head: seconds(20), body: seconds(10), taking: seconds(30) }
    }
}

/// What the server has to say to whoever started it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said<'a> {
    /// The page can be opened there.
    Ready {
        /// The address to open.
        url: &'a str,
        /// What is not as usual.
        notes: &'a [String],
    },
    /// Something failed that the page's user may not see.
    Failure(&'a str),
}

/// Who hears what the server says.
pub type Say = Arc<dyn Fn(Said<'_>) + Send + Sync>;
