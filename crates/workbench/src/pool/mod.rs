//! Two lanes of worker processes: one for what a page asks while somebody types, one for what takes its time.
//!
//! A job is work that may never end, or may take the process with it; so each runs in a process of its own kind that can be killed.
//! A worker handles one job after another; one that was killed or died is replaced at once.

mod clock;
mod queue;
mod slot;

use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::task::JoinHandle;

use crate::api::Kind;
use crate::cache::Slip;
pub(crate) use queue::Full;
use queue::Queue;

/// How workers are started.
#[derive(Clone, Debug)]
pub(crate) struct Command {
    /// The program; it is given the argument `worker`.
    pub(crate) program: PathBuf,
    /// What stands before it: programs that lower its priority and bound its memory.
    pub(crate) before: Vec<String>,
}

/// A line on its way to the client.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Sent {
    pub(crate) text: Arc<str>,
    pub(crate) last: bool,
}

/// What is to be done, and for whom.
pub(crate) struct Job {
    /// Whose it is; pages take turns.
    pub(crate) page: String,
    /// The question.
    pub(crate) question: String,
    /// A line for the worker.
    pub(crate) line: Arc<str>,
    /// Where the answer goes; closed when the client has gone.
    pub(crate) to: UnboundedSender<Sent>,
    /// Where the answer is to be kept.
    pub(crate) slip: Option<Slip>,
}

impl Job {
    /// Ends the stream without an answer.
    pub(crate) fn refuse(&self, kind: Kind, says: impl Into<String>, help: Option<&str>) {
        let refused = crate::api::Refused { kind, says: says.into(), help: help.map(str::to_owned) };
        // Nobody is left to hear it when the other end is gone.
        let _ = self.to.send(Sent { text: refused.line().into(), last: true });
    }
}

/// One lane: a queue and its workers.
pub(crate) struct Lane {
    queue: Arc<Queue>,
    slots: Vec<JoinHandle<()>>,
}

/// What is the same for every worker of a lane.
#[derive(Clone, Debug)]
pub(crate) struct Rules {
    pub(crate) command: Command,
    /// Longest time for a job; of the processor, where the machine tells it.
    pub(crate) limit: Duration,
    /// Longest time for a job by the clock; a busy machine makes it longer than `limit`.
    pub(crate) clock: Duration,
    /// Whether a waiting question gives way to a newer one of the same page.
    pub(crate) newest_only: bool,
    /// What the user may raise the limit with.
    pub(crate) flag: Option<&'static str>,
}

impl Lane {
    /// Starts `workers` of them. `say` hears of failures.
    pub(crate) fn start(workers: usize, rules: &Rules, say: &crate::Say) -> Self {
        let queue = Arc::new(Queue::new(rules.newest_only));
        let slot = || tokio::spawn(slot::run(Arc::clone(&queue), rules.clone(), Arc::clone(say)));
        let slots = (0..workers).map(|_| slot()).collect();
        Self { queue, slots }
    }

    /// Takes a job in, unless too much is waiting.
    pub(crate) fn take(&self, job: Job) -> Result<(), Full> {
        self.queue.push(job)
    }

    /// Refuses what waits and lets workers end after the job in hand.
    pub(crate) fn close(&self) {
        self.queue.close();
    }

    /// Kills the workers, each with the job in hand.
    pub(crate) fn kill(&self) {
        // Each task holds its process, which is killed with it.
        self.slots.iter().for_each(JoinHandle::abort);
    }
}

impl Drop for Lane {
    fn drop(&mut self) {
        self.kill();
    }
}

/// Both ends of a stream of lines.
pub(crate) fn channel() -> (UnboundedSender<Sent>, UnboundedReceiver<Sent>) {
    // Unbounded in kind, not in fact: a job sends ten lines a second at most, for the length of its limit.
    unbounded_channel()
}
