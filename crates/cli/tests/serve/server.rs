//! A server of its own for a test.

use std::fs;
use std::io::{BufRead, BufReader};
use std::net::SocketAddr;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::{Folder, GOOD};
use crate::http::Connection;

/// A worker made of a few words, for what a true one does not do when asked: each word of a case has its effect.
const FAKE: &str = r#"while read -r line; do
  case "$line" in
    *fake-endless*) exec sleep 600 ;;
    *fake-die*) exit 3 ;;
    *fake-killed*) kill -9 $$ ;;
    *fake-nonsense*) echo nonsense ;;
    *fake-half*) printf '{"ans'; exit 0 ;;
    *fake-second*) sleep 1; echo '{"findings":[]}'; echo '{"answer":{"question":"fake-second"}}' ;;
    *) echo '{"findings":[]}'; echo '{"answer":{"question":"fake"}}' ;;
  esac
done
"#;

pub(crate) struct Server {
    pub(crate) child: Child,
    pub(crate) at: SocketAddr,
    pub(crate) url: String,
    said: Arc<Mutex<String>>,
    /// Where it was started.
    pub(crate) folder: Folder,
}

impl Server {
    pub(crate) fn start(arguments: &[&str]) -> Self {
        Self::start_in(Folder::new(), &[&["--port", "0"], arguments].concat())
    }

    /// With workers that do as a case says.
    pub(crate) fn fake(arguments: &[&str]) -> Self {
        let folder = Folder::new();
        folder.write("worker", FAKE);
        Self::start_in(folder, &[&["--port", "0", "--worker", "sh"], arguments].concat())
    }

    pub(crate) fn start_in(folder: Folder, arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_calotte"))
            .arg("serve")
            .args(arguments)
            .current_dir(&folder.0)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let said = Arc::new(Mutex::new(String::new()));
        let mut err = BufReader::new(child.stderr.take().unwrap());
        let heard = Arc::clone(&said);
        thread::spawn(move || {
            let mut line = String::new();
            while err.read_line(&mut line).is_ok_and(|n| n > 0) {
                heard.lock().unwrap().push_str(&line);
                line.clear();
            }
        });
        let mut first = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut first).unwrap();
        let url = first.split(' ').nth(1).unwrap_or_else(|| panic!("{first:?} {said:?}")).to_owned();
        let at = url.trim_start_matches("http://").split('/').next().unwrap().parse().unwrap();
        Self { child, at, url, said, folder }
    }

    pub(crate) fn connect(&self) -> Connection {
        Connection::to(self.at)
    }

    /// What it complained of so far.
    pub(crate) fn said(&self) -> String {
        self.said.lock().unwrap().clone()
    }

    /// Processes that it started and that live.
    pub(crate) fn workers(&self) -> Vec<u32> {
        let mut out = Vec::new();
        for entry in fs::read_dir("/proc").unwrap().flatten() {
            let Some(pid) = entry.file_name().to_str().and_then(|n| n.parse::<u32>().ok()) else { continue };
            let Ok(stat) = fs::read_to_string(entry.path().join("stat")) else { continue };
            let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
            if fields.first() != Some(&"Z") && fields.get(1) == Some(&self.child.id().to_string().as_str()) {
                out.push(pid);
            }
        }
        out.sort_unstable();
        out
    }

    pub(crate) fn signal(&self, name: &str) {
        signal(self.child.id(), name);
    }

    /// Waits for its end.
    pub(crate) fn ended(&mut self, within: Duration) -> ExitStatus {
        let mut status = None;
        wait_until(within, "the server ends", || {
            status = self.child.try_wait().unwrap();
            status.is_some()
        });
        status.unwrap()
    }

    /// Memory that it holds, bytes.
    pub(crate) fn resident(&self) -> u64 {
        resident(self.child.id())
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub(crate) fn signal(pid: u32, name: &str) {
    let sent = Command::new("kill").args(["-s", name, &pid.to_string()]).status().unwrap();
    assert!(sent.success());
}

/// Memory that a process holds, bytes; 0 for one that has gone.
pub(crate) fn resident(pid: u32) -> u64 {
    let status = fs::read_to_string(format!("/proc/{pid}/status")).unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:"));
    1024 * line.and_then(|l| l.split_whitespace().next()?.parse::<u64>().ok()).unwrap_or_default()
}

pub(crate) fn lives(pid: u32) -> bool {
    let stat = fs::read_to_string(Path::new("/proc").join(pid.to_string()).join("stat"));
    stat.is_ok_and(|s| !s.rsplit(')').next().unwrap().trim().starts_with('Z'))
}

pub(crate) fn wait_until(within: Duration, what: &str, mut done: impl FnMut() -> bool) {
    let start = Instant::now();
    while !done() {
        assert!(start.elapsed() < within, "waited {within:?} in vain: {what}");
        thread::sleep(Duration::from_millis(10));
    }
}

/// A question about a good case.
pub(crate) fn body(page: &str) -> Value {
    json!({"text": GOOD, "files": {}, "options": {}, "want": {"film": false, "figures": false, "tables": false}, "page": page})
}

/// A question for a fake worker; `words` make it a question of its own.
pub(crate) fn fake(page: &str, words: &str) -> Value {
    json!({"text": words, "page": page})
}
