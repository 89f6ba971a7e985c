//! Sheets that may be bought.

use stripwright_units::{Length, Money};

use super::{Lumber, read_all};
use crate::fault::Place;
use crate::keys;
use crate::reader::{Fields, Reader};
use crate::wording;

/// A kind of sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Where the job says it; nothing for offcuts from a file.
    pub place: Option<Place>,
    /// Its name.
    pub name: String,
    /// Length as bought.
    pub length: Length,
    /// Width as bought.
    pub width: Length,
    /// The thickness it is sold as.
    pub thickness: Option<Length>,
    /// The thickness it has, where measured.
    pub measured: Option<Length>,
    /// How much thinner than named it may come.
    pub tolerance: Option<Length>,
    /// Price of one.
    pub price: Money,
    /// Whether the job says so.
    pub priced: bool,
    /// How many there are.
    pub limit: Option<u32>,
    /// What is cut away at each edge: left, right, bottom, top.
    pub trim: [Length; 4],
    /// Kilograms a cubic metre.
    pub density: Option<f64>,
}

/// Density of a sheet that says none, kg/m3: birch plywood as commonly given (T9; trade tables say 650 to 700).
pub(crate) const USUAL_DENSITY: f64 = 680.0;

impl Sheet {
    /// The thickness that geometry uses: as measured, else as named.
    #[must_use]
    pub fn real_thickness(&self) -> Option<Length> {
        self.measured.or(self.thickness)
    }

    /// Its density, in kg/m3: as the job has it, else as plywood usually has.
    #[must_use]
    pub fn density_or_usual(&self) -> f64 {
        self.density.unwrap_or(USUAL_DENSITY)
    }

    /// The thinnest it may turn out: as measured, else as named less the tolerance.
    #[must_use]
    pub fn thinnest(&self) -> Option<Length> {
        let named = || Some(self.thickness? - self.tolerance.unwrap_or_default());
        self.measured.or_else(named)
    }
}

pub(super) fn read_sheets(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Vec<Sheet> {
    let before = reader.faults.len();
    let sheets = read_all(reader, fields, "sheets", read_sheet);
    // Bases and sticks are cut from lumber; everything else needs sheets.
    let from_lumber = ["bases", "sticks"].iter().any(|key| fields.written(key).is_some());
    let from_sheets = ["tops", "parts"].iter().any(|key| fields.written(key).is_some());
    if fields.written("sheets").is_none() && (from_sheets || !from_lumber) && !reader.more_sheets {
        let about = "Sheets that may be bought, and offcuts on hand at price 0.";
        reader.fault(fields.place, "", wording::missing("sheets", about));
    }
    if let Some(list) = fields.written("sheets").and_then(|value| value.as_array())
        && list.elements.is_empty()
        && !reader.more_sheets
    {
        let place = reader.place(list);
        reader.fault(place, "sheets", wording::empty_list("sheet"));
    }
    // What a faulty sheet is called or measures is not known; whoever refers to it is not to blame.
    reader.unsure = reader.faults.len() > before;
    sheets
}

/// In square nanometres.
const SQUARE_METRE: i128 = 1_000_000_000_000_000_000;

pub(super) fn read_sheet(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Sheet> {
    let name = reader.text(fields, "name");
    let [length, width, thickness, measured, tolerance] =
        ["length", "width", "thickness", "measured", "tolerance"].map(|key| reader.length(fields, key));
    let price = reader.money(fields, "price");
    let limit = reader.count(fields, "limit");
    let density = reader.number(fields, "density");
    let trim = match fields.written("trim") {
        Some(jsonc_parser::ast::Value::Object(_)) => {
            let trim = reader.shape(fields, "trim");
            ["left", "right", "bottom", "top"]
                .map(|key| trim.as_ref().and_then(|trim| reader.length(trim, key)).unwrap_or_default())
        }
        _ => [reader.length(fields, "trim").unwrap_or_default(); 4],
    };
    if let Some(tolerance) = tolerance
        && thickness.is_none_or(|thickness| tolerance.nm() > thickness.nm() / 5)
    {
        let text = wording::tolerance_too_wide(thickness, reader.system);
        reader.fault(fields.place, fields.key("tolerance"), text);
    }
    let (length, width) = (length?, width?);
    if i128::from(length.nm()) * i128::from(width.nm()) > keys::MOST_SQUARE_METRES * SQUARE_METRE {
        let text = wording::sheet_too_large(keys::MOST_SQUARE_METRES);
        reader.fault(fields.place, fields.key("length"), text);
    }
    for (side, over) in [("length", trim[0] + trim[1] - length), ("width", trim[2] + trim[3] - width)] {
        if over >= Length::ZERO {
            let text = wording::trim_eats_sheet(over, side, reader.system);
            reader.fault(fields.place, fields.key("trim"), text);
        }
    }
    Some(Sheet {
        place: Some(fields.place),
        name: name?,
        length,
        width,
        thickness,
        measured,
        tolerance,
        price: price?,
        priced: fields.written("price").is_some(),
        limit,
        trim,
        density,
    })
}

/// The thicknesses that sheets say they are, thinnest first, each once.
pub(super) fn thicknesses(sheets: &[Sheet]) -> Vec<Length> {
    let mut all: Vec<Length> = sheets.iter().filter_map(|sheet| sheet.thickness).collect();
    all.sort();
    all.dedup();
    all
}

/// Refuses to add up what is priced and what is only counted: the cheapest would be what has no price.
pub(super) fn priced_alike(reader: &mut Reader<'_>, sheets: &[Sheet], lumber: &[Lumber]) {
    let sheets = sheets.iter().filter_map(|s| Some(("sheet", s.place?, &s.name, s.price, s.priced)));
    let lumber = lumber.iter().map(|l| ("lumber", l.place, &l.name, l.price, l.priced));
    let all: Vec<_> = sheets.chain(lumber).collect();
    let Some(&(_, _, dear, price, _)) = all.iter().find(|one| one.4 && one.3 > Money::ZERO) else { return };
    for &(what, place, name, _, _) in all.iter().filter(|one| !one.4) {
        reader.fault(place, "", wording::no_price(what, name, dear, price));
    }
}

/// Refuses a thickness that is asked for and that no sheet has.
pub(super) fn thickness_is_known(
    reader: &mut Reader<'_>,
    place: Place,
    key: String,
    found: Length,
    sheets: &[Sheet],
) {
    let known = thicknesses(sheets);
    if !known.contains(&found) {
        reader.fault(place, key, wording::no_such_thickness(found, &known, reader.system));
    }
}
