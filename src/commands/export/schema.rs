//! `export schema`: the JSON Schema (draft 2020-12) of what `export json` writes, made from the register's list of columns.

use serde_json::{Map, Value, json};

use super::json::{FORMAT, WHAT};
use crate::register::columns::{Kind, TABLES, Table};
use crate::register::tables::{Field, LEVEL, fields};

/// The pattern of a day.
const DAY: &str = "^[0-9]{4}-[0-9]{2}-[0-9]{2}$";

/// The schema, as text.
#[must_use]
pub fn schema() -> String {
    let names: Vec<&str> = TABLES.iter().map(|table| table.name).collect();
    let tables: Map<String, Value> = TABLES.iter().map(|table| (table.name.to_owned(), rows(table))).collect();
    let schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A brimstock register, exported as JSON",
        "description": "Everything on file, with all of its history. Null is something that nobody said.",
        "type": "object",
        "additionalProperties": false,
        "required": ["format", "what", "level", "on", "tables"],
        "properties": {
            "format": { "const": FORMAT, "description": "The number of this form." },
            "what": { "const": WHAT, "description": "What it is." },
            "level": { "const": LEVEL, "description": "Level of the register's schema." },
            "on": { "type": "string", "format": "date", "pattern": DAY, "description": "The day that was asked for." },
            "tables": {
                "description": "The tables, each a list of rows in the order of entry.",
                "type": "object",
                "additionalProperties": false,
                "required": names,
                "properties": tables,
            },
        },
    });
    let mut text = serde_json::to_string_pretty(&schema).unwrap_or_default();
    text.push('\n');
    text
}

fn rows(table: &Table) -> Value {
    let fields = fields(table);
    let names: Vec<&str> = fields.iter().map(|field| field.name).collect();
    let properties: Map<String, Value> = fields.iter().map(|field| (field.name.to_owned(), value(field))).collect();
    json!({
        "description": table.about,
        "type": "array",
        "items": {
            "type": "object",
            "additionalProperties": false,
            "required": names,
            "properties": properties,
        },
    })
}

/// What one field may hold.
fn value(field: &Field) -> Value {
    let (kind, rule) = rule(field.kind);
    let mut schema = Map::new();
    schema.insert("description".to_owned(), json!(field.about));
    schema.insert("type".to_owned(), if field.may_be_empty { json!([kind, "null"]) } else { json!(kind) });
    if let Value::Object(rule) = rule {
        schema.extend(rule);
    }
    // A list of words speaks of every value, so that nothing is one of them.
    if field.may_be_empty
        && let Some(Value::Array(words)) = schema.get_mut("enum")
    {
        words.push(Value::Null);
    }
    Value::Object(schema)
}

fn rule(kind: Kind) -> (&'static str, Value) {
    match kind {
        Kind::Row | Kind::Of { .. } => ("integer", json!({ "minimum": 1 })),
        Kind::Whole(low, i64::MAX) => ("integer", json!({ "minimum": low })),
        Kind::Whole(low, high) => ("integer", json!({ "minimum": low, "maximum": high })),
        Kind::Real { low, from, high } => {
            let mut rule = Map::new();
            rule.insert((if from { "minimum" } else { "exclusiveMinimum" }).to_owned(), json!(low));
            if high.is_finite() {
                rule.insert("maximum".to_owned(), json!(high));
            }
            ("number", Value::Object(rule))
        }
        Kind::Text(least, 0) => ("string", json!({ "minLength": least })),
        Kind::Text(least, most) => ("string", json!({ "minLength": least, "maxLength": most })),
        Kind::Words(words) => ("string", json!({ "enum": words })),
        Kind::Day => ("string", json!({ "format": "date", "pattern": DAY })),
        Kind::DayOrUnknown => ("string", json!({ "pattern": "^(unknown|[0-9]{4}-[0-9]{2}-[0-9]{2})$" })),
        Kind::Moment => (
            "string",
            json!({ "format": "date-time", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z$" }),
        ),
        Kind::YesNo => ("boolean", json!({})),
        Kind::Digest => ("string", json!({ "pattern": "^[0-9a-f]{64}$" })),
        Kind::Numbers => ("array", json!({ "items": { "type": "number" } })),
        Kind::List => ("array", json!({ "items": { "type": "string" } })),
        Kind::Object => ("object", json!({})),
        Kind::Objects => ("array", json!({ "items": { "type": "object" } })),
    }
}
