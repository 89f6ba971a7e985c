//! Reads a job's JSON against the tables of [`crate::keys`], keeping every fault with its place.
//!
//! A value that cannot be read is a fault and reads as `None`; reading goes on, so that all faults come out at once.
//! A job with any fault is never built, so a `None` behind a fault does no harm.

use jsonc_parser::ast::{Object, Value};
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};
use stripwright_units::{Length, Money, System};

use crate::fault::{Fault, Place};
use crate::keys::{Key, Kind, MOST_BYTES, MOST_CHARS, Need, Shape};
use crate::plan::Assumed;
use crate::wording;

/// JSON as RFC 8259 has it: nothing looser.
const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// Parses text to a tree whose nodes know their place.
pub(crate) fn parse(text: &str) -> Result<Value<'_>, Fault> {
    if text.len() > MOST_BYTES {
        return Err(Fault::input(None, "", wording::too_many_bytes(text.len(), MOST_BYTES)));
    }
    // RFC 8259 has them escaped; blanks between values are the only ones that stand for themselves.
    if let Some((at, c)) = text.char_indices().find(|(_, c)| *c < ' ' && !matches!(c, '\t' | '\n' | '\r')) {
        return Err(Fault::input(Some(Lines::of(text).place(at)), "", wording::control_in_json(c)));
    }
    let parsed = parse_to_ast(text, &CollectOptions::default(), &STRICT).map_err(|error| {
        let place = Lines::of(text).place(error.range().start);
        Fault::input(Some(place), "", wording::not_json(&error.kind().to_string()))
    })?;
    parsed.value.ok_or_else(|| Fault::input(None, "", wording::empty_file()))
}

/// A job's text with another name for its file of offcuts; the same where it names none.
#[must_use]
pub fn with_offcuts(text: &str, name: &str) -> String {
    let named = parse(text).ok().and_then(|value| {
        let range = value.as_object()?.get("offcuts")?.value.range();
        Some((range.start, range.end))
    });
    let Some((start, end)) = named else { return text.to_string() };
    format!("{}{}{}", &text[..start], serde_json::Value::from(name), &text[end..])
}

/// Where the lines of a text begin.
struct Lines<'t> {
    text: &'t str,
    starts: Vec<usize>,
}

impl<'t> Lines<'t> {
    fn of(text: &'t str) -> Lines<'t> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Lines { text, starts }
    }

    fn place(&self, byte: usize) -> Place {
        let line = self.starts.partition_point(|&start| start <= byte) - 1;
        let before = self.text.get(self.starts[line]..byte).unwrap_or("");
        Place { line: line as u32 + 1, column: before.chars().count() as u32 + 1 }
    }
}

/// An object being read: its keys' table, its path from the root, its place, and what was written.
/// An object that was left out has no entries, and all its defaults hold.
pub(crate) struct Fields<'v> {
    shape: &'static Shape,
    path: String,
    pub(crate) place: Place,
    object: Option<&'v Object<'v>>,
}

impl<'v> Fields<'v> {
    /// Path of one of its keys.
    pub(crate) fn key(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_string() } else { format!("{}.{name}", self.path) }
    }

    /// The word its `kind` had, for one of several kinds of object.
    pub(crate) fn kind(&self) -> &'static str {
        self.shape.name
    }

    fn table(&self, name: &str) -> &'static Key {
        // A name that is not in the table is a slip in this crate, met by the first test that reads the object.
        self.shape.keys.iter().find(|key| key.name == name).unwrap_or_else(|| panic!("no key {name}"))
    }

    /// What was written for a key.
    pub(crate) fn written(&self, name: &str) -> Option<&'v Value<'v>> {
        self.object.and_then(|object| object.get(name)).map(|property| &property.value)
    }
}

/// Collects faults and assumptions while values are read.
pub(crate) struct Reader<'t> {
    lines: Lines<'t>,
    pub(crate) system: System,
    pub(crate) faults: Vec<Fault>,
    pub(crate) assumed: Vec<Assumed>,
    /// Some sheet could not be read, so that references to sheets cannot be judged.
    pub(crate) unsure: bool,
    /// Offcuts are still to be added to the sheets: a thickness that none of these has may be theirs.
    pub(crate) more_sheets: bool,
}

impl<'t> Reader<'t> {
    pub(crate) fn new(text: &'t str) -> Reader<'t> {
        Reader {
            lines: Lines::of(text),
            system: System::Metric,
            faults: Vec::new(),
            assumed: Vec::new(),
            unsure: false,
            more_sheets: false,
        }
    }

    pub(crate) fn place(&self, value: &impl Ranged) -> Place {
        self.lines.place(value.range().start)
    }

    /// Where everything inside an object stands, each by its path from the object, parents before what they hold.
    pub(crate) fn places(&self, fields: &Fields<'_>) -> Vec<(String, Place)> {
        let mut found = Vec::new();
        if let Some(object) = fields.object {
            self.places_in(object, "", &mut found);
        }
        found
    }

    fn places_in(&self, object: &Object<'_>, path: &str, found: &mut Vec<(String, Place)>) {
        for property in &object.properties {
            let name = property.name.as_str();
            let path = if path.is_empty() { name.to_string() } else { format!("{path}.{name}") };
            self.place_in(&property.value, path, found);
        }
    }

    fn place_in(&self, value: &Value<'_>, path: String, found: &mut Vec<(String, Place)>) {
        found.push((path.clone(), self.place(value)));
        match value {
            Value::Object(object) => self.places_in(object, &path, found),
            Value::Array(array) => {
                for (n, value) in array.elements.iter().enumerate() {
                    self.place_in(value, format!("{path}[{n}]"), found);
                }
            }
            _ => {}
        }
    }

    pub(crate) fn fault(&mut self, place: Place, key: impl Into<String>, text: String) {
        self.faults.push(Fault::input(Some(place), key, text));
    }

    /// Opens an object: reports keys it does not have and keys written twice.
    pub(crate) fn open<'v>(
        &mut self,
        shape: &'static Shape,
        value: &'v Value<'v>,
        path: String,
    ) -> Option<Fields<'v>> {
        let Value::Object(object) = value else {
            let place = self.place(value);
            self.fault(
                place,
                path,
                wording::wrong_kind(&describe(value), &format!("an object ({})", lower(shape.about))),
            );
            return None;
        };
        let known: Vec<&str> = shape.keys.iter().map(|key| key.name).collect();
        self.check_keys(object, shape.name, &known, &path);
        Some(Fields { shape, place: self.place(object), path, object: Some(object) })
    }

    fn check_keys(&mut self, object: &Object<'_>, what: &str, known: &[&str], path: &str) {
        for (n, property) in object.properties.iter().enumerate() {
            let name = property.name.as_str();
            let place = self.place(&property.range);
            if object.properties[..n].iter().any(|earlier| earlier.name.as_str() == name) {
                self.fault(place, path, wording::twice(name));
            } else if !known.contains(&name) {
                self.fault(place, path, wording::unknown_key(name, what, known));
            }
        }
    }

    /// The value written for a key; otherwise a fault if it must be there.
    fn look<'v>(&mut self, fields: &Fields<'v>, name: &str) -> Option<&'v Value<'v>> {
        if let Some(value) = fields.written(name) {
            return Some(value);
        }
        let key = fields.table(name);
        match key.need {
            Need::Must => self.fault(fields.place, fields.path.clone(), wording::missing(name, key.about)),
            Need::May => {}
            Need::Else("{}") => {}
            Need::Else(value) => self.assume(&fields.key(name), value),
        }
        None
    }

    /// Lists an assumption, once for all entries of a list.
    pub(crate) fn assume(&mut self, key: &str, value: &str) {
        let general: String = {
            let mut out = String::with_capacity(key.len());
            let mut inside = false;
            for c in key.chars() {
                inside = if c == '[' {
                    true
                } else if c == ']' {
                    false
                } else {
                    inside
                };
                if !inside || c == '[' {
                    out.push(c);
                }
            }
            out
        };
        if !self.assumed.iter().any(|a| a.key == general) {
            self.assumed.push(Assumed { key: general, value: value.to_string() });
        }
    }

    fn default_of(fields: &Fields<'_>, name: &str) -> Option<&'static str> {
        match fields.table(name).need {
            Need::Else(value) => Some(value),
            Need::Must | Need::May => None,
        }
    }

    /// A nested object; one that may be left out reads as all its defaults.
    pub(crate) fn shape<'v>(&mut self, fields: &Fields<'v>, name: &str) -> Option<Fields<'v>> {
        let (Kind::Shape(shape) | Kind::LengthOr(shape)) = fields.table(name).kind else { return None };
        match self.look(fields, name) {
            Some(value) => self.open(shape, value, fields.key(name)),
            None => Self::default_of(fields, name).map(|_| Fields {
                shape,
                path: fields.key(name),
                place: fields.place,
                object: None,
            }),
        }
    }

    /// A nested object whose `kind` names its keys.
    pub(crate) fn kinds<'v>(&mut self, fields: &Fields<'v>, name: &str) -> Option<Fields<'v>> {
        let Kind::Kinds(what, shapes) = fields.table(name).kind else { return None };
        let value = self.look(fields, name)?;
        let path = fields.key(name);
        let words: Vec<&str> = shapes.iter().map(|shape| shape.name).collect();
        let Value::Object(object) = value else {
            let place = self.place(value);
            let wanted = format!("an object with a `kind` of {}", wording::list(&words, "or"));
            self.fault(place, path, wording::wrong_kind(&describe(value), &wanted));
            return None;
        };
        let Some(kind) = object.get("kind") else {
            let place = self.place(object);
            self.fault(
                place,
                path,
                wording::missing("kind", &format!("It is {}.", wording::list(&words, "or"))),
            );
            return None;
        };
        let place = self.place(&kind.value);
        let Value::StringLit(word) = &kind.value else {
            self.fault(
                place,
                format!("{path}.kind"),
                wording::wrong_kind(&describe(&kind.value), &wording::list(&words, "or")),
            );
            return None;
        };
        let Some(shape) = shapes.iter().find(|shape| shape.name == word.value.replace(['_', '-'], " "))
        else {
            self.fault(place, format!("{path}.kind"), wording::not_a_word(&word.value, &words));
            return None;
        };
        let known: Vec<&str> = std::iter::once("kind").chain(shape.keys.iter().map(|key| key.name)).collect();
        self.check_keys(object, &format!("{} {what}", shape.name), &known, &path);
        Some(Fields { shape, place: self.place(object), path, object: Some(object) })
    }

    /// The entries of a list, each with its path; empty when it may be left out and is.
    pub(crate) fn entries<'v>(&mut self, fields: &Fields<'v>, name: &str) -> Vec<(String, &'v Value<'v>)> {
        let Kind::List(_, most) = fields.table(name).kind else { return Vec::new() };
        let Some(value) = self.look(fields, name) else { return Vec::new() };
        let place = self.place(value);
        let Value::Array(array) = value else {
            self.fault(place, fields.key(name), wording::wrong_kind(&describe(value), "a list"));
            return Vec::new();
        };
        if array.elements.len() > most {
            self.fault(place, fields.key(name), wording::long_list(array.elements.len(), most));
            return Vec::new();
        }
        let path = fields.key(name);
        array.elements.iter().enumerate().map(|(n, value)| (format!("{path}[{n}]"), value)).collect()
    }

    /// The objects of a list.
    pub(crate) fn objects<'v>(&mut self, fields: &Fields<'v>, name: &str) -> Vec<Fields<'v>> {
        let Kind::List(Kind::Shape(shape), _) = fields.table(name).kind else { return Vec::new() };
        let entries = self.entries(fields, name);
        entries.into_iter().filter_map(|(path, value)| self.open(shape, value, path)).collect()
    }

    /// A length; zero only where the table allows it.
    pub(crate) fn length(&mut self, fields: &Fields<'_>, name: &str) -> Option<Length> {
        let zero = matches!(fields.table(name).kind, Kind::LengthOrZero | Kind::LengthOr(_));
        match self.look(fields, name) {
            Some(value) => self.length_of(value, fields.key(name), zero),
            None => Length::parse(Self::default_of(fields, name)?, System::Metric).ok(),
        }
    }

    /// A length from its value.
    pub(crate) fn length_of(&mut self, value: &Value<'_>, path: String, zero: bool) -> Option<Length> {
        let place = self.place(value);
        let text = match value {
            Value::StringLit(text) => text.value.as_ref(),
            Value::NumberLit(number) => number.value,
            other => {
                self.fault(place, path, wording::wrong_kind(&describe(other), "a length such as \"18 mm\""));
                return None;
            }
        };
        match Length::parse(text, self.system) {
            Ok(length) if length.is_positive() || zero => Some(length),
            Ok(_) => {
                self.fault(place, path, wording::zero_length());
                None
            }
            Err(error) => {
                self.fault(place, path, error.to_string());
                None
            }
        }
    }

    /// A list of lengths.
    pub(crate) fn lengths(&mut self, fields: &Fields<'_>, name: &str) -> Vec<Length> {
        let zero = matches!(fields.table(name).kind, Kind::List(Kind::LengthOrZero, _));
        let entries = self.entries(fields, name);
        entries.into_iter().filter_map(|(path, value)| self.length_of(value, path, zero)).collect()
    }

    /// The corners of a free polygon: pairs of lengths that may be below zero.
    pub(crate) fn points(&mut self, fields: &Fields<'_>, name: &str) -> Vec<(Length, Length)> {
        let entries = self.entries(fields, name);
        let mut points = Vec::new();
        for (path, value) in entries {
            let place = self.place(value);
            match value.as_array().map(|list| list.elements.as_slice()) {
                Some([x, y]) => {
                    let x = self.signed_length_of(x, format!("{path}[0]"));
                    let y = self.signed_length_of(y, format!("{path}[1]"));
                    points.extend(x.zip(y));
                }
                Some(list) => self.fault(place, path, wording::wrong_pair(list.len())),
                None => {
                    self.fault(place, path, wording::wrong_kind(&describe(value), "a list of two lengths"))
                }
            }
        }
        points
    }

    fn signed_length_of(&mut self, value: &Value<'_>, path: String) -> Option<Length> {
        let text = match value {
            Value::StringLit(text) => text.value.trim(),
            Value::NumberLit(number) => number.value,
            _ => "",
        };
        match text.strip_prefix('-').map(|size| Length::parse(size, self.system)) {
            Some(Ok(length)) => Some(-length),
            _ => self.length_of(value, path, true),
        }
    }

    /// Two lengths.
    pub(crate) fn pair(&mut self, fields: &Fields<'_>, name: &str) -> Option<[Length; 2]> {
        let value = fields.written(name)?;
        if let Value::Array(list) = value
            && list.elements.len() != 2
        {
            let place = self.place(value);
            self.fault(place, fields.key(name), wording::wrong_pair(list.elements.len()));
            return None;
        }
        <[Length; 2]>::try_from(self.lengths(fields, name)).ok()
    }

    /// An amount of money.
    pub(crate) fn money(&mut self, fields: &Fields<'_>, name: &str) -> Option<Money> {
        let Some(value) = self.look(fields, name) else {
            return Money::parse(Self::default_of(fields, name)?).ok();
        };
        let place = self.place(value);
        let text = match value {
            Value::StringLit(text) => text.value.as_ref(),
            Value::NumberLit(number) => number.value,
            other => {
                self.fault(
                    place,
                    fields.key(name),
                    wording::wrong_kind(&describe(other), "money such as \"92.50\""),
                );
                return None;
            }
        };
        match Money::parse(text) {
            Ok(money) => Some(money),
            Err(error) => {
                self.fault(place, fields.key(name), error.to_string());
                None
            }
        }
    }

    /// A number within the table's limits.
    pub(crate) fn number(&mut self, fields: &Fields<'_>, name: &str) -> Option<f64> {
        let Kind::Number(least, most) = fields.table(name).kind else { return None };
        let Some(value) = self.look(fields, name) else {
            return Self::default_of(fields, name)?.parse().ok();
        };
        let place = self.place(value);
        let key = fields.key(name);
        let Value::NumberLit(number) = value else {
            self.fault(
                place,
                key,
                wording::wrong_kind(&describe(value), &format!("a number from {least} to {most}")),
            );
            return None;
        };
        match number.value.parse::<f64>() {
            Ok(n) if (least..=most).contains(&n) => Some(n),
            Ok(_) => {
                self.fault(place, key, wording::outside(number.value, &least.to_string(), &most.to_string()));
                None
            }
            Err(_) => {
                self.fault(place, key, wording::not_a_number(number.value));
                None
            }
        }
    }

    /// A whole number within the table's limits.
    pub(crate) fn count(&mut self, fields: &Fields<'_>, name: &str) -> Option<u32> {
        let Kind::Count(least, most) = fields.table(name).kind else { return None };
        let Some(value) = self.look(fields, name) else {
            return Self::default_of(fields, name)?.parse().ok();
        };
        if let Value::NumberLit(number) = value
            && let Ok(n) = number.value.parse::<u32>()
            && (least..=most).contains(&n)
        {
            return Some(n);
        }
        let found = match value {
            Value::NumberLit(number) => number.value.to_string(),
            other => describe(other),
        };
        let place = self.place(value);
        let text = if least == most && name == "format" {
            wording::other_format(&found)
        } else {
            wording::not_a_count(&found, least, most)
        };
        self.fault(place, fields.key(name), text);
        None
    }

    /// A list of whole numbers within the table's limits.
    pub(crate) fn counts(&mut self, fields: &Fields<'_>, name: &str) -> Vec<u32> {
        let Kind::List(Kind::Count(least, most), _) = fields.table(name).kind else { return Vec::new() };
        let mut counts = Vec::new();
        for (path, value) in self.entries(fields, name) {
            match value {
                Value::NumberLit(number)
                    if number.value.parse::<u32>().is_ok_and(|n| (*least..=*most).contains(&n)) =>
                {
                    counts.extend(number.value.parse::<u32>());
                }
                other => {
                    let found = match other {
                        Value::NumberLit(number) => number.value.to_string(),
                        other => describe(other),
                    };
                    let place = self.place(other);
                    self.fault(place, path, wording::not_a_count(&found, *least, *most));
                }
            }
        }
        counts
    }

    /// true or false.
    pub(crate) fn flag(&mut self, fields: &Fields<'_>, name: &str) -> Option<bool> {
        match self.look(fields, name) {
            Some(Value::BooleanLit(flag)) => Some(flag.value),
            Some(other) => {
                let place = self.place(other);
                self.fault(place, fields.key(name), wording::wrong_kind(&describe(other), "true or false"));
                None
            }
            None => Self::default_of(fields, name)?.parse().ok(),
        }
    }

    /// One of the table's words.
    pub(crate) fn word(&mut self, fields: &Fields<'_>, name: &str) -> Option<&'static str> {
        let Kind::Word(words) = fields.table(name).kind else { return None };
        let Some(value) = self.look(fields, name) else { return Self::default_of(fields, name) };
        let place = self.place(value);
        let text = match value {
            Value::StringLit(text) => wording::not_a_word(&text.value, words),
            other => wording::wrong_kind(&describe(other), &wording::list(words, "or")),
        };
        let found =
            value.as_string_lit().and_then(|lit| words.iter().find(|word| **word == lit.value.as_ref()));
        if found.is_none() {
            self.fault(place, fields.key(name), text);
        }
        found.copied()
    }

    /// A name or title.
    pub(crate) fn text(&mut self, fields: &Fields<'_>, name: &str) -> Option<String> {
        match self.look(fields, name) {
            Some(value) => self.text_of(value, fields.key(name)),
            None => Self::default_of(fields, name).map(str::to_string),
        }
    }

    /// A name from its value: on one line, not empty, not too long.
    pub(crate) fn text_of(&mut self, value: &Value<'_>, path: String) -> Option<String> {
        let place = self.place(value);
        let Value::StringLit(text) = value else {
            self.fault(place, path, wording::wrong_kind(&describe(value), "text in quotes"));
            return None;
        };
        let text = text.value.trim();
        let fault = match text.chars().count() {
            0 => wording::empty_text(),
            n if n > MOST_CHARS => wording::long_text(n, MOST_CHARS),
            _ if text.chars().any(wording::commands) => wording::control_text(),
            _ => return Some(text.to_string()),
        };
        self.fault(place, path, fault);
        None
    }
}

/// "the number 3", "the text `ash`", "a list", for "found ...".
pub(crate) fn describe(value: &Value<'_>) -> String {
    match value {
        Value::StringLit(text) => format!("the text `{}`", wording::short(&text.value)),
        Value::NumberLit(number) => format!("the number {}", wording::short(number.value)),
        Value::BooleanLit(flag) => flag.value.to_string(),
        Value::Object(_) => "an object".to_string(),
        Value::Array(_) => "a list".to_string(),
        Value::NullKeyword(_) => "null".to_string(),
    }
}

fn lower(about: &str) -> String {
    let mut chars = about.trim_end_matches('.').chars();
    chars.next().into_iter().flat_map(char::to_lowercase).chain(chars).collect()
}
