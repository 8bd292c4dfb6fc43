//! `--folder`: cases are kept there and nowhere else.

use std::fs;
use std::os::unix::fs::symlink;

use serde_json::json;

use crate::common::{Folder, GOOD, Ran};
use crate::server::Server;

fn with_folder() -> (Server, Folder) {
    let folder = Folder::new();
    let server = Server::start(&["--folder", folder.0.to_str().unwrap()]);
    (server, folder)
}

#[test]
fn cases_are_kept_and_found_again() {
    let (server, folder) = with_folder();
    let mut c = server.connect();
    assert_eq!(c.get("/api/folder").json(), json!({"files": []}));
    let name = folder.0.file_name().unwrap().to_str().unwrap();
    assert_eq!(c.get("/api/about").json()["folder"], json!({"name": name}));
    let table = crate::common::text("cases/wall-table/wall.csv");
    let text = crate::common::text("cases/wall-table/case.toml");
    let kept = c.put("/api/folder/shade%201.toml", &json!({"text": text, "files": {"wall.csv": table}}));
    assert_eq!(kept.status, 200, "{kept:?}");
    assert_eq!(folder.names(), ["shade 1.toml", "wall.csv"]);
    let got = c.get("/api/folder/shade%201.toml").json();
    assert_eq!(got, json!({"name": "shade 1.toml", "text": text, "files": {"wall.csv": table}}));
    assert_eq!(c.put("/api/folder/shade%201.toml", &json!({"text": GOOD})).status, 200);
    assert_eq!(c.get("/api/folder/shade%201.toml").json()["text"], GOOD);
    assert_eq!(c.get("/api/folder").json(), json!({"files": ["shade 1.toml"]}));
}

#[test]
fn without_a_folder_nothing_is_kept() {
    let server = Server::start(&[]);
    let mut c = server.connect();
    assert_eq!(c.get("/api/folder").status, 404);
    assert_eq!(c.get("/api/folder/a.toml").status, 404);
    assert_eq!(c.put("/api/folder/a.toml", &json!({"text": GOOD})).status, 404);
    assert_eq!(server.folder.names(), [""; 0]);
    let folder = Folder::new();
    let ran = Ran::of(&folder.0, &["serve", "--port", "0", "--folder", "nothing-there"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("nothing-there"), "{}", ran.err);
}

#[test]
fn nothing_outside_is_read_or_written() {
    let outside = Folder::new();
    outside.write("secret.toml", GOOD).write("secret.csv", "1,2\n");
    let (server, folder) = with_folder();
    let mut c = server.connect();
    let way = format!("..%2F{}%2Fsecret.toml", outside.0.file_name().unwrap().to_str().unwrap());
    for name in [
        way.as_str(),
        "..",
        "%2e%2e",
        ".hidden.toml",
        "a%2Fb.toml",
        "a%5Cb.toml",
        "a%00.toml",
        "secret",
        "a.csv",
        "%2Fetc%2Fhosts.toml",
    ] {
        let path = format!("/api/folder/{name}");
        let (get, put) = (c.get(&path).status, c.put(&path, &json!({"text": GOOD})).status);
        assert!(matches!(get, 400 | 404) && matches!(put, 400 | 404), "{name}: {get} {put}");
    }
    for name in ["../x.csv", "/x.csv", ".x.csv", "x.toml", "x.sh", "a/b.csv"] {
        let put = c.put("/api/folder/a.toml", &json!({"text": GOOD, "files": {name: "1"}}));
        assert_eq!(put.status, 400, "{name}");
    }
    assert_eq!(folder.names(), [""; 0], "half of a refused case was written");

    // Links that lead out.
    symlink(outside.0.join("secret.toml"), folder.0.join("link.toml")).unwrap();
    symlink(&outside.0, folder.0.join("away.toml")).unwrap();
    symlink(outside.0.join("secret.csv"), folder.0.join("profile.csv")).unwrap();
    symlink(outside.0.join("new.toml"), folder.0.join("new.toml")).unwrap();
    assert_eq!(c.get("/api/folder").json(), json!({"files": []}));
    for name in ["link.toml", "away.toml"] {
        assert_eq!(c.get(&format!("/api/folder/{name}")).status, 403, "{name}");
    }
    for name in ["link.toml", "away.toml", "new.toml"] {
        assert_eq!(c.put(&format!("/api/folder/{name}"), &json!({"text": "x"})).status, 403, "{name}");
    }
    folder.write("measured.toml", crate::common::text("cases/measured-cap/case.toml"));
    assert_eq!(c.get("/api/folder/measured.toml").json()["files"], json!({}));
    assert_eq!(outside.names(), ["secret.csv", "secret.toml"]);
    assert_eq!(fs::read_to_string(outside.0.join("secret.toml")).unwrap(), GOOD);
}

#[test]
fn files_are_bounded() {
    let (server, folder) = with_folder();
    folder.write("big.toml", "#".repeat((2 << 20) + 1)).write("odd.toml", [0xff, 0xfe]);
    let mut c = server.connect();
    assert_eq!(c.get("/api/folder/big.toml").status, 413);
    assert_eq!(c.get("/api/folder/odd.toml").status, 422);
    assert_eq!(c.get("/api/folder/none.toml").status, 404);
}
