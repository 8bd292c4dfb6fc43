//! One worker and its replacements.

use std::process::{ExitStatus, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::process::{Child, ChildStdin, ChildStdout};

use super::queue::Queue;
use super::{Job, Rules, Sent, clock};
use crate::api::Kind;

/// Longest line of an answer that is passed on.
const LONGEST_LINE: u64 = 64 << 20;

/// Wait before another start when workers end without having done anything.
const PAUSE: Duration = Duration::from_millis(250);

const AGAIN: &str = "ask again; if it happens again, please report the case that does it";

/// A running worker with its pipes.
struct Worker {
    child: Child,
    to: ChildStdin,
    from: BufReader<ChildStdout>,
    /// Jobs done.
    done: u64,
    born: Instant,
}

impl Worker {
    fn start(rules: &Rules) -> std::io::Result<Self> {
        let words = rules.command.before.iter().map(String::as_str);
        let program = rules.command.program.as_os_str();
        let mut line = words.map(std::ffi::OsStr::new).chain([program, "worker".as_ref()]);
        let first = line.next().unwrap_or(program);
        let mut child = tokio::process::Command::new(first)
            .args(line)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .kill_on_drop(true)
            .spawn()?;
        let pipe = || std::io::Error::other("no pipe to the worker");
        let to = child.stdin.take().ok_or_else(pipe)?;
        let from = BufReader::new(child.stdout.take().ok_or_else(pipe)?);
        Ok(Self { child, to, from, done: 0, born: Instant::now() })
    }

    /// Kills it and waits until it is gone.
    async fn end(mut self) -> Option<ExitStatus> {
        let _ = self.child.start_kill();
        self.child.wait().await.ok()
    }
}

/// What an end by the process itself may mean.
fn memory(status: ExitStatus) -> &'static str {
    // 6 is SIGABRT on every Unix: the end of a program that gets no memory.
    #[cfg(unix)]
    if std::os::unix::process::ExitStatusExt::signal(&status) == Some(6) {
        return "; it may have needed more memory than it may take";
    }
    let _ = status;
    ""
}

/// How a job ended.
enum Ended {
    /// The worker takes the next.
    Fine,
    /// The client has gone.
    Alone,
    /// The limit, this one, is over.
    Slow(Duration),
    /// The worker died or talks nonsense.
    Broken(String),
}

/// Works off the queue until it is closed.
pub(super) async fn run(queue: Arc<Queue>, rules: Rules, say: crate::Say) {
    let mut complained = false;
    loop {
        let mut worker = match Worker::start(&rules) {
            Ok(worker) => worker,
            Err(e) => {
                let why = format!("a worker cannot be started: {}: {e}", rules.command.program.display());
                if !complained {
                    say(crate::Said::Failure(&why));
                    complained = true;
                }
                // Whoever asks meanwhile must not wait for nothing.
                let Ok(next) = tokio::time::timeout(PAUSE, queue.next()).await else { continue };
                let Some(job) = next else { return };
                job.refuse(Kind::Failed, why, None);
                continue;
            }
        };
        loop {
            let job = tokio::select! {
                // A job must not go to a worker that is known to be dead.
                biased;
                _ = worker.child.wait() => {
                    if worker.done == 0 && worker.born.elapsed() < PAUSE {
                        if !complained {
                            say(crate::Said::Failure("workers end as soon as they are started"));
                            complained = true;
                        }
                        tokio::time::sleep(PAUSE).await;
                    }
                    break;
                }
                job = queue.next() => job,
            };
            let Some(job) = job else {
                worker.end().await;
                return;
            };
            let over = clock::over(worker.child.id(), rules.limit, rules.clock);
            let ended = tokio::select! {
                ended = work(&mut worker, &job) => ended,
                limit = over => Ended::Slow(limit),
            };
            match ended {
                Ended::Fine => worker.done += 1,
                Ended::Alone => break,
                Ended::Slow(limit) => {
                    let says = format!("it took longer than {} s and was stopped", limit.as_secs_f64());
                    let help = rules
                        .flag
                        .map(|f| format!("start the server with {f} to wait longer, or ask for less"));
                    job.refuse(Kind::Slow, says, help.as_deref());
                    break;
                }
                Ended::Broken(why) => {
                    let status = worker.end().await;
                    let why =
                        format!("{why}{}", status.map_or(String::new(), |s| format!(" ({s}{})", memory(s))));
                    say(crate::Said::Failure(&format!("{}: {why}", job.question)));
                    job.refuse(Kind::Failed, why, Some(AGAIN));
                    worker = match Worker::start(&rules) {
                        Ok(worker) => worker,
                        Err(_) => break,
                    };
                }
            }
        }
    }
}

/// Hands a job to the worker and passes its lines on.
async fn work(worker: &mut Worker, job: &Job) -> Ended {
    let died = || Ended::Broken("the process that worked on it ended before it had an answer".to_owned());
    let Worker { to, from, .. } = worker;
    let sent = async {
        to.write_all(job.line.as_bytes()).await?;
        to.flush().await
    };
    tokio::select! {
        sent = sent => if sent.is_err() { return died() },
        () = job.to.closed() => return Ended::Alone,
    }
    let mut kept: Vec<Arc<str>> = Vec::new();
    loop {
        let mut bytes = Vec::new();
        let mut bounded = (&mut *from).take(LONGEST_LINE);
        let read = tokio::select! {
            read = bounded.read_until(b'\n', &mut bytes) => read,
            () = job.to.closed() => return Ended::Alone,
        };
        match read {
            Ok(0) | Err(_) => return died(),
            Ok(_) => {}
        }
        if bytes.last() != Some(&b'\n') {
            // Its pipe ended amid a line, or the line does not.
            return if (bytes.len() as u64) < LONGEST_LINE {
                died()
            } else {
                Ended::Broken(format!("its answer is longer than {} MiB", LONGEST_LINE >> 20))
            };
        }
        let Ok(text) = String::from_utf8(bytes) else {
            return Ended::Broken("the process that worked on it wrote bytes that are no text".to_owned());
        };
        let is = |name: &str| text.starts_with(name);
        let answer = is("{\"answer\":");
        let last = answer || is("{\"refused\":");
        if !last && !is("{\"progress\":") && !is("{\"findings\":") {
            return Ended::Broken("the process that worked on it wrote a line that is no answer".to_owned());
        }
        let text: Arc<str> = text.into();
        if job.slip.is_some() && !is_progress(&text) {
            kept.push(Arc::clone(&text));
        }
        let heard = job.to.send(Sent { text, last }).is_ok();
        if last {
            if let Some(slip) = job.slip.as_ref().filter(|_| answer) {
                slip.keep(kept);
            }
            return Ended::Fine;
        }
        if !heard {
            return Ended::Alone;
        }
    }
}

fn is_progress(line: &str) -> bool {
    line.starts_with("{\"progress\":")
}
