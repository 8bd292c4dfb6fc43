//! The end of a server.

use std::time::{Duration, Instant};

use crate::server::{Server, fake, lives, wait_until};

const JSON: &str = "content-type: application/json\r\n";
const SECONDS: fn(u64) -> Duration = Duration::from_secs;

#[test]
fn running_answers_are_finished() {
    for name in ["INT", "TERM"] {
        let mut server = Server::fake(&[]);
        wait_until(SECONDS(5), "four workers", || server.workers().len() == 4);
        let workers = server.workers();
        let mut idle = server.connect();
        assert_eq!(idle.get("/api/about").status, 200);
        let mut c = server.connect();
        c.send("POST", "/api/ask/poke", JSON, &fake("p", "fake-second").to_string());
        std::thread::sleep(Duration::from_millis(300));
        let start = Instant::now();
        server.signal(name);
        let answer = c.answer();
        assert_eq!(answer.last()["answer"]["question"], "fake-second", "{answer:?}");
        let status = server.ended(SECONDS(3));
        assert!(status.success(), "{status}");
        assert!(start.elapsed() < SECONDS(3));
        assert!(idle.closes());
        wait_until(SECONDS(3), "workers are gone", || workers.iter().all(|w| !lives(*w)));
        assert_eq!(server.said(), "");
    }
}

#[test]
fn endless_answers_are_told_and_cut_off() {
    let mut server = Server::fake(&[]);
    let ask = |words: &str| {
        let mut c = server.connect();
        c.send("POST", "/api/ask/poke", JSON, &fake("p", words).to_string());
        std::thread::sleep(Duration::from_millis(100));
        c
    };
    let mut running = [ask("fake-endless"), ask("fake-endless")];
    let mut waiting = ask("");
    let start = Instant::now();
    server.signal("TERM");
    // What only waits is told at once.
    assert_eq!(waiting.answer().kind(), "stopped");
    assert!(start.elapsed() < SECONDS(1));
    for c in &mut running {
        assert_eq!(c.answer().kind(), "stopped");
    }
    let status = server.ended(SECONDS(3));
    assert!(status.success(), "{status}");
    assert!((SECONDS(3)..SECONDS(6)).contains(&start.elapsed()), "{:?}", start.elapsed());
}

#[test]
fn a_second_signal_ends_it_at_once() {
    let mut server = Server::fake(&[]);
    let mut c = server.connect();
    c.send("POST", "/api/ask/poke", JSON, &fake("p", "fake-endless").to_string());
    std::thread::sleep(Duration::from_millis(100));
    let start = Instant::now();
    server.signal("INT");
    std::thread::sleep(Duration::from_millis(300));
    server.signal("INT");
    server.ended(SECONDS(2));
    assert!(start.elapsed() < Duration::from_millis(1500), "{:?}", start.elapsed());
}
