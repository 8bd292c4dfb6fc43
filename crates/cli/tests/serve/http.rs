//! As much of a browser as these tests need: one connection, requests one after another.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::time::Duration;

use serde_json::Value;

/// A connection.
pub(crate) struct Connection {
    pub(crate) stream: BufReader<TcpStream>,
    at: SocketAddr,
    /// Headers of every request.
    pub(crate) always: String,
}

/// An answer, its body complete.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Answer {
    /// The value of a header.
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let mut lines = self.head.lines().filter_map(|l| l.split_once(": "));
        lines.find(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, v)| v)
    }
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }
    /// Lines of a stream.
    pub(crate) fn lines(&self) -> Vec<Value> {
        self.body
            .lines()
            .map(|l| serde_json::from_str(l).unwrap_or_else(|e| panic!("{e}: {self:?}")))
            .collect()
    }
    /// The last line of a stream.
    pub(crate) fn last(&self) -> Value {
        self.lines().pop().unwrap_or_else(|| panic!("no line: {self:?}"))
    }
    pub(crate) fn kind(&self) -> String {
        self.last()["refused"]["kind"].as_str().unwrap_or_else(|| panic!("{self:?}")).to_owned()
    }
}

impl Connection {
    pub(crate) fn to(at: SocketAddr) -> Self {
        let stream = TcpStream::connect(at).unwrap();
        stream.set_nodelay(true).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(200))).unwrap();
        Self { stream: BufReader::new(stream), at, always: String::new() }
    }

    pub(crate) fn write(&mut self, text: &str) {
        self.stream.get_mut().write_all(text.as_bytes()).unwrap();
    }

    /// Sends a request; `more` are lines of headers, each with its end.
    pub(crate) fn send(&mut self, method: &str, path: &str, more: &str, body: &str) {
        let host = if more.to_lowercase().contains("host:") {
            String::new()
        } else {
            format!("host: {}\r\n", self.at)
        };
        let length =
            if body.is_empty() { String::new() } else { format!("content-length: {}\r\n", body.len()) };
        let head = format!("{method} {path} HTTP/1.1\r\n{host}{}{more}{length}\r\n", self.always);
        self.write(&(head + body));
    }

    pub(crate) fn get(&mut self, path: &str) -> Answer {
        self.send("GET", path, "", "");
        self.answer()
    }

    pub(crate) fn post(&mut self, path: &str, body: &Value) -> Answer {
        self.send("POST", path, "content-type: application/json\r\n", &body.to_string());
        self.answer()
    }

    pub(crate) fn put(&mut self, path: &str, body: &Value) -> Answer {
        self.send("PUT", path, "content-type: application/json\r\n", &body.to_string());
        self.answer()
    }

    /// A line without its end; `None` at the end of the connection.
    pub(crate) fn line(&mut self) -> Option<String> {
        let mut line = String::new();
        let n = self.stream.read_line(&mut line).unwrap();
        (n > 0).then(|| line.trim_end_matches(['\r', '\n']).to_owned())
    }

    /// Reads a status line and headers.
    pub(crate) fn head(&mut self) -> (u16, String) {
        let first = self.line().expect("an answer");
        let status = first.split(' ').nth(1).and_then(|s| s.parse().ok()).expect("a status");
        let mut head = String::new();
        while let Some(line) = self.line().filter(|l| !l.is_empty()) {
            head += &line;
            head.push('\n');
        }
        (status, head)
    }

    /// A chunk of a chunked body; `None` for the last.
    pub(crate) fn chunk(&mut self) -> Option<String> {
        let size = usize::from_str_radix(self.line().expect("a chunk").trim(), 16).expect("its size");
        let mut bytes = vec![0; size + 2];
        self.stream.read_exact(&mut bytes).unwrap();
        bytes.truncate(size);
        (size > 0).then(|| String::from_utf8(bytes).unwrap())
    }

    pub(crate) fn answer(&mut self) -> Answer {
        let (status, head) = self.head();
        let mut answer = Answer { status, head, body: String::new() };
        if answer.header("transfer-encoding") == Some("chunked") {
            while let Some(chunk) = self.chunk() {
                answer.body += &chunk;
            }
        } else if let Some(n) = answer.header("content-length").and_then(|n| n.parse().ok()) {
            let mut bytes = vec![0; n];
            self.stream.read_exact(&mut bytes).unwrap();
            answer.body = String::from_utf8(bytes).unwrap();
        }
        answer
    }

    /// Whether the server has closed the connection, after whatever it still says.
    pub(crate) fn closes(&mut self) -> bool {
        let mut rest = Vec::new();
        self.stream.read_to_end(&mut rest).is_ok()
    }
}
