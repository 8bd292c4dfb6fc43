//! The page's types of what the desk adds to the reports, generated; a stale file fails.

use std::path::Path;

use ts_rs::{Config, TS};

use crate::heat::HeatWhole;
use crate::look::{Look, LookAsk, LookInput};
use crate::release::ReleaseWhole;
use crate::{Block, Sheet};

fn file<T: TS + 'static>() -> (String, String) {
    let config = Config::new().with_large_int("number");
    let text = T::export_to_string(&config).unwrap();
    let text = text.lines().map(|l| format!("{}\n", l.trim_end())).collect();
    (format!("{}.ts", T::ident(&config)), text)
}

/// `UPDATE_API=1` writes the files anew.
#[test]
fn typescript_is_fresh() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../ui/src/api");
    let index = std::fs::read_to_string(folder.join("index.ts")).unwrap();
    let all = [
        file::<Sheet>(),
        file::<Block>(),
        file::<Look>(),
        file::<LookInput>(),
        file::<LookAsk>(),
        file::<ReleaseWhole>(),
        file::<HeatWhole>(),
    ];
    for (name, text) in all {
        if std::env::var_os("UPDATE_API").is_some() {
            std::fs::write(folder.join(&name), &text).unwrap();
        }
        let kept = std::fs::read_to_string(folder.join(&name)).unwrap_or_default();
        assert!(kept == text, "{name} is stale: run the tests with UPDATE_API=1");
        let stem = name.trim_end_matches(".ts");
        assert!(
            index.contains(&format!("{{ {stem} }}")),
            "{stem} is not in index.ts: the test of `answers` writes it"
        );
    }
}
