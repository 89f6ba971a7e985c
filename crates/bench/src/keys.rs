//! The table of a job's keys, as the page gets it to build its fields from.

use serde_json::{Value, json};
use stripwright_plan::keys::{JOB, Key, Kind, Need, Shape};

/// The whole table: the same that jobs are read by, so the fields and the reader cannot disagree.
pub(crate) fn table() -> Value {
    shape(&JOB)
}

fn shape(shape: &Shape) -> Value {
    let keys: Vec<Value> = shape.keys.iter().map(key).collect();
    json!({ "name": shape.name, "about": shape.about, "keys": keys })
}

fn key(key: &Key) -> Value {
    let (need, default) = match key.need {
        Need::Must => ("must", None),
        Need::May => ("may", None),
        Need::Else(value) => ("else", Some(value)),
    };
    json!({ "name": key.name, "about": key.about, "need": need, "default": default, "kind": kind(&key.kind) })
}

fn kind(kind: &Kind) -> Value {
    match kind {
        Kind::Length => json!({ "is": "length" }),
        Kind::LengthOrZero => json!({ "is": "length_or_zero" }),
        Kind::Money => json!({ "is": "money" }),
        Kind::Number(low, high) => json!({ "is": "number", "low": low, "high": high }),
        Kind::Count(low, high) => json!({ "is": "count", "low": low, "high": high }),
        Kind::Text => json!({ "is": "text" }),
        Kind::Flag => json!({ "is": "flag" }),
        Kind::Word(words) => json!({ "is": "word", "words": words }),
        Kind::Shape(inner) => json!({ "is": "shape", "shape": shape(inner) }),
        Kind::Kinds(_, inner) => {
            json!({ "is": "kinds", "kinds": inner.iter().map(|one| shape(one)).collect::<Vec<_>>() })
        }
        Kind::List(inner, most) => json!({ "is": "list", "of": self::kind(inner), "most": most }),
        Kind::Point => json!({ "is": "list", "of": { "is": "length" }, "most": 2 }),
        Kind::LengthOr(inner) => json!({ "is": "length_or", "shape": shape(inner) }),
    }
}
