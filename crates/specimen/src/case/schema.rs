//! JSON schema of the case file, for editors. It follows from the table of keys.

use calotte_quantity::{Dimension, units};
use serde_json::{Map, Value, json};

use super::keys::{KEYS, Key, TABLES, Takes};

/// The schema as text, ending in a line break.
pub fn json_schema() -> String {
    let mut properties = Map::new();
    for key in KEYS.iter().filter(|k| k.table.is_empty()) {
        properties.insert(key.name.to_owned(), property(key));
    }
    for (table, says, _) in TABLES {
        properties.insert(table.to_owned(), table_schema(table, says));
    }
    let required: Vec<&str> = TABLES.iter().filter(|t| t.2 && t.0 != "wall").map(|t| t.0).collect();
    let schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "calotte case file",
        "description": "A part that snaps: shape, wall, material, rim and, if wanted, how it is poked, how its material relaxes, how it is held and let go, what is wished of it. Numbers are texts with a unit and, if wanted, a tolerance.",
        "type": "object",
        "additionalProperties": false,
        "required": required,
        // Layers of given thickness are a wall.
        "anyOf": [{ "required": ["wall"] }, { "required": ["layers"] }],
        "properties": properties,
    });
    format!("{schema:#}\n")
}

fn table_schema(table: &str, says: &str) -> Value {
    let keys: Vec<&Key> = KEYS.iter().filter(|k| k.table == table).collect();
    let properties: Map<String, Value> = keys.iter().map(|k| (k.name.to_owned(), property(k))).collect();
    let kinds = keys.iter().any(|k| k.name == "kind");
    let required: Vec<&str> = if kinds { vec!["kind"] } else { vec![] };
    json!({
        "description": says,
        "type": "object",
        "additionalProperties": false,
        "required": required,
        "properties": properties,
    })
}

fn property(key: &Key) -> Value {
    let mut out = match key.takes {
        Takes::Text => json!({ "type": "string", "minLength": 1 }),
        Takes::Texts => {
            let text = json!({ "type": "string", "minLength": 1 });
            json!({ "anyOf": [text, { "type": "array", "items": text }] })
        }
        Takes::Flag => json!({ "type": "boolean" }),
        Takes::Choice(all) => json!({ "enum": all }),
        Takes::Number(d) => number(d),
        Takes::List(d) => json!({ "type": "array", "items": number(d) }),
        Takes::Numbers(d) if key.name == "arc" => json!({ "type": "array", "items": number(d) }),
        Takes::Numbers(d) => json!({ "anyOf": [number(d), { "type": "array", "items": number(d) }] }),
    };
    let mut says = key.says.to_owned();
    if let Some(d) = key.takes.measures() {
        says.push_str(&format!(" Must be {}.", key.range.words()));
        let known: Vec<&str> = units(d).map(|u| u.symbol).filter(|s| !s.is_empty()).collect();
        says.push_str(&format!(" Units: {}.", known.join(", ")));
    }
    if !key.kinds.is_empty() {
        says.push_str(&format!(" Only with {}.", key.kind_words()));
    }
    if let Some(map) = out.as_object_mut() {
        map.insert("description".to_owned(), json!(says));
        if matches!(key.takes, Takes::Text | Takes::Number(_)) {
            map.insert("examples".to_owned(), json!([key.example]));
        }
    }
    out
}

/// A text that starts with a number; a pure number may also stand bare.
fn number(d: Dimension) -> Value {
    let text = json!({ "type": "string", "pattern": "^\\s*\\(?\\s*[-−+]?[0-9.]" });
    match d {
        Dimension::Number => json!({ "anyOf": [{ "type": "number" }, text] }),
        _ => text,
    }
}
