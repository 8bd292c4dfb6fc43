//! Times that `docs/page.md` tells, measured: `MEASURE=1 cargo test --release -p calotte --test serve figures:: -- --nocapture --test-threads 1`.
//!
//! Without `MEASURE` a few of each are asked, and only their answers count.

use std::thread;
use std::time::{Duration, Instant};

use crate::common::text;
use crate::server::{Server, body, wait_until};

/// How often a measurement asks, and a usual run.
fn steps(measured: usize, usual: usize) -> usize {
    if std::env::var_os("MEASURE").is_some() { measured } else { usual }
}

/// The case of the slider, its wall `i` of 400 steps from 1.2 to 3.2 mm.
fn slid(i: usize) -> String {
    let case = text("cases/silicone-cap-stays/case.toml");
    let wall = case.lines().find(|l| l.starts_with("thickness = ")).expect("a thickness");
    case.replace(wall, &format!("thickness = \"{:.3} ± 0.05 mm\"", 1.2 + 0.005 * i as f64))
}

fn shares(mut times: Vec<Duration>, what: &str) -> String {
    times.sort_unstable();
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    format!("{what}: p50 {:.1?}, p95 {:.1?}, slowest {:.1?}", at(0.5), at(0.95), at(1.0))
}

#[test]
fn the_way_of_a_slider() {
    let server = Server::start(&[]);
    wait_until(Duration::from_secs(5), "four workers", || server.workers().len() == 4);
    let mut c = server.connect();
    let (mut outside, mut inside) = (Vec::new(), Vec::new());
    let count = steps(400, 8);
    for i in 0..count {
        let mut ask = body("p");
        ask["text"] = slid(400 * i / count).into();
        ask["want"]["film"] = true.into();
        let start = Instant::now();
        let last = c.post("/api/ask/verdict", &ask).last();
        outside.push(start.elapsed());
        let answer = &last["answer"];
        assert!(answer["film"]["frames"].is_array(), "{i}: {last}");
        inside.push(Duration::from_secs_f64(answer["seconds"].as_f64().expect("a time")));
    }
    println!("{}", shares(outside, "verdicts with film, one after another, from asking to the last line"));
    println!("{}", shares(inside, "  of these in the worker"));
}

/// A page aborts what runs and asks for the next: one worker is killed, the other one free. With two, both must be started anew.
#[test]
fn after_an_abort() {
    let server = Server::start(&[]);
    wait_until(Duration::from_secs(5), "four workers", || server.workers().len() == 4);
    let mut times = [const { Vec::new() }; 3];
    let count = steps(100, 3);
    for i in 0..count {
        for (aborted, times) in times.iter_mut().enumerate() {
            let mut ask = body("p");
            let mut gone = Vec::new();
            for k in 0..=aborted {
                ask["text"] = format!("{}# {aborted} {k}\n", slid(400 * i / count)).into();
                if k < aborted {
                    let mut c = server.connect();
                    c.send(
                        "POST",
                        "/api/ask/verdict",
                        "content-type: application/json\r\n",
                        &ask.to_string(),
                    );
                    gone.push(c);
                }
            }
            // Less than a verdict takes: they are under way.
            thread::sleep(Duration::from_millis(3));
            drop(gone);
            let start = Instant::now();
            let last = server.connect().post("/api/ask/verdict", &ask).last();
            assert_eq!(last["answer"]["question"], "verdict", "{last}");
            times.push(start.elapsed());
        }
    }
    for (aborted, times) in times.into_iter().enumerate() {
        println!("{}", shares(times, &format!("a verdict after {aborted} of two workers lost theirs")));
    }
}
