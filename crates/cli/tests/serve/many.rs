//! Many clients at once: nothing is lost, nothing is mixed up, and memory stays where it is.
//!
//! The usual run is short. `SOAK_REQUESTS=100000 cargo test --release -p calotte --test serve many -- --nocapture` is a long one.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use calotte_desk::{NoWatch, Want};
use calotte_specimen::read_case;
use serde_json::{Value, json};

use crate::common::GOOD;
use crate::server::{Server, body};

/// How many requests the machine at hand is asked for.
fn requests(usual: usize) -> usize {
    std::env::var("SOAK_REQUESTS").map_or(usual, |n| n.parse().expect("SOAK_REQUESTS is a count"))
}

/// A case of its own for every number, of forty kinds of part.
fn case(i: usize) -> String {
    let wall = format!("{:.3} mm", 1.5 + 0.04 * (i % 40) as f64);
    format!("{}# {}\n", GOOD.replace("2.1 mm", &wall), i / 40)
}

/// The answer without what differs by the number alone: digest and time.
fn core(mut answer: Value) -> Value {
    answer["seconds"] = Value::Null;
    answer["report"]["provenance"]["case_digest"] = Value::Null;
    answer
}

/// What the desk says of each kind.
fn direct() -> Vec<Value> {
    let ask = |i| {
        let (case, found) = read_case(case(i).as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        assert!(found.is_empty(), "{found:?}");
        let reply =
            calotte_desk::ask(&case.unwrap(), "verdict", &json!({}), Want::default(), &NoWatch).unwrap();
        let film: Option<Value> = reply.film.map(|f| serde_json::to_value(f).unwrap());
        let whole = json!({
            "question": reply.question, "seconds": 0, "sheet": reply.sheet, "report": reply.report, "doubtful": reply.doubtful,
            "film": film, "figures": [], "tables": [],
        });
        // Through text and back, as the other one went.
        core(serde_json::from_str(&whole.to_string()).unwrap())
    };
    (0..40).map(ask).collect()
}

#[test]
fn fifty_clients_at_once_lose_nothing() {
    const CLIENTS: usize = 50;
    let count = requests(1500);
    let expected = direct();
    let server = Server::start(&[]);
    let next = AtomicUsize::new(0);
    let times = Mutex::new(Vec::new());
    let memory = Mutex::new(Vec::new());
    let start = Instant::now();
    thread::scope(|s| {
        for client in 0..CLIENTS {
            let (server, next, times, memory, expected) = (&server, &next, &times, &memory, &expected);
            s.spawn(move || {
                let mut c = server.connect();
                loop {
                    let i = next.fetch_add(1, Ordering::Relaxed);
                    if i >= count {
                        return;
                    }
                    let mut ask = body(&format!("page {client}"));
                    ask["text"] = case(i).into();
                    let asked = Instant::now();
                    let answer = c.post("/api/ask/verdict", &ask);
                    times.lock().unwrap().push(asked.elapsed());
                    let (mut lines, digest) =
                        (answer.lines(), calotte_specimen::fingerprint(case(i).as_bytes()));
                    let last = lines.pop().unwrap();
                    assert_eq!(lines[0], json!({"findings": []}), "{i}");
                    assert_eq!(last["answer"]["report"]["provenance"]["case_digest"], digest, "{i}");
                    assert!(
                        core(last["answer"].clone()) == expected[i % 40],
                        "request {i} has another answer: {last}"
                    );
                    if i % (count / 20).max(1) == 0 {
                        memory.lock().unwrap().push(server.resident());
                    }
                }
            });
        }
    });
    let mut times = times.into_inner().unwrap();
    assert_eq!(times.len(), count);
    times.sort_unstable();
    let at = |share: f64| times[((count - 1) as f64 * share) as usize];
    let memory = memory.into_inner().unwrap();
    let mib = |bytes: u64| bytes >> 20;
    println!(
        "{count} verdicts for {CLIENTS} clients in {:.1?}: p50 {:.1?}, p95 {:.1?}, slowest {:.1?}; memory of the server {} to {} MiB",
        start.elapsed(),
        at(0.5),
        at(0.95),
        at(1.0),
        mib(memory.iter().copied().min().unwrap()),
        mib(memory.iter().copied().max().unwrap()),
    );
    assert_eq!(server.said(), "");
    // Answers kept, 64 MiB, and as much again for what fifty clients have in hand.
    assert!(memory.iter().all(|m| mib(*m) < 160), "{memory:?}");
}

#[test]
fn memory_is_flat() {
    let server = Server::start(&[]);
    let count = requests(8000);
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
