//! `calotte serve`: a page in the browser, served from this machine; and `calotte worker`, which does its work.

use std::io::{BufReader, stdin, stdout};
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::Duration;

use calotte_workbench::{LONG, Patience, Said, Settings, USUAL_PORT, WORKER_BYTES, WorkEnd};
use clap::Args;

use crate::{End, paint};

/// How to serve.
#[derive(Args)]
pub(crate) struct Options {
    /// Port; without this 8722, or any free one when that is taken. 0 takes any free one.
    #[arg(long)]
    port: Option<u16>,
    /// Address to listen at; one that other machines can reach needs `--allow-others`.
    #[arg(long, default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,
    /// Let other machines ask, if they know the token in the printed address. What is sent can be read on the way.
    #[arg(long)]
    allow_others: bool,
    /// Word that whoever asks must know; made up with `--allow-others` where none is given.
    #[arg(long, value_name = "WORD")]
    token: Option<String>,
    /// Folder where the page may open and keep cases; without one it keeps nothing.
    #[arg(long, value_name = "DIR")]
    folder: Option<PathBuf>,
    /// Longest time for one question, seconds; looks and verdicts have 5 s.
    #[arg(long, value_name = "SECONDS", default_value_t = LONG.as_secs(), value_parser = clap::value_parser!(u64).range(1..=86_400))]
    limit: u64,
    /// Open the page in the browser.
    #[arg(long)]
    open: bool,
    /// Program that works instead of this one.
    #[arg(long, value_name = "PROGRAM", hide = true)]
    worker: Option<PathBuf>,
    /// Address space of a worker, MiB, for tests.
    #[arg(long, value_name = "MIB", hide = true, value_parser = clap::value_parser!(u64).range(1..=1 << 20))]
    worker_memory: Option<u64>,
    /// Milliseconds that a slow client has, for tests.
    #[arg(long, value_name = "MS", hide = true)]
    patience: Option<u64>,
}

pub(crate) fn serve(options: Options) -> End {
    let own = match options.worker.map_or_else(std::env::current_exe, Ok) {
        Ok(own) => own,
        Err(e) => {
            paint::complain(&format!("the program does not find itself: {e}"));
            return End::Failure;
        }
    };
    let short = |ms| {
        let time = Duration::from_millis(ms);
        Patience { head: time, body: time, taking: time }
    };
    let settings = Settings {
        address: options.address,
        port: options.port,
        allow_others: options.allow_others,
        token: options.token,
        folder: options.folder,
        limit: Duration::from_secs(options.limit),
        worker: own,
        worker_bytes: options.worker_memory.map_or(WORKER_BYTES, |mib| mib << 20),
        patience: options.patience.map_or_else(Patience::default, short),
    };
    let open = options.open;
    let say = Arc::new(move |said: Said<'_>| match said {
        Said::Ready { url, notes } => {
            notes.iter().for_each(|n| paint::complain(n));
            paint::line(&format!("Open {url} (Ctrl-C ends it)"));
            if open {
                open_browser(url);
            }
        }
        Said::Failure(why) => paint::complain(why),
    });
    match calotte_workbench::serve(settings, say) {
        Ok(()) => End::Answered,
        Err(e) => {
            paint::complain(&e.to_string());
            match e {
                calotte_workbench::Failure::Settings { .. } => End::BadInput,
                _ => End::Failure,
            }
        }
    }
}

/// Asks the platform to open an address; without an opener the address was printed anyway.
fn open_browser(url: &str) {
    let (program, first): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(windows) {
        ("rundll32", &["url.dll,FileProtocolHandler"])
    } else {
        ("xdg-open", &[])
    };
    let quiet = Stdio::null;
    let started =
        Command::new(program).args(first).arg(url).stdin(quiet()).stdout(quiet()).stderr(quiet()).spawn();
    match started {
        // Waited for, so that it does not stay as a dead entry among the processes.
        Ok(mut child) => drop(std::thread::spawn(move || child.wait())),
        Err(_) => paint::complain(&format!("no `{program}` here: open the address yourself")),
    }
}

/// Works for a server until its pipe closes.
pub(crate) fn worker() -> End {
    // What a panic says goes to who asked, as an answer.
    std::panic::set_hook(Box::new(|_| {}));
    // Nobody waits for an answer any more; the work in hand is not worth its time.
    let left = || std::process::exit(0);
    match calotte_workbench::work(BufReader::new(stdin()), stdout(), left) {
        WorkEnd::Done => End::Answered,
        WorkEnd::Broken => End::Failure,
    }
}

const _: () = assert!(USUAL_PORT == 8722, "the help text names the port");
