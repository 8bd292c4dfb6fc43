//! What the page shows is what the terminal says, case by case, question by question.

use std::collections::BTreeMap;
use std::fs;

use calotte_desk::{NoWatch, Want};
use calotte_specimen::read_case;
use serde_json::{Value, json};

use crate::common::{CASES, Folder, HEATS, POKES, RELEASES, Ran, STATES, root, text};
use crate::server::Server;

/// Files beside a case.
fn files(name: &str) -> BTreeMap<String, String> {
    let folder = root().join("cases").join(name);
    let names = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
    names.filter(|n| n.ends_with(".csv")).map(|n| (n.clone(), text(&format!("cases/{name}/{n}")))).collect()
}

/// A question as the terminal and the page ask it.
struct Asked<'a> {
    name: &'a str,
    question: &'a str,
    /// The terminal's word for it, and what stands behind the case.
    command: &'a str,
    arguments: &'a [&'a str],
    /// The same for the page.
    options: Value,
}

impl Asked<'_> {
    fn path(&self) -> String {
        format!("cases/{}/case.toml", self.name)
    }

    fn terminal(&self, more: &[&str]) -> Ran {
        Ran::of(&root(), &[&[self.command, &self.path()], self.arguments, more].concat())
    }

    fn page(&self, server: &Server, options: &Value, want: &Value) -> Value {
        let ask = json!({
            "text": text(&self.path()), "files": files(self.name), "options": options, "want": want, "page": self.name,
        });
        let last = server.connect().post(&format!("/api/ask/{}", self.question), &ask).last();
        assert_eq!(last["answer"]["question"], self.question, "{}: {last}", self.name);
        last["answer"].clone()
    }

    /// Compares the page's answer with the terminal's words and JSON.
    fn compare(&self, server: &Server) {
        let Self { name, question, .. } = self;
        let answer = self.page(server, &self.options, &json!({}));
        let words = self.terminal(&[]);
        let files = files(name);
        let (case, _) = read_case(text(&self.path()).as_bytes(), &|n| {
            Ok(files.get(n).ok_or(std::io::ErrorKind::NotFound)?.clone().into_bytes())
        });
        let reply =
            calotte_desk::ask(&case.unwrap(), question, &self.options, Want::default(), &NoWatch).unwrap();
        assert_eq!(answer["sheet"], serde_json::to_value(&reply.sheet).unwrap(), "{name} {question}");
        assert_eq!(reply.sheet.text().trim_end(), words.out.trim_end(), "{name} {question}");
        assert_eq!(answer["doubtful"], words.code == 1, "{name} {question}");

        // `--json` of a verdict also follows the branch; the page asks for that by an option.
        let options = if *question == "verdict" { json!({"branch": true}) } else { self.options.clone() };
        let report = self.page(server, &options, &json!({}))["report"].clone();
        let printed: Value = serde_json::from_str(&self.terminal(&["--json"]).out).unwrap();
        assert!(report == printed, "{name} {question}:\n{report}\n{printed}");
    }

    /// Compares tables and figures with what `--out` writes: names, and every byte of the text.
    fn compare_written(&self, server: &Server) {
        let Self { name, question, .. } = self;
        let folder = Folder::new();
        let ran = self.terminal(&["--out", folder.0.to_str().unwrap()]);
        assert!(ran.code < 2, "{name} {question}: {}", ran.err);
        let answer = self.page(server, &self.options, &json!({"figures": true, "tables": true}));
        let mut given: BTreeMap<String, String> = BTreeMap::new();
        for (list, content, end) in [("tables", "csv", "csv"), ("figures", "svg", "svg")] {
            for one in answer[list].as_array().unwrap() {
                let text = |key: &str| one[key].as_str().unwrap().to_owned();
                given.insert(format!("{}.{end}", text("name")), text(content));
            }
        }
        // The numbers behind a figure are in its picture and in the tables; the page does not give them as files of their own.
        let text_files = folder
            .names()
            .into_iter()
            .filter(|n| n.ends_with(".svg") || n.ends_with(".csv") && !n.ends_with(".figure.csv"));
        let written: BTreeMap<String, String> = text_files
            .map(|n| {
                let content = fs::read_to_string(folder.0.join(&n)).unwrap();
                (n, content)
            })
            .collect();
        assert!(written.keys().any(|n| n.ends_with(".svg")), "{name} {question}: {:?}", written.keys());
        assert!(
            given.keys().eq(written.keys()),
            "{name} {question}: {:?} {:?}",
            given.keys(),
            written.keys()
        );
        for (file, content) in &written {
            assert!(given[file] == *content, "{name} {question}: {file} differs");
        }
        // Every figure is drawn for who has no use for SVG too.
        let pngs = folder.names().iter().filter(|n| n.ends_with(".png")).count();
        assert_eq!(
            answer["figures"].as_array().unwrap().iter().filter(|f| f["png"] != "").count(),
            pngs,
            "{name} {question}"
        );
    }
}

/// A question without options.
fn plain<'a>(name: &'a str, question: &'a str, command: &'a str) -> Asked<'a> {
    Asked { name, question, command, arguments: &[], options: json!({}) }
}

/// Maps with few curves, modes of both shapes, a batch and sizes.
fn wide() -> [Asked<'static>; 6] {
    [
        Asked {
            name: "silicone-cap-stays",
            question: "map",
            command: "map",
            arguments: &["--x", "depth=45deg..60deg", "--y", "wall.thickness=1.5mm..3mm"],
            options: json!({"x": "depth=45deg..60deg", "y": "wall.thickness=1.5mm..3mm"}),
        },
        Asked {
            name: "metal-dome",
            question: "map",
            command: "map",
            arguments: &["--x", "depth", "--y", "wall.thickness", "--margin", "0.9"],
            options: json!({"x": "depth", "y": "wall.thickness", "margin": [0.9]}),
        },
        Asked {
            name: "silicone-cap-stays",
            question: "modes",
            command: "modes",
            arguments: &["--inverted", "--lowest", "3"],
            options: json!({"inverted": true, "lowest": 3}),
        },
        plain("steel-cap-on-ring", "modes", "modes"),
        Asked {
            name: "silicone-cap-stays",
            question: "spread",
            command: "spread",
            arguments: &["--count", "2000", "--seed", "3", "--window", "margin=0.03.."],
            options: json!({"count": 2000, "seed": 3, "window": ["margin=0.03.."]}),
        },
        Asked {
            name: "silicone-cap-stays",
            question: "size",
            command: "size",
            arguments: &["--wish", "margin >= 10 %", "--vary", "wall.thickness=1mm..4mm"],
            options: json!({"wish": ["margin >= 10 %"], "vary": ["wall.thickness=1mm..4mm"]}),
        },
    ]
}

#[test]
fn verdicts() {
    let server = Server::start(&[]);
    for (name, _) in CASES {
        plain(name, "verdict", "verdict").compare(&server);
    }
}

#[test]
fn states_pokes_and_heats() {
    let server = Server::start(&[]);
    for (name, _) in STATES {
        plain(name, "states", "verdict").compare(&server);
    }
    for (name, _) in POKES {
        plain(name, "poke", "poke").compare(&server);
    }
    for (name, _) in HEATS {
        plain(name, "heat", "heat").compare(&server);
    }
}

#[test]
fn releases() {
    let server = Server::start(&[]);
    for (name, _) in RELEASES {
        plain(name, "release", "release").compare(&server);
    }
}

#[test]
fn maps_modes_batches_and_sizes() {
    let server = Server::start(&[]);
    wide().iter().for_each(|w| w.compare(&server));
}

#[test]
fn tables_and_figures_are_those_that_are_written() {
    let server = Server::start(&[]);
    for (name, question, command) in [
        ("silicone-cap-stays", "verdict", "verdict"),
        ("camp-bowl", "states", "verdict"),
        ("metal-dome", "poke", "poke"),
        ("pet-lid-clicks", "release", "release"),
        ("propagator-cutout", "heat", "heat"),
    ] {
        plain(name, question, command).compare_written(&server);
    }
    wide().iter().for_each(|w| w.compare_written(&server));
}
