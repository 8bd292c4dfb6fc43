//! Who is answered, and how long one may take to ask.

use std::io::Write;
use std::net::TcpListener;
use std::time::{Duration, Instant};

use crate::common::{Folder, Ran};
use crate::server::{Server, body};

const JSON: &str = "content-type: application/json\r\n";

#[test]
fn the_page_comes_with_its_policy() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    let page = c.get("/");
    assert_eq!(page.status, 200);
    assert!(page.header("content-type").unwrap().starts_with("text/html"));
    let policy = page.header("content-security-policy").unwrap();
    for part in [
        "default-src 'none'",
        "script-src 'self'",
        "frame-ancestors 'none'",
        "form-action 'none'",
        "base-uri 'none'",
    ] {
        assert!(policy.split("; ").any(|p| p == part), "{policy}");
    }
    assert_eq!(page.header("x-content-type-options"), Some("nosniff"));
    assert_eq!(page.header("referrer-policy"), Some("no-referrer"));
    // Refusals carry it too.
    let nothing = c.get("/nothing");
    assert_eq!((nothing.status, nothing.kind().as_str()), (404, "question"));
    assert_eq!(nothing.header("content-security-policy"), Some(policy));
    assert_eq!(server.said(), "");
}

#[test]
fn about_lists_what_there_is() {
    let server = Server::start(&["--limit", "77"]);
    let about = server.connect().get("/api/about").json();
    assert_eq!(about["program"], "calotte");
    assert_eq!(
        about["limits"],
        serde_json::json!({"body_bytes": 2 << 20, "quick_seconds": 5.0, "long_seconds": 77.0})
    );
    assert!(about["folder"].is_null());
    let cases = about["cases"].as_array().unwrap();
    let folders = std::fs::read_dir(crate::common::root().join("cases")).unwrap().flatten();
    assert_eq!(cases.len(), folders.filter(|f| f.path().join("case.toml").exists()).count());
    let jumping = cases.iter().find(|c| c["name"] == "jumping-cap").unwrap();
    assert_eq!(jumping["title"], "Jumping cap (invented numbers)");
    assert!(jumping["says"].as_str().unwrap().starts_with("Invented: a rubber cap"));
    let shape = about["tables"].as_array().unwrap().iter().find(|t| t["name"] == "shape").unwrap();
    assert!(
        shape["keys"].as_array().unwrap().iter().any(|k| k["name"] == "radius" && k["dimension"] == "length")
    );
    assert!(about["shelf"].as_array().unwrap().iter().any(|m| m["name"] == "spring-steel"));
    assert_eq!(about["templates"][0], "cap");
}

#[test]
fn cases_come_with_the_files_they_name() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    let case = c.get("/api/cases/measured-cap").json();
    assert_eq!(case["text"], crate::common::text("cases/measured-cap/case.toml"));
    assert_eq!(case["files"]["profile.csv"], crate::common::text("cases/measured-cap/profile.csv"));
    assert!(c.get("/api/cases/new-cap").json()["text"].as_str().unwrap().contains("[shape]"));
    for name in [
        "nothing",
        "new-nothing",
        "..%2Fcases%2Fmeasured-cap",
        "..%2F..%2FCargo.toml",
        "%2e%2e",
        "measured-cap%2Fcase.toml",
        "a%00b",
    ] {
        assert_eq!(c.get(&format!("/api/cases/{name}")).status, 404, "{name}");
    }
    for path in
        ["/assets/..%2Findex.html", "/assets/%2e%2e/index.html", "/../Cargo.toml", "/assets//etc/passwd"]
    {
        assert_eq!(c.get(path).status, 404, "{path}");
    }
}

#[test]
fn other_names_and_other_sites_are_refused() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    let mut status = |method: &str, more: &str| {
        let path = if method == "GET" { "/api/about" } else { "/api/ask/look" };
        let text = if method == "GET" { String::new() } else { body("").to_string() };
        c.send(method, path, more, &text);
        c.answer().status
    };
    assert_eq!(status("GET", "host: localhost:1\r\n"), 200);
    assert_eq!(status("GET", "host: example.org\r\n"), 403);
    assert_eq!(status("GET", "host: 127.0.0.1.example.org\r\n"), 403);
    assert_eq!(status("GET", "host: localhost\r\nhost: example.org\r\n"), 403);
    assert_eq!(status("GET", "origin: http://example.org\r\n"), 403);
    let own = format!("origin: http://{}\r\n", server.at);
    assert_eq!(status("POST", &format!("{JSON}{own}")), 200);
    assert_eq!(status("POST", &format!("{JSON}origin: http://example.org\r\n")), 403);
    assert_eq!(status("POST", &format!("{JSON}origin: null\r\n")), 403);
    assert_eq!(status("POST", &format!("{JSON}origin: http://localhost:1\r\n")), 403);
    assert_eq!(status("POST", &format!("{JSON}sec-fetch-site: cross-site\r\n")), 403);
    // What a form or a script of another site can send without asking.
    assert_eq!(status("POST", "content-type: text/plain\r\n"), 415);
    assert_eq!(status("POST", ""), 415);
    assert_eq!(status("POST", JSON), 200);
}

#[test]
fn requests_without_a_host_are_refused() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    c.write("GET /api/about HTTP/1.0\r\n\r\n");
    assert_eq!(c.answer().status, 403);
}

#[test]
fn bodies_are_bounded_and_checked() {
    let server = Server::start(&[]);
    let post = |more: &str, text: &str| {
        let mut c = server.connect();
        c.send("POST", "/api/ask/look", &format!("{JSON}{more}"), text);
        let answer = c.answer();
        (answer.status, answer.json()["refused"]["says"].as_str().unwrap_or_default().to_owned())
    };
    // Said to be too long: refused before any of it comes.
    let mut c = server.connect();
    c.write(&format!(
        "POST /api/ask/look HTTP/1.1\r\nhost: localhost\r\n{JSON}content-length: 2097153\r\n\r\n"
    ));
    assert_eq!(c.answer().status, 413);
    // Not said, but so.
    let mut c = server.connect();
    c.write(&format!(
        "POST /api/ask/look HTTP/1.1\r\nhost: localhost\r\n{JSON}transfer-encoding: chunked\r\n\r\n"
    ));
    let chunk = format!("10000\r\n{}\r\n", " ".repeat(0x10000));
    for _ in 0..40 {
        if c.stream.get_mut().write_all(chunk.as_bytes()).is_err() {
            break;
        }
    }
    assert_eq!(c.answer().status, 413);
    for text in
        ["{", "[]", "\"text\"", "{\"text\":1}", "{\"text\":\"\",\"more\":1}", "{\"text\":\"\",\"page\":7}"]
    {
        let (status, says) = post("", text);
        assert_eq!(status, 400, "{text}");
        assert!(says.starts_with("the body is not what is expected here"), "{says}");
    }
    let deep = format!("{{\"text\":\"\",\"options\":{}{}}}", "[".repeat(100_000), "]".repeat(100_000));
    assert_eq!(post("", &deep).0, 400);
    // The server is well.
    assert_eq!(server.connect().post("/api/ask/look", &body("")).status, 200);
    assert_eq!(server.connect().get("/api/ask/look").status, 405);
}

#[test]
fn slow_clients_are_let_go() {
    let server = Server::start(&["--patience", "700"]);
    let within = |start: Instant| (500..5_000).contains(&start.elapsed().as_millis());
    let start = Instant::now();
    // A head that never ends.
    let mut head = server.connect();
    head.write("GET / HTTP/1.1\r\nhost: loc");
    // A body that never comes.
    let mut slow = server.connect();
    slow.write(&format!(
        "POST /api/ask/look HTTP/1.1\r\nhost: localhost\r\n{JSON}content-length: 1000\r\n\r\n{{"
    ));
    // A connection that is kept but not used.
    let mut idle = server.connect();
    assert_eq!(idle.get("/api/about").status, 200);
    // One that never says a word.
    let mut mute = server.connect();
    assert_eq!(slow.answer().status, 408);
    assert!(head.closes() && within(start));
    assert!(idle.closes() && within(start));
    assert!(mute.closes() && within(start));
}

#[test]
fn a_head_may_be_only_so_long() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    let many: String = (0..100).map(|i| format!("x-{i}: 1\r\n")).collect();
    c.send("GET", "/", &many, "");
    assert_eq!(c.answer().status, 431);
    let mut c = server.connect();
    let long = format!("x: {}\r\n", "a".repeat(200_000));
    // The server may close before all of it is written.
    let text = format!("GET / HTTP/1.1\r\nhost: localhost\r\n{long}\r\n");
    let _ = c.stream.get_mut().write_all(text.as_bytes());
    assert!(c.line().is_none_or(|l| l.contains("431")));
}

#[test]
fn a_token_opens_the_door() {
    let token = "a-token-for-this-test";
    let server = Server::start(&["--token", token]);
    assert!(server.url.ends_with(&format!("/?token={token}")), "{}", server.url);
    let status = |path: &str, more: &str| {
        let mut c = server.connect();
        c.send("GET", path, more, "");
        c.answer().status
    };
    assert_eq!(status("/", ""), 401);
    assert_eq!(status("/api/about", ""), 401);
    assert_eq!(status("/?token=", ""), 401);
    assert_eq!(status("/?token=a-token-for-this-tesT", ""), 401);
    assert_eq!(status("/?token=a-token-for-this-test-", ""), 401);
    assert_eq!(status("/api/about", "cookie: calotte_token=wrong\r\n"), 401);
    assert_eq!(status("/api/about", "authorization: Bearer wrong\r\n"), 401);
    assert_eq!(status(&format!("/api/about?token={token}"), ""), 200);
    assert_eq!(status("/api/about", &format!("authorization: Bearer {token}\r\n")), 200);
    let enter = server.connect().get(&format!("/?token={token}"));
    assert_eq!((enter.status, enter.header("location")), (303, Some("/")));
    let cookie = enter.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let kept = cookie.split(';').next().unwrap();
    assert_eq!(status("/", &format!("cookie: other=1; {kept}\r\n")), 200);
    // The way on leads to no other machine.
    let away = server.connect().get(&format!("//example.org/?token={token}"));
    assert_eq!(away.header("location"), Some("/example.org/"));
    // A token does not stand in for the name.
    assert_eq!(status(&format!("/?token={token}"), "host: example.org\r\n"), 403);
}

#[test]
fn other_machines_are_let_in_on_purpose_alone() {
    let folder = Folder::new();
    let ran = |arguments: &[&str]| Ran::of(&folder.0, &[&["serve"], arguments].concat());
    let refused = ran(&["--address", "0.0.0.0", "--port", "0"]);
    assert_eq!((refused.code, refused.out.as_str()), (2, ""));
    assert!(refused.err.contains("--allow-others"), "{}", refused.err);
    assert_eq!(ran(&["--token", "short"]).code, 2);
    assert_eq!(ran(&["--token", "with spaces in it"]).code, 2);
    assert_eq!(ran(&["--limit", "0"]).code, 2);
    assert_eq!(ran(&["--address", "example.org"]).code, 2);

    let server = Server::start(&["--address", "0.0.0.0", "--allow-others"]);
    let token = server.url.split("?token=").nth(1).unwrap();
    assert!(token.len() == 32 && token.chars().all(|c| c.is_ascii_hexdigit()), "{token}");
    assert_eq!(server.connect().get("/api/about").status, 401);
    assert_eq!(server.connect().get(&format!("/api/about?token={token}")).status, 200);
    let another = Server::start(&["--address", "0.0.0.0", "--allow-others"]);
    assert_ne!(another.url.split("?token=").nth(1), Some(token));
}

#[test]
fn a_taken_port_is_said() {
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let folder = Folder::new();
    let ran = Ran::of(&folder.0, &["serve", "--port", &port]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains(&port) && ran.err.contains("--port"), "{}", ran.err);
    // Whether this test takes the usual port or somebody has it: it is taken.
    let usual = TcpListener::bind("127.0.0.1:8722");
    let server = Server::start_in(Folder::new(), &[]);
    assert_ne!(server.at.port(), 8722);
    crate::server::wait_until(Duration::from_secs(5), "it says so", || server.said().contains("8722"));
    drop(usual);
}

#[test]
fn bodies_on_their_way_are_bounded_together() {
    let server = Server::start(&["--patience", "600000"]);
    let whole = 2 << 20;
    let head = format!(
        "POST /api/ask/look HTTP/1.1\r\nhost: {}\r\n{JSON}content-length: {whole}\r\n\r\n",
        server.at
    );
    // As many as there is room for, each short of its last byte.
    let mut coming: Vec<_> = (0..32).map(|_| server.connect()).collect();
    for c in &mut coming {
        c.write(&head);
        c.write(&"x".repeat(whole - 1));
    }
    let mut c = server.connect();
    // Where the machine is busy with other work, 64 MB take a while to arrive.
    let start = Instant::now();
    let answer = loop {
        let answer = c.post("/api/ask/look", &body("p"));
        if answer.status == 503 || start.elapsed() > Duration::from_secs(300) {
            break answer;
        }
    };
    assert_eq!((answer.status, answer.kind().as_str()), (503, "busy"));
    assert_eq!(answer.header("retry-after"), Some("1"));
    // Who goes makes room.
    drop(coming);
    let start = Instant::now();
    loop {
        let answer = server.connect().post("/api/ask/look", &body("p"));
        if answer.status == 200 {
            break;
        }
        assert!(start.elapsed() < Duration::from_secs(300), "{answer:?}");
    }
}
