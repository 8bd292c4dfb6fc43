//! Many clients at once: nothing is lost, nothing is mixed up, and memory stays where it is.
//!
//! The usual run takes twenty seconds. `SOAK_REQUESTS=100000 cargo test --release -p calotte --test serve fifty -- --nocapture` is a long one.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use calotte_desk::{NoWatch, Want};
use calotte_specimen::read_case;
use serde_json::{Value, json};

use crate::common::GOOD;
use crate::server::{Server, body, resident};

/// A count that the long runs set.
fn long_run() -> Option<usize> {
    let set = std::env::var("SOAK_REQUESTS").ok()?;
    Some(set.parse().expect("SOAK_REQUESTS is a count"))
}

/// Thickness of the wall, mm: for every number another one, spread evenly over what stays and what returns.
fn thickness(i: usize) -> String {
    let share = (i as f64 * 0.618_033_988_749_894_9).fract();
    format!("{:.6}", 1.5 + 1.6 * share)
}

/// A case of its own for every number, so that no answer was given before.
fn case(i: usize) -> String {
    GOOD.replace("2.1 mm", &format!("{} mm", thickness(i)))
}

/// The answer without what differs by the number alone: digest and time.
fn core(mut answer: Value) -> Value {
    answer["seconds"] = Value::Null;
    answer["report"]["provenance"]["case_digest"] = Value::Null;
    answer
}

/// What the desk says of a case.
fn direct(i: usize) -> Value {
    let (case, found) = read_case(case(i).as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
    assert!(found.is_empty(), "{found:?}");
    let reply = calotte_desk::ask(&case.unwrap(), "verdict", &json!({}), Want::default(), &NoWatch).unwrap();
    let whole = json!({
        "question": reply.question, "seconds": 0, "sheet": reply.sheet, "report": reply.report,
        "doubtful": reply.doubtful, "film": null, "figures": [], "tables": [],
    });
    // Through text and back, as the other one went.
    core(serde_json::from_str(&whole.to_string()).unwrap())
}

/// What must hold of every answer: it is about this very case, and its threshold is that of them all, whatever the wall.
fn belongs(i: usize, answer: &Value, threshold: f64) {
    let report = &answer["report"];
    assert_eq!(report["provenance"]["case_digest"], calotte_specimen::fingerprint(case(i).as_bytes()), "{i}");
    let number = |v: &Value| v.as_f64().unwrap_or_else(|| panic!("{i}: {v} in {report}"));
    let wall = 1e-3 * thickness(i).parse::<f64>().unwrap();
    let close = |a: f64, b: f64, what: &str| assert!((a / b - 1.0).abs() < 1e-6, "{i}, {what}: {a} {b}");
    close(number(&report["part"]["thickness_m"]), wall, "thickness");
    close(number(&report["margin"]["threshold_thickness_m"]), threshold, "threshold");
    let ratio = wall / threshold;
    close(number(&report["margin"]["thickness_ratio"]), ratio, "h/h*");
    if (ratio - 1.0).abs() > 0.01 {
        assert_eq!(report["verdict"], if ratio < 1.0 { "stays" } else { "returns" }, "{i}, h/h* {ratio}");
    }
}

/// Every answer is held against what is known of it; some, against all that the desk says without a server.
#[test]
fn fifty_clients_at_once_lose_nothing() {
    const CLIENTS: usize = 50;
    // Of the first answers, which every run has, each tenth is compared as a whole.
    const FLOOR: usize = 240;
    const EACH: usize = 10;
    let threshold = direct(0)["report"]["margin"]["threshold_thickness_m"].as_f64().unwrap();
    let server = Server::start(&[]);
    let next = AtomicUsize::new(0);
    let times = Mutex::new(Vec::new());
    let memory = Mutex::new(Vec::new());
    let whole = Mutex::new(BTreeMap::new());
    let count = long_run();
    let start = Instant::now();
    // Without a count, for as long as the time lasts, and until the floor is reached on the slowest machine.
    let over = |i: usize| match count {
        Some(n) => i >= n,
        None => i >= FLOOR && start.elapsed() > Duration::from_secs(20),
    };
    let mib = |pid: u32| resident(pid) >> 20;
    let look = || (mib(server.child.id()), server.workers().into_iter().map(mib).collect::<Vec<_>>());
    let mark = (count.unwrap_or(1000) / 20).max(1);
    thread::scope(|s| {
        for client in 0..CLIENTS {
            let (server, next, times, memory, whole) = (&server, &next, &times, &memory, &whole);
            s.spawn(move || {
                let mut c = server.connect();
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if over(i) {
                        return;
                    }
                    if i % mark == 0 {
                        memory.lock().unwrap().push((i, look()));
                    }
                    let mut ask = body(&format!("page {client}"));
                    ask["text"] = case(i).into();
                    let asked = Instant::now();
                    let answer = c.post("/api/ask/verdict", &ask);
                    times.lock().unwrap().push((i, asked.elapsed()));
                    let mut lines = answer.lines();
                    let last = lines.pop().unwrap();
                    assert_eq!(lines[0], json!({"findings": []}), "{i}");
                    belongs(i, &last["answer"], threshold);
                    if i < FLOOR && i % EACH == 0 {
                        whole.lock().unwrap().insert(i, core(last["answer"].clone()));
                    }
                }
            });
        }
    });
    let took = start.elapsed();
    let mut memory = memory.into_inner().unwrap();
    memory.push((count.unwrap_or_default(), look()));
    let times = times.into_inner().unwrap();
    let mut asked: Vec<usize> = times.iter().map(|t| t.0).collect();
    asked.sort_unstable();
    assert!(asked.iter().copied().eq(0..asked.len()) && asked.len() >= count.unwrap_or(FLOOR), "{asked:?}");
    let whole = whole.into_inner().unwrap();
    assert_eq!(whole.len(), asked.len().min(FLOOR).div_ceil(EACH));
    for (i, answer) in whole {
        assert!(answer == direct(i), "request {i} has another answer: {answer}");
    }
    let mut times: Vec<Duration> = times.into_iter().map(|t| t.1).collect();
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    println!(
        "{} verdicts for {CLIENTS} clients in {took:.1?} ({:.0} a second): p50 {:.1?}, p95 {:.1?}, slowest {:.1?}",
        times.len(),
        times.len() as f64 / took.as_secs_f64(),
        at(0.5),
        at(0.95),
        at(1.0),
    );
    memory.iter().for_each(|(i, (server, workers))| {
        println!("  memory at request {i}: server {server} MiB, workers {workers:?} MiB");
    });
    assert_eq!(server.said(), "");
    // Answers kept, 64 MiB, and as much again for what fifty clients have in hand.
    assert!(memory.iter().all(|(_, (server, _))| *server < 160), "{memory:?}");
}

#[test]
fn memory_is_flat() {
    let server = Server::start(&[]);
    let count = long_run().unwrap_or(8000);
    let mut c = server.connect();
    let mut memory = Vec::new();
    let start = Instant::now();
    // Every look is of a case of its own, so each takes a place among the answers that are kept.
    for i in 0..count {
        let mut ask = body("p");
        ask["text"] = format!("{}# {i} {}\n", GOOD, "x".repeat(6000)).into();
        let answer = c.post("/api/ask/look", &ask);
        assert_eq!(answer.last()["answer"]["question"], "look", "{i}");
        if i % (count / 40) == 0 {
            memory.push(server.resident() >> 20);
        }
        if i % (count / 10) == 0 {
            let workers: Vec<u64> = server.workers().into_iter().map(|w| resident(w) >> 20).collect();
            println!("  memory at look {i}: server {} MiB, workers {workers:?} MiB", server.resident() >> 20);
        }
    }
    println!("{count} looks in {:.1?}; memory of the server, MiB: {memory:?}", start.elapsed());
    // By the last quarter the place for answers is full and nothing grows any more.
    let (before, after) = (memory[memory.len() * 3 / 4], memory[memory.len() - 1]);
    assert!(after <= before + 4 && after < 128, "{memory:?}");
}

#[test]
fn going_back_costs_nothing() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    let first = c.post("/api/ask/verdict", &body("p"));
    let start = Instant::now();
    let again = c.post("/api/ask/verdict", &body("another page"));
    assert!(start.elapsed() < Duration::from_millis(500));
    let answer = |a: &crate::http::Answer| {
        a.lines().into_iter().filter(|l| l.get("progress").is_none()).collect::<Vec<_>>()
    };
    // The seconds are those of the first time.
    assert_eq!(answer(&first), answer(&again));
    let mut other = body("p");
    other["options"] = json!({"depth": false});
    assert_ne!(answer(&first), answer(&c.post("/api/ask/verdict", &other)));
}
