//! Work that does not end, or ends badly, and what that does to everybody else.

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::text;
use crate::server::{Server, body, fake, lives, signal, wait_until};

const SECONDS: fn(u64) -> Duration = Duration::from_secs;

/// A true question that takes hours: one release after another.
fn endless(page: &str) -> Value {
    let case = text("cases/jumping-cap/case.toml");
    json!({"text": case, "options": {"spread": 100_000}, "page": page})
}

#[test]
fn a_death_is_said_and_the_next_question_answered() {
    let server = Server::fake(&[]);
    let mut c = server.connect();
    for (words, says) in [
        ("fake-die", "exit status: 3"),
        ("fake-killed", "signal: 9"),
        ("fake-half", "ended before it had an answer"),
        ("fake-nonsense", "a line that is no answer"),
    ] {
        for question in ["look", "poke"] {
            let answer = c.post(&format!("/api/ask/{question}"), &fake("p", words));
            assert_eq!((answer.status, answer.kind().as_str()), (200, "failed"), "{words}");
            assert!(answer.body.contains(says), "{words}: {}", answer.body);
            let next = c.post(&format!("/api/ask/{question}"), &fake("p", "the next"));
            assert_eq!(next.last()["answer"]["question"], "fake", "{next:?}");
        }
    }
    wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
    // Who started the server hears of it, once for each.
    assert_eq!(server.said().lines().count(), 8, "{}", server.said());
}

#[test]
fn the_limit_ends_what_takes_too_long() {
    let server = Server::fake(&["--limit", "1"]);
    let mut c = server.connect();
    let start = Instant::now();
    let answer = c.post("/api/ask/poke", &fake("p", "fake-endless"));
    assert_eq!(answer.kind(), "slow");
    assert!(answer.body.contains("--limit") && start.elapsed() >= SECONDS(1));
    assert_eq!(c.post("/api/ask/poke", &fake("p", "")).last()["answer"]["question"], "fake");
    // Quick questions have five seconds.
    let answer = c.post("/api/ask/verdict", &fake("p", "fake-endless"));
    assert_eq!(answer.kind(), "slow");
    assert!(start.elapsed() >= SECONDS(6));
}

#[test]
fn who_leaves_takes_the_work_along() {
    let server = Server::fake(&[]);
    wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
    let before = server.workers();
    let mut gone: Vec<_> = (0..2).map(|_| server.connect()).collect();
    for c in &mut gone {
        c.send(
            "POST",
            "/api/ask/poke",
            "content-type: application/json\r\n",
            &fake("p", "fake-endless").to_string(),
        );
    }
    // Its turn comes when one of them leaves.
    let mut waits = server.connect();
    waits.send("POST", "/api/ask/poke", "content-type: application/json\r\n", &fake("q", "").to_string());
    thread::sleep(Duration::from_millis(300));
    let start = Instant::now();
    drop(gone);
    assert_eq!(waits.answer().last()["answer"]["question"], "fake");
    assert!(start.elapsed() < SECONDS(2), "{:?}", start.elapsed());
    wait_until(SECONDS(5), "both are replaced", || {
        let now = server.workers();
        now.len() == 4 && now.iter().filter(|w| before.contains(w)).count() == 2
    });
    assert_eq!(server.said(), "");
}

#[test]
fn who_leaves_amid_progress_takes_true_work_along() {
    let server = Server::start(&[]);
    let before = {
        wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
        server.workers()
    };
    let mut c = server.connect();
    c.send("POST", "/api/ask/release", "content-type: application/json\r\n", &endless("p").to_string());
    assert_eq!(c.head().0, 200);
    let mut seen = String::new();
    while !seen.contains("\"progress\"") {
        seen += &c.chunk().unwrap();
    }
    drop(c);
    wait_until(SECONDS(3), "the worker is replaced", || {
        let now = server.workers();
        now.len() == 4 && now.iter().filter(|w| before.contains(w)).count() == 3
    });
}

#[test]
fn endless_work_does_not_hold_up_others() {
    let server = Server::start(&["--limit", "6"]);
    let mut long: Vec<_> = (0..2).map(|_| server.connect()).collect();
    for c in &mut long {
        c.send("POST", "/api/ask/release", "content-type: application/json\r\n", &endless("a").to_string());
    }
    thread::sleep(Duration::from_millis(200));
    let mut c = server.connect();
    for i in 0..5 {
        let mut ask = body("b");
        ask["text"] = format!("{}# {i}\n", crate::common::GOOD).into();
        let start = Instant::now();
        assert_eq!(c.post("/api/ask/verdict", &ask).last()["answer"]["question"], "verdict");
        assert!(start.elapsed() < SECONDS(3), "{:?}", start.elapsed());
    }
    for mut c in long {
        let (status, _) = c.head();
        let mut text = String::new();
        while let Some(chunk) = c.chunk() {
            text += &chunk;
        }
        let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        assert_eq!((status, &lines[0]), (200, &json!({"findings": []})));
        assert_eq!(lines.last().unwrap()["refused"]["kind"], "slow", "{lines:?}");
        let progress = lines.iter().filter(|l| l["progress"].is_object()).count();
        // Ten a second at most, over six seconds.
        assert!((1..=61).contains(&progress) && progress == lines.len() - 2, "{progress}");
    }
}

#[test]
fn a_killed_worker_is_replaced_and_said() {
    let server = Server::start(&[]);
    wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
    let mut c = server.connect();
    c.send("POST", "/api/ask/release", "content-type: application/json\r\n", &endless("a").to_string());
    c.head();
    c.chunk().unwrap();
    let before = server.workers();
    before.iter().for_each(|w| signal(*w, "KILL"));
    let mut text = String::new();
    while let Some(chunk) = c.chunk() {
        text += &chunk;
    }
    let last: Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    assert_eq!(last["refused"]["kind"], "failed");
    assert!(last["refused"]["says"].as_str().unwrap().contains("signal: 9"), "{last}");
    wait_until(SECONDS(5), "four others", || {
        let now = server.workers();
        now.len() == 4 && now.iter().all(|w| !before.contains(w))
    });
    assert_eq!(server.connect().post("/api/ask/verdict", &body("b")).last()["answer"]["question"], "verdict");
}

#[test]
fn a_newer_look_takes_the_place_of_a_waiting_one() {
    let server = Server::fake(&[]);
    let ask = |page: &str, words: &str| {
        let mut c = server.connect();
        c.send(
            "POST",
            "/api/ask/verdict",
            "content-type: application/json\r\n",
            &fake(page, words).to_string(),
        );
        thread::sleep(Duration::from_millis(100));
        c
    };
    let _busy = [ask("x", "fake-endless 1"), ask("y", "fake-endless 2")];
    let mut old = ask("p", "old");
    let mut other = ask("q", "other");
    let mut new = ask("p", "new");
    let said = old.answer();
    assert_eq!(said.kind(), "stopped");
    assert!(said.body.contains("newer"), "{}", said.body);
    drop(_busy);
    assert_eq!(new.answer().last()["answer"]["question"], "fake");
    assert_eq!(other.answer().last()["answer"]["question"], "fake");
}

#[test]
fn one_page_cannot_fill_the_queue() {
    let server = Server::fake(&[]);
    let ask = |page: &str, words: &str| {
        let mut c = server.connect();
        c.send("POST", "/api/ask/poke", "content-type: application/json\r\n", &fake(page, words).to_string());
        thread::sleep(Duration::from_millis(30));
        c
    };
    let busy = [ask("x", "fake-endless"), ask("x", "fake-endless")];
    thread::sleep(Duration::from_millis(300));
    let waiting: Vec<_> = (0..8).map(|_| ask("p", "")).collect();
    let answer = ask("p", "").answer();
    assert_eq!(
        (answer.status, answer.kind().as_str(), answer.header("retry-after")),
        (503, "busy", Some("1"))
    );
    let mut other = ask("q", "");
    drop(busy);
    assert_eq!(other.answer().last()["answer"]["question"], "fake");
    for mut c in waiting {
        assert_eq!(c.answer().last()["answer"]["question"], "fake");
    }
}

#[test]
fn long_work_is_polite_and_memory_bounded() {
    let server = Server::start(&[]);
    wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
    let has =
        |program: &str| Command::new(program).arg("--version").output().is_ok_and(|o| o.status.success());
    // A worker is only itself when the programs before it have made way.
    if has("prlimit") {
        let bound = |w: &u32| {
            let limits = std::fs::read_to_string(format!("/proc/{w}/limits")).unwrap_or_default();
            let line = limits.lines().find(|l| l.starts_with("Max address space")).map(str::to_owned);
            line.is_some_and(|l| l.contains(&(4_u64 << 30).to_string()))
        };
        wait_until(SECONDS(5), "all are bounded", || {
            server.workers().iter().filter(|w| bound(w)).count() == 4
        });
        assert_eq!(server.said(), "");
    } else {
        assert!(server.said().contains("prlimit"), "{}", server.said());
    }
    if has("nice") {
        let nice = |w: u32| {
            let stat = std::fs::read_to_string(format!("/proc/{w}/stat")).unwrap_or_default();
            let field =
                stat.rsplit(')').next().and_then(|rest| rest.split_whitespace().nth(16).map(str::to_owned));
            field.and_then(|f| f.parse::<i32>().ok()).unwrap_or_default()
        };
        let own = nice(server.child.id());
        wait_until(SECONDS(5), "two of them are polite", || {
            server.workers().into_iter().filter(|w| nice(*w) > own).count() == 2
        });
    }
}

#[test]
fn a_worker_without_memory_is_said_and_replaced() {
    if !Command::new("prlimit").arg("--version").output().is_ok_and(|o| o.status.success()) {
        return;
    }
    // What a worker has taken after a look, and a little: enough for looks; drawing figures takes more. It is measured where memory is scarce
    // too: elsewhere each thread sets aside 64 MiB of addresses that it does not use.
    let taken = {
        let server = Server::start(&["--worker-memory", "80"]);
        let mut c = server.connect();
        assert_eq!(c.post("/api/ask/look", &body("p")).last()["answer"]["question"], "look");
        let peak = |w: u32| -> u64 {
            let status = std::fs::read_to_string(format!("/proc/{w}/status")).unwrap_or_default();
            let line = status.lines().find_map(|l| l.strip_prefix("VmPeak:")).map(str::trim);
            line.and_then(|l| l.strip_suffix(" kB")?.parse().ok()).unwrap_or_default()
        };
        server.workers().into_iter().map(peak).max().unwrap().div_ceil(1024)
    };
    let server = Server::start(&["--worker-memory", &(taken + 2).to_string()]);
    let mut c = server.connect();
    assert_eq!(c.post("/api/ask/look", &body("p")).last()["answer"]["question"], "look");
    let mut ask = body("p");
    ask["want"]["figures"] = true.into();
    let answer = c.post("/api/ask/verdict", &ask);
    assert_eq!(answer.kind(), "failed");
    assert!(answer.body.contains("signal: 6") && answer.body.contains("more memory"), "{}", answer.body);
    ask["text"] = format!("{}# again\n", crate::common::GOOD).into();
    assert_eq!(c.post("/api/ask/look", &ask).last()["answer"]["question"], "look");
}

#[test]
fn a_worker_ends_with_its_input() {
    let mut worker = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .arg("worker")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = worker.stdin.take().unwrap();
    let mut lines = BufReader::new(worker.stdout.take().unwrap()).lines();
    let mut ask = body("");
    ask.as_object_mut().unwrap().remove("page");
    for question in ["look", "verdict", "nothing", "look"] {
        ask["question"] = question.into();
        writeln!(to, "{ask}").unwrap();
        let last = lines
            .by_ref()
            .map(Result::unwrap)
            .find(|l| !l.starts_with("{\"findings\"") && !l.starts_with("{\"progress\""));
        let expected =
            if question == "nothing" { "{\"refused\":{\"kind\":\"question\"" } else { "{\"answer\":" };
        assert!(last.as_ref().unwrap().starts_with(expected), "{last:?}");
    }
    // A line that is no job is said, not followed.
    writeln!(to, "nonsense").unwrap();
    assert!(lines.next().unwrap().unwrap().contains("the job cannot be read"));
    drop(to);
    assert!(worker.wait().unwrap().success());
}

#[test]
fn workers_do_not_outlive_a_killed_server() {
    let mut server = Server::start(&[]);
    let mut c = server.connect();
    c.send("POST", "/api/ask/release", "content-type: application/json\r\n", &endless("a").to_string());
    c.head();
    c.chunk().unwrap();
    let workers = server.workers();
    assert_eq!(workers.len(), 4);
    server.child.kill().unwrap();
    server.child.wait().unwrap();
    wait_until(SECONDS(5), "all workers are gone", || workers.iter().all(|w| !lives(*w)));
}

#[test]
fn without_workers_everybody_is_told() {
    let folder = crate::common::Folder::new();
    let server = Server::start_in(folder, &["--port", "0", "--worker", "no-such-program"]);
    let answer = server.connect().post("/api/ask/look", &fake("p", ""));
    assert_eq!(answer.kind(), "failed");
    assert!(!server.said().is_empty());
}
