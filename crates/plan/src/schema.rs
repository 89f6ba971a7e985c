//! The job's tables as a JSON Schema (draft 2020-12), for editors that complete and check job files.

use serde_json::{Map, Value, json};

use crate::keys::{JOB, Key, Kind, MOST_CHARS, Need, Shape};

/// What a job file may hold.
#[must_use]
pub fn schema() -> Value {
    let mut root = shape(&JOB, None);
    root.insert("$schema".into(), json!("https://json-schema.org/draft/2020-12/schema"));
    root.insert("title".into(), json!("job"));
    Value::Object(root)
}

fn shape(of: &Shape, word: Option<&str>) -> Map<String, Value> {
    let mut properties = Map::new();
    let mut required = Vec::new();
    if let Some(word) = word {
        properties.insert("kind".into(), json!({ "const": word }));
        required.push(json!("kind"));
    }
    for key in of.keys {
        properties.insert(key.name.into(), property(key));
        if matches!(key.need, Need::Must) {
            required.push(json!(key.name));
        }
    }
    let mut out = Map::new();
    out.insert("type".into(), json!("object"));
    out.insert("description".into(), json!(of.about));
    out.insert("properties".into(), Value::Object(properties));
    out.insert("required".into(), Value::Array(required));
    out.insert("additionalProperties".into(), json!(false));
    out
}

fn property(key: &Key) -> Value {
    let mut value = kind(&key.kind);
    if let Some(object) = value.as_object_mut() {
        let default = match key.need {
            Need::Else("{}") | Need::Must | Need::May => None,
            Need::Else(text) => Some(default(&key.kind, text)),
        };
        object.insert("description".into(), json!(key.about));
        if let Some(default) = default {
            object.insert("default".into(), default);
        }
    }
    value
}

/// Defaults are kept as the text a maker would write; numbers and flags are shown as such.
fn default(kind: &Kind, text: &str) -> Value {
    match kind {
        Kind::Number(..) | Kind::Count(..) | Kind::Flag => serde_json::from_str(text).unwrap_or(json!(text)),
        Kind::List(of, _) => text.split(", ").map(|entry| default(of, entry)).collect(),
        _ => json!(text),
    }
}

fn kind(of: &Kind) -> Value {
    match of {
        Kind::Length | Kind::LengthOrZero | Kind::Money => {
            json!({ "anyOf": [{ "type": "string" }, { "type": "number", "minimum": 0 }] })
        }
        Kind::Number(least, most) => json!({ "type": "number", "minimum": least, "maximum": most }),
        Kind::Count(least, most) => json!({ "type": "integer", "minimum": least, "maximum": most }),
        Kind::Text => json!({ "type": "string", "minLength": 1, "maxLength": MOST_CHARS }),
        Kind::Flag => json!({ "type": "boolean" }),
        Kind::Word(words) => json!({ "enum": words }),
        Kind::Shape(of) => Value::Object(shape(of, None)),
        Kind::Kinds(_, shapes) => {
            let each: Vec<Value> = shapes.iter().map(|of| Value::Object(shape(of, Some(of.name)))).collect();
            json!({ "oneOf": each })
        }
        Kind::List(entry, most) => json!({ "type": "array", "items": kind(entry), "maxItems": most }),
        Kind::Point => {
            let length = json!({ "anyOf": [{ "type": "string" }, { "type": "number" }] });
            json!({ "type": "array", "items": length, "minItems": 2, "maxItems": 2 })
        }
        Kind::LengthOr(of) => {
            json!({ "anyOf": [kind(&Kind::LengthOrZero), Value::Object(shape(of, None))] })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holds_every_key_with_its_meaning() {
        let schema = schema();
        let top = &schema["properties"]["tops"]["items"];
        assert_eq!(top["properties"]["margin"]["default"], "6 mm");
        assert_eq!(top["required"], json!(["name", "finished", "outline", "pattern"]));
        assert_eq!(top["properties"]["pattern"]["oneOf"][0]["properties"]["kind"]["const"], "chevron");
        assert_eq!(schema["properties"]["cutting"]["properties"]["stages"]["default"], 3);
    }
}
