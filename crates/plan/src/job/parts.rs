//! Plain parts of sheets, lumber, and plain lengths of it.

use stripwright_units::{Length, Money};

use super::Sheet;
use super::sheets::thickness_is_known;
use crate::fault::Place;
use crate::reader::{Fields, Reader};
use crate::wording;

/// A plain part.
#[derive(Clone, Debug)]
pub struct Part {
    /// Where the job says it.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Along the sheet's length, unless turned.
    pub length: Length,
    /// Across the sheet, unless turned.
    pub width: Length,
    /// How many.
    pub count: u32,
    /// Whether it may lie across the sheet.
    pub may_turn: bool,
    /// Thickness of its sheets, where it matters.
    pub thickness: Option<Length>,
    /// The job names its sheets, so that offcuts of its thickness do not join them.
    pub sheets_named: bool,
    /// Indices of the sheets it may be cut from.
    pub sheets: Vec<usize>,
}

/// A kind of lumber.
#[derive(Clone, Debug)]
pub struct Lumber {
    /// Where the job says it.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Its width and its thickness, which is no more.
    pub section: Option<[Length; 2]>,
    /// Length of one stick.
    pub length: Length,
    /// Price of one.
    pub price: Money,
    /// Whether the job says so.
    pub priced: bool,
    /// How many there are.
    pub limit: Option<u32>,
}

/// A plain length of lumber.
#[derive(Clone, Debug)]
pub struct Stick {
    /// Where the job says it.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// Its length.
    pub length: Length,
    /// How many.
    pub count: u32,
    /// Indices of the lumber it may be cut from.
    pub lumber: Vec<usize>,
}

pub(super) fn read_part(reader: &mut Reader<'_>, fields: &Fields<'_>, sheets: &[Sheet]) -> Option<Part> {
    let name = reader.text(fields, "name");
    let [length, width, thickness] = ["length", "width", "thickness"].map(|key| reader.length(fields, key));
    let count = reader.count(fields, "count");
    let may_turn = reader.flag(fields, "may_turn");
    let grain = reader.word(fields, "grain");
    if may_turn == Some(true) && grain == Some("length") {
        reader.fault(fields.place, fields.key("grain"), wording::grain_and_turn());
    }
    let named = read_names(reader, fields, "sheets", "sheet", sheets.iter().map(|sheet| sheet.name.as_str()));
    if let (Some(found), Some(value)) = (thickness, fields.written("thickness"))
        && !reader.unsure
        && !reader.more_sheets
    {
        thickness_is_known(reader, reader.place(value), fields.key("thickness"), found, sheets);
    }
    let suits = |sheet: &Sheet| thickness.is_none_or(|t| sheet.thickness == Some(t));
    let sheets = (0..sheets.len())
        .filter(|s| named.as_ref().is_none_or(|named| named.contains(s)) && suits(&sheets[*s]))
        .collect();
    Some(Part {
        place: fields.place,
        name: name?,
        length: length?,
        width: width?,
        count: count?,
        may_turn: may_turn.unwrap_or(grain != Some("length")),
        thickness,
        sheets_named: named.is_some(),
        sheets,
    })
}

pub(super) fn read_lumber(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Lumber> {
    let name = reader.text(fields, "name");
    // A board lies on its broad side, whichever of the two is written first.
    let section = reader.pair(fields, "section").map(|[one, other]| [one.max(other), one.min(other)]);
    let length = reader.length(fields, "length");
    let price = reader.money(fields, "price");
    let limit = reader.count(fields, "limit");
    let priced = fields.written("price").is_some();
    Some(Lumber { place: fields.place, name: name?, section, length: length?, price: price?, priced, limit })
}

pub(super) fn read_stick(reader: &mut Reader<'_>, fields: &Fields<'_>, lumber: &[Lumber]) -> Option<Stick> {
    let name = reader.text(fields, "name");
    let length = reader.length(fields, "length");
    let count = reader.count(fields, "count");
    let from = reader.text(fields, "lumber");
    let known: Vec<&str> = lumber.iter().map(|l| l.name.as_str()).collect();
    let lumber = match (from, fields.written("lumber")) {
        (Some(from), Some(value)) => match known.iter().position(|name| *name == from) {
            Some(n) => vec![n],
            None => {
                let place = reader.place(value);
                let text = wording::no_such_name(&from, "lumber", &known);
                reader.fault(place, fields.key("lumber"), text);
                return None;
            }
        },
        _ => (0..lumber.len()).collect(),
    };
    Some(Stick { place: fields.place, name: name?, length: length?, count: count?, lumber })
}

/// Indices of the things a list names, ascending; nothing when the list is left out.
fn read_names<'n>(
    reader: &mut Reader<'_>,
    fields: &Fields<'_>,
    key: &str,
    what: &str,
    known: impl Iterator<Item = &'n str>,
) -> Option<Vec<usize>> {
    fields.written(key)?;
    let known: Vec<&str> = known.collect();
    let mut found = Vec::new();
    for (path, value) in reader.entries(fields, key) {
        let place = reader.place(value);
        let Some(name) = reader.text_of(value, path.clone()) else { continue };
        match known.iter().position(|other| *other == name) {
            Some(n) => found.push(n),
            None if reader.unsure => {}
            None => reader.fault(place, path, wording::no_such_name(&name, what, &known)),
        }
    }
    found.sort_unstable();
    found.dedup();
    Some(found)
}
