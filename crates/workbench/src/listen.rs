//! Listening: from settings to connections, and an end in good order.

use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use axum::body::Bytes;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use crate::ask::Bodies;
use crate::cache::Cache;
use crate::guard::Door;
use crate::pool::{Command, Lane, Rules};
use crate::routes::{Shared, router};
use crate::stall::Stall;
use crate::{QUICK, QUICK_BY_THE_CLOCK, Said, Say, Settings, USUAL_PORT, about, cases};

/// Connections at once; more wait in the system's queue.
const CONNECTIONS: usize = 512;

/// Workers of each lane.
const WORKERS: usize = 2;

/// Bytes of answers that are kept.
const KEPT: usize = 64 << 20;

/// Bytes of bodies on their way in, all together.
const BODIES: usize = 64 << 20;

/// How long answers may take to end when the server stops.
const LAST_WORDS: Duration = Duration::from_secs(3);

/// Why the server cannot be.
#[derive(Debug)]
#[non_exhaustive]
pub enum Failure {
    /// The settings contradict each other, or the machine.
    Settings {
        /// What is wrong.
        says: String,
        /// What would be right.
        help: String,
    },
    /// The machine refused something.
    System {
        /// What.
        what: &'static str,
        /// Why.
        source: io::Error,
    },
}

impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Settings { says, help } => write!(f, "{says}\n  help: {help}"),
            Self::System { what, source } => write!(f, "{what}: {source}"),
        }
    }
}

impl std::error::Error for Failure {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Settings { .. } => None,
            Self::System { source, .. } => Some(source),
        }
    }
}

fn system(what: &'static str) -> impl FnOnce(io::Error) -> Failure {
    move |source| Failure::System { what, source }
}

fn refuse(says: impl Into<String>, help: impl Into<String>) -> Failure {
    Failure::Settings { says: says.into(), help: help.into() }
}

/// Serves until Ctrl-C or a request of the system to end. `say` hears the address and failures.
///
/// # Errors
/// When it cannot begin.
pub fn serve(settings: Settings, say: Say) -> Result<(), Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(system("no threads for the server"))?;
    let done = runtime.block_on(run(settings, say));
    // Whatever still holds on is left behind.
    runtime.shutdown_timeout(Duration::from_millis(200));
    done
}

/// Sixteen random bytes from the system, as hexadecimal digits.
pub(crate) fn random_word() -> io::Result<String> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|e| io::Error::other(e.to_string()))?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// The token that who asks must know; `None` when nobody but this machine can ask.
fn token(settings: &Settings) -> Result<Option<Arc<str>>, Failure> {
    let local = settings.address.is_loopback();
    if !local && !settings.allow_others {
        return Err(refuse(
            format!("{} can be reached from other machines", settings.address),
            "add `--allow-others` if that is meant; whoever asks must then know the token in the printed address",
        ));
    }
    match &settings.token {
        Some(t) if t.len() < 8 || !t.chars().all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c)) => {
            Err(refuse("this token does not do", "a token has eight or more letters, digits and - _ ."))
        }
        Some(t) => Ok(Some(t.as_str().into())),
        None if local => Ok(None),
        None => Ok(Some(random_word().map_err(system("no random numbers"))?.into())),
    }
}

async fn bind(settings: &Settings, notes: &mut Vec<String>) -> Result<TcpListener, Failure> {
    let at = |port| SocketAddr::new(settings.address, port);
    if let Some(port) = settings.port {
        return TcpListener::bind(at(port)).await.map_err(|e| {
            refuse(
                format!("cannot listen at {}: {e}", at(port)),
                "choose another `--port`, or none: then a free one is taken",
            )
        });
    }
    match TcpListener::bind(at(USUAL_PORT)).await {
        Ok(listener) => Ok(listener),
        Err(e) if e.kind() == io::ErrorKind::AddrInUse => {
            notes.push(format!("port {USUAL_PORT} is taken, so another one was chosen"));
            TcpListener::bind(at(0)).await.map_err(system("no free port"))
        }
        Err(e) => Err(refuse(
            format!("cannot listen at {}: {e}", at(USUAL_PORT)),
            "choose an address of this machine",
        )),
    }
}

/// The folder's real place.
fn real_folder(settings: &Settings) -> Result<Option<PathBuf>, Failure> {
    let Some(folder) = &settings.folder else { return Ok(None) };
    let real = std::fs::canonicalize(folder)
        .map_err(|e| refuse(format!("{}: {e}", folder.display()), "name a folder that is there"))?;
    if real.is_dir() {
        return Ok(Some(real));
    }
    Err(refuse(format!("{} is no folder", folder.display()), "name the folder where cases are kept"))
}

/// Programs in front of a worker that bound its memory and lower its priority, where the machine has them.
async fn before(polite: bool, bytes: u64, notes: &mut Vec<String>) -> Vec<String> {
    let works = async |words: &[String]| {
        let Some((program, rest)) = words.split_first() else { return false };
        let mut command = tokio::process::Command::new(program);
        let quiet = std::process::Stdio::null;
        command.args(rest).arg("true").stdin(quiet()).stdout(quiet()).stderr(quiet());
        command.status().await.is_ok_and(|s| s.success())
    };
    let mut out = Vec::new();
    let bound = vec!["prlimit".to_owned(), format!("--as={bytes}"), "--core=0".to_owned()];
    if works(&bound).await {
        out.extend(bound);
    } else if polite {
        notes.push("there is no `prlimit` here: memory of the workers is not bounded".to_owned());
    }
    let nice = vec!["nice".to_owned(), "-n".to_owned(), "10".to_owned()];
    if polite && works(&nice).await {
        out.extend(nice);
    }
    out
}

async fn run(mut settings: Settings, say: Say) -> Result<(), Failure> {
    let mut notes = Vec::new();
    let token = token(&settings)?;
    settings.folder = real_folder(&settings)?;
    let listener = bind(&settings, &mut notes).await?;
    let at = listener.local_addr().map_err(system("no address"))?;
    let lane = async |polite, notes: &mut Vec<String>| {
        let command = Command {
            program: settings.worker.clone(),
            before: before(polite, settings.worker_bytes, notes).await,
        };
        let (limit, clock) =
            if polite { (settings.limit, settings.limit) } else { (QUICK, QUICK_BY_THE_CLOCK) };
        let flag = polite.then_some("`--limit SECONDS`");
        Lane::start(WORKERS, &Rules { command, limit, clock, newest_only: !polite, flag }, &say)
    };
    let stock = cases::all();
    let about = serde_json::to_vec(&about::about(&settings, &stock))
        .map_err(|e| Failure::System { what: "no list of tables", source: e.into() })?;
    let shared = Arc::new(Shared {
        quick: lane(false, &mut notes).await,
        long: lane(true, &mut notes).await,
        cache: Cache::new(KEPT),
        bodies: Bodies::new(BODIES),
        stock,
        about: Bytes::from(about),
        folder: settings.folder.clone(),
        patience: settings.patience,
    });
    let door = Arc::new(Door { address: settings.address, token: token.clone() });
    let service = router(Arc::clone(&shared), door);
    let host = if at.ip().is_unspecified() {
        notes.push("from another machine, put this one's number (not its name) into the address".to_owned());
        SocketAddr::new(
            if at.is_ipv4() { [127, 0, 0, 1].into() } else { std::net::Ipv6Addr::LOCALHOST.into() },
            at.port(),
        )
    } else {
        at
    };
    let query = token.map_or(String::new(), |t| format!("?token={t}"));
    let mut stop = Stop::new().map_err(system("no signals"))?;
    say(Said::Ready { url: &format!("http://{host}/{query}"), notes: &notes });

    let open = GracefulShutdown::new();
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let place = tokio::select! {
            place = Arc::clone(&places).acquire_owned() => place,
            () = stop.asked() => break,
        };
        let stream = tokio::select! {
            accepted = listener.accept() => match accepted {
                Ok((stream, _)) => stream,
                Err(_) => {
                    // Out of handles, or the client was faster than we: both pass.
                    tokio::time::sleep(Duration::from_millis(50)).await;
                    continue;
                }
            },
            () = stop.asked() => break,
        };
        let connection = open.watch(connect(stream, service.clone(), &settings));
        tokio::spawn(async move {
            // Errors of a connection are the client's: it left, or spoke too slowly.
            let _ = connection.await;
            drop(place);
        });
    }
    drop(listener);
    shared.quick.close();
    shared.long.close();
    let mut all_done = std::pin::pin!(open.shutdown());
    tokio::select! {
        () = &mut all_done => return Ok(()),
        () = tokio::time::sleep(LAST_WORDS) => {}
        () = stop.asked() => return Ok(()),
    }
    // Who still waits is told.
    shared.quick.kill();
    shared.long.kill();
    let _ = tokio::time::timeout(Duration::from_millis(300), all_done).await;
    Ok(())
}

type Served = http1::Connection<TokioIo<Stall>, TowerToHyperService<axum::Router>>;

fn connect(stream: TcpStream, service: axum::Router, settings: &Settings) -> Served {
    // A line of progress is small and wanted now.
    let _ = stream.set_nodelay(true);
    http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(settings.patience.head)
        .max_headers(64)
        .max_buf_size(64 << 10)
        .serve_connection(
            TokioIo::new(Stall::new(stream, settings.patience.taking)),
            TowerToHyperService::new(service),
        )
}

/// Ctrl-C, or the system's wish that we end.
struct Stop {
    #[cfg(unix)]
    term: tokio::signal::unix::Signal,
    #[cfg(unix)]
    interrupt: tokio::signal::unix::Signal,
}

impl Stop {
    #[cfg(unix)]
    fn new() -> io::Result<Self> {
        use tokio::signal::unix::{SignalKind, signal};
        Ok(Self { term: signal(SignalKind::terminate())?, interrupt: signal(SignalKind::interrupt())? })
    }

    #[cfg(not(unix))]
    fn new() -> io::Result<Self> {
        Ok(Self {})
    }

    #[cfg(unix)]
    async fn asked(&mut self) {
        tokio::select! {
            _ = self.term.recv() => {}
            _ = self.interrupt.recv() => {}
        }
    }

    #[cfg(not(unix))]
    async fn asked(&mut self) {
        let _ = tokio::signal::ctrl_c().await;
    }
}
