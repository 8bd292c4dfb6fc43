//! What waits for a worker: pages take turns, and none can fill the queue alone.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Mutex, MutexGuard, PoisonError};

use tokio::sync::Notify;

use super::Job;
use crate::api::Kind;

/// Most jobs of one page that wait.
pub(super) const MOST_OF_A_PAGE: usize = 8;

/// Most jobs that wait.
pub(super) const MOST: usize = 256;

/// Most bytes of jobs that wait.
const MOST_BYTES: usize = 64 << 20;

/// Too much waits already.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Full {
    /// Whether it is this page's own doing.
    pub(crate) own: bool,
}

#[derive(Default)]
struct Waiting {
    /// By page; none is empty.
    jobs: BTreeMap<String, VecDeque<Job>>,
    /// Pages in the order of their turns.
    turns: VecDeque<String>,
    count: usize,
    bytes: usize,
    closed: bool,
}

impl Waiting {
    /// Drops jobs that `keep` does not want, and pages without any.
    fn retain(&mut self, keep: impl Fn(&Job) -> bool) {
        self.jobs.values_mut().for_each(|jobs| jobs.retain(&keep));
        self.jobs.retain(|_, jobs| !jobs.is_empty());
        let jobs = &self.jobs;
        self.turns.retain(|page| jobs.contains_key(page));
        self.count = self.jobs.values().map(VecDeque::len).sum();
        self.bytes = self.jobs.values().flatten().map(|job| job.line.len()).sum();
    }

    fn is_full(&self, more: usize) -> bool {
        self.count >= MOST || self.bytes + more > MOST_BYTES
    }

    fn next(&mut self) -> Option<Job> {
        let page = self.turns.pop_front()?;
        let jobs = self.jobs.get_mut(&page)?;
        let job = jobs.pop_front()?;
        if jobs.is_empty() {
            self.jobs.remove(&page);
        } else {
            self.turns.push_back(page);
        }
        self.count -= 1;
        self.bytes -= job.line.len();
        Some(job)
    }
}

pub(super) struct Queue {
    waiting: Mutex<Waiting>,
    news: Notify,
    newest_only: bool,
}

impl Queue {
    pub(super) fn new(newest_only: bool) -> Self {
        Self { waiting: Mutex::default(), news: Notify::new(), newest_only }
    }

    fn lock(&self) -> MutexGuard<'_, Waiting> {
        // Nothing between lock and unlock leaves it half done.
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn push(&self, job: Job) -> Result<(), Full> {
        let mut w = self.lock();
        if w.closed {
            job.refuse(Kind::Stopped, "the server is stopping", None);
            return Ok(());
        }
        if self.newest_only && !job.page.is_empty() {
            w.retain(|old| {
                let same = old.page == job.page && old.question == job.question;
                if same {
                    old.refuse(Kind::Stopped, "a newer question of the same page took its place", None);
                }
                !same
            });
        }
        let own = |w: &Waiting| w.jobs.get(&job.page).map_or(0, VecDeque::len);
        if w.is_full(job.line.len()) || own(&w) >= MOST_OF_A_PAGE {
            // Those whose client has gone wait for nobody.
            w.retain(|old| !old.to.is_closed());
        }
        // Without a name nobody knows whose they are: only the length of the queue counts.
        if !job.page.is_empty() && own(&w) >= MOST_OF_A_PAGE {
            return Err(Full { own: true });
        }
        if w.is_full(job.line.len()) {
            return Err(Full { own: false });
        }
        if !w.jobs.contains_key(&job.page) {
            w.turns.push_back(job.page.clone());
        }
        w.count += 1;
        w.bytes += job.line.len();
        w.jobs.entry(job.page.clone()).or_default().push_back(job);
        drop(w);
        self.news.notify_one();
        Ok(())
    }

    /// The next job whose client is still there; `None` when the queue is closed.
    pub(super) async fn next(&self) -> Option<Job> {
        loop {
            // Made before looking: news between looking and waiting is not lost.
            let news = self.news.notified();
            {
                let mut w = self.lock();
                while let Some(job) = w.next() {
                    if !job.to.is_closed() {
                        if w.count > 0 {
                            // One notice wakes one worker, and notices do not add up.
                            self.news.notify_one();
                        }
                        return Some(job);
                    }
                }
                if w.closed {
                    self.news.notify_one();
                    return None;
                }
            }
            news.await;
        }
    }

    pub(super) fn close(&self) {
        let mut w = self.lock();
        w.closed = true;
        w.retain(|job| {
            job.refuse(Kind::Stopped, "the server is stopping", None);
            false
        });
        drop(w);
        self.news.notify_waiters();
        self.news.notify_one();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pool::{Sent, channel};
    use tokio::sync::mpsc::UnboundedReceiver;

    fn job(page: &str, line: &str) -> (Job, UnboundedReceiver<Sent>) {
        let (to, from) = channel();
        let job = Job { page: page.into(), question: "look".into(), line: line.into(), to, slip: None };
        (job, from)
    }

    fn push(queue: &Queue, page: &str, line: &str) -> UnboundedReceiver<Sent> {
        let (job, from) = job(page, line);
        queue.push(job).unwrap();
        from
    }

    async fn lines(queue: &Queue, n: usize) -> Vec<String> {
        let mut out = Vec::new();
        for _ in 0..n {
            out.push(queue.next().await.unwrap().line.to_string());
        }
        out
    }

    #[tokio::test]
    async fn pages_take_turns() {
        let queue = Queue::new(false);
        let _ends: Vec<_> = [("a", "a1"), ("a", "a2"), ("a", "a3"), ("b", "b1"), ("c", "c1")]
            .map(|(p, l)| push(&queue, p, l))
            .into();
        assert_eq!(lines(&queue, 5).await, ["a1", "b1", "c1", "a2", "a3"]);
    }

    #[tokio::test]
    async fn a_newer_question_takes_the_place_of_a_waiting_one_of_its_page() {
        let queue = Queue::new(true);
        let mut old = push(&queue, "a", "old");
        let _other = push(&queue, "b", "other");
        let _new = push(&queue, "a", "new");
        let said = old.recv().await.unwrap();
        assert!(said.last && said.text.contains("\"stopped\""), "{}", said.text);
        assert_eq!(lines(&queue, 2).await, ["other", "new"]);
    }

    #[tokio::test]
    async fn the_queue_is_bounded_for_a_page_and_for_all() {
        let queue = Queue::new(false);
        let mut ends: Vec<_> = (0..MOST_OF_A_PAGE).map(|_| push(&queue, "a", "x")).collect();
        assert_eq!(queue.push(job("a", "x").0), Err(Full { own: true }));
        ends.extend((MOST_OF_A_PAGE..MOST).map(|i| push(&queue, &format!("p{i}"), "x")));
        assert_eq!(queue.push(job("z", "x").0), Err(Full { own: false }));
        // Clients that have gone make room.
        ends.truncate(MOST - 1);
        assert_eq!(queue.push(job("z", "x").0), Ok(()));
    }

    #[tokio::test]
    async fn bytes_are_bounded() {
        let queue = Queue::new(false);
        let long = "x".repeat(MOST_BYTES / 4);
        let mut ends: Vec<_> = (0..4).map(|i| push(&queue, &format!("p{i}"), &long)).collect();
        assert_eq!(queue.push(job("z", "x").0), Err(Full { own: false }));
        drop(queue.next().await);
        assert_eq!(queue.push(job("z", "x").0), Ok(()));
        ends.clear();
        assert_eq!(queue.push(job("z", &long).0), Ok(()));
    }

    #[tokio::test]
    async fn a_closed_queue_refuses_what_waits() {
        let queue = Queue::new(false);
        let mut end = push(&queue, "a", "x");
        queue.close();
        assert!(end.recv().await.unwrap().text.contains("\"stopped\""));
        assert!(queue.next().await.is_none() && queue.next().await.is_none());
    }
}
