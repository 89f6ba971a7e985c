//! Tops: their outline, their pattern and what their slabs are laminated from.

use stripwright_pattern::{Outline, Pattern, Phase, SlabStyle};
use stripwright_units::Length;

use super::Sheet;
use super::pattern::{read_outline, read_pattern};
use super::sheets::{USUAL_DENSITY, thicknesses};
use crate::fault::Place;
use crate::reader::{Fields, Reader};
use crate::wording;

/// A patterned top.
#[derive(Clone, Debug)]
pub struct Top {
    /// Where the job says it.
    pub place: Place,
    /// Its name.
    pub name: String,
    /// How many.
    pub count: u32,
    /// What its slabs are laminated from, over and over.
    pub sequence: Vec<Lamination>,
    /// Finished thickness.
    pub finished: Length,
    /// What the blank shows round the outline.
    pub margin: Length,
    /// Finished plan shape.
    pub outline: Outline,
    /// How the face is divided.
    pub pattern: Pattern,
    /// Where the laminations lie.
    pub phase: Phase,
    /// Which makes of slab may be chosen.
    pub slab: SlabStyle,
    /// Whether strips of bias-cut slabs are slid past one another.
    pub staggered: bool,
    /// Spare bands a top.
    pub spare: u32,
    /// Whether strips may be cut across the grain.
    pub may_turn: bool,
}

/// What one lamination of a top may be ripped from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lamination {
    /// Any sheet of this named thickness.
    Thickness(Length),
    /// This sheet: an index into [`Job::sheets`](super::Job::sheets).
    Sheet(usize),
}

impl Top {
    /// Density in kg/m3, before it is known which sheets its strips are cut from: the mean over its laminations, of each over
    /// the sheets that it may be ripped from.
    pub(crate) fn density(&self, sheets: &[Sheet]) -> f64 {
        let mean = |all: &mut dyn Iterator<Item = f64>| {
            let (sum, n) = all.fold((0.0, 0.0), |(sum, n), density| (sum + density, n + 1.0));
            if n > 0.0 { sum / n } else { USUAL_DENSITY }
        };
        mean(&mut self.sequence.iter().map(|lamination| match lamination {
            Lamination::Sheet(s) => sheets[*s].density_or_usual(),
            Lamination::Thickness(thickness) => {
                let suiting = sheets.iter().filter(|sheet| sheet.thickness == Some(*thickness));
                mean(&mut suiting.map(Sheet::density_or_usual))
            }
        }))
    }
}

pub(super) fn read_top(reader: &mut Reader<'_>, fields: &Fields<'_>, sheets: &[Sheet]) -> Option<Top> {
    let name = reader.text(fields, "name");
    let count = reader.count(fields, "count");
    let [finished, margin] = ["finished", "margin"].map(|key| reader.length(fields, key));
    let outline = reader.kinds(fields, "outline").and_then(|outline| read_outline(reader, &outline));
    let pattern = reader.kinds(fields, "pattern");
    let phase = pattern.as_ref().map(|pattern| match reader.lengths(pattern, "phase").as_slice() {
        [] => Phase::Free,
        [along] => Phase::Held(along.to_mm(), 0.0),
        [along, across, ..] => Phase::Held(along.to_mm(), across.to_mm()),
    });
    let pattern = pattern.and_then(|pattern| read_pattern(reader, &pattern));
    let slab = match reader.word(fields, "slab") {
        Some("even") => SlabStyle::Even,
        Some("either") => SlabStyle::Either,
        _ => SlabStyle::Shaped,
    };
    let spare = reader.count(fields, "spare");
    let [staggered, may_turn] = ["staggered", "may_turn"].map(|key| reader.flag(fields, key));
    let sequence = read_sequence(reader, fields, sheets);
    Some(Top {
        place: fields.place,
        name: name?,
        count: count?,
        sequence: sequence?,
        finished: finished?,
        margin: margin?,
        outline: outline?,
        pattern: pattern?,
        phase: phase?,
        slab,
        staggered: staggered?,
        spare: spare?,
        may_turn: may_turn?,
    })
}

/// What a top's slabs are laminated from: the sheets it names, else all sheets of one thickness.
fn read_sequence(reader: &mut Reader<'_>, fields: &Fields<'_>, sheets: &[Sheet]) -> Option<Vec<Lamination>> {
    let thickness = reader.length(fields, "sheet_thickness");
    if fields.written("sequence").is_some() {
        if fields.written("sheet_thickness").is_some() {
            reader.fault(
                fields.place,
                fields.key("sequence"),
                wording::one_of("sequence", "sheet_thickness", true),
            );
            return None;
        }
        let known: Vec<&str> = sheets.iter().map(|sheet| sheet.name.as_str()).collect();
        let mut laminations = Vec::new();
        for (path, value) in reader.entries(fields, "sequence") {
            let place = reader.place(value);
            let Some(name) = reader.text_of(value, path.clone()) else { continue };
            match known.iter().position(|other| *other == name) {
                Some(s) if sheets[s].thickness.is_none() => {
                    reader.fault(place, path, wording::no_thickness(&name))
                }
                Some(s) => laminations.push(Lamination::Sheet(s)),
                None if reader.unsure => return None,
                None => reader.fault(place, path, wording::no_such_name(&name, "sheet", &known)),
            }
        }
        if laminations.is_empty() {
            reader.fault(fields.place, fields.key("sequence"), wording::empty_list("sheet's name"));
            return None;
        }
        return Some(laminations);
    }
    let known = thicknesses(sheets);
    if reader.unsure {
        return None;
    }
    let written = fields.written("sheet_thickness");
    let place = written.map_or(fields.place, |value| reader.place(value));
    let (system, more_sheets) = (reader.system, reader.more_sheets);
    let mut refuse = |text| {
        reader.fault(place, fields.key("sheet_thickness"), text);
        None
    };
    let thickness = match (written, known.as_slice()) {
        (Some(_), _) => thickness?,
        (None, [only]) => *only,
        (None, _) => return refuse(wording::which_thickness()),
    };
    let mut alike = sheets.iter().filter(|sheet| sheet.thickness == Some(thickness));
    match alike.next() {
        None if !more_sheets => return refuse(wording::no_such_thickness(thickness, &known, system)),
        Some(first) if alike.any(|sheet| sheet.real_thickness() != first.real_thickness()) => {
            return refuse(wording::uneven_measures(thickness, system));
        }
        _ => {}
    }
    Some(vec![Lamination::Thickness(thickness)])
}
