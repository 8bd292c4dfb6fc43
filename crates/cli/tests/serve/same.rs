//! What the page shows is what the terminal says, case by case, question by question.

use std::collections::BTreeMap;
use std::fs;

use calotte_desk::{NoWatch, Want};
use calotte_specimen::read_case;
use serde_json::{Value, json};

use crate::common::{CASES, HEATS, POKES, RELEASES, Ran, STATES, root, text};
use crate::server::Server;

/// Files beside a case.
fn files(name: &str) -> BTreeMap<String, String> {
    let folder = root().join("cases").join(name);
    let names = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
    names.filter(|n| n.ends_with(".csv")).map(|n| (n.clone(), text(&format!("cases/{name}/{n}")))).collect()
}

/// Compares the page's answer to a question with the terminal's words and JSON.
fn compare(server: &Server, name: &str, question: &str, command: &str) {
    let path = format!("cases/{name}/case.toml");
    let case_text = text(&path);
    let files = files(name);
    let ask = json!({"text": case_text, "files": files, "options": {}, "want": {}, "page": name});
    let answer = server.connect().post(&format!("/api/ask/{question}"), &ask).last();
    let answer = &answer["answer"];
    assert_eq!(answer["question"], question, "{name}: {answer}");

    let words = Ran::of(&root(), &[command, &path]);
    let (case, _) = read_case(case_text.as_bytes(), &|n| {
        Ok(files.get(n).ok_or(std::io::ErrorKind::NotFound)?.clone().into_bytes())
    });
    let reply = calotte_desk::ask(&case.unwrap(), question, &json!({}), Want::default(), &NoWatch).unwrap();
    assert_eq!(answer["sheet"], serde_json::to_value(&reply.sheet).unwrap(), "{name} {question}");
    assert_eq!(reply.sheet.text().trim_end(), words.out.trim_end(), "{name} {question}");
    assert_eq!(answer["doubtful"], words.code == 1, "{name} {question}");

    // `--json` of a verdict also follows the branch; the page asks for that by an option.
    let options = if question == "verdict" { json!({"branch": true}) } else { json!({}) };
    let ask = json!({"text": case_text, "files": files, "options": options, "page": name});
    let answer = server.connect().post(&format!("/api/ask/{question}"), &ask).last();
    let printed: Value = serde_json::from_str(&Ran::of(&root(), &[command, &path, "--json"]).out).unwrap();
    assert!(
        answer["answer"]["report"] == printed,
        "{name} {question}:\n{}\n{printed}",
        answer["answer"]["report"]
    );
}

#[test]
fn verdicts() {
    let server = Server::start(&[]);
    for (name, _) in CASES {
        compare(&server, name, "verdict", "verdict");
    }
}

#[test]
fn states_pokes_and_heats() {
    let server = Server::start(&[]);
    for (name, _) in STATES {
        compare(&server, name, "states", "verdict");
    }
    for (name, _) in POKES {
        compare(&server, name, "poke", "poke");
    }
    for (name, _) in HEATS {
        compare(&server, name, "heat", "heat");
    }
}

#[test]
fn releases() {
    let server = Server::start(&[]);
    for (name, _) in RELEASES {
        compare(&server, name, "release", "release");
    }
}
