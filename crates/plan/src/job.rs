//! `job.json`: a checked job, and how it is read.
//!
//! Reading gathers every fault, each with its line and column. A [`Job`] that exists has none: later stages need not
//! ask again whether a size is above zero or a name is known.

use stripwright_packing::audit::MOST_PLACED;
use stripwright_pattern::{
    Across, BandSize, Centre, Clamp, Drum, Glue, Lay, Outline, Pattern, Phase, Planer, RouterSled, Side,
    SlabStyle,
};
use stripwright_units::{Angle, Length, Money, System};

use crate::base;
use crate::fault::{Fault, Place, in_reading_order};
use crate::keys;
use crate::plan::{Assumed, First};
use crate::rates::{self, Reckoning};
use crate::reader::{Fields, Reader, parse};
use crate::wording;

/// A checked job.
#[derive(Clone, Debug)]
pub struct Job {
    /// What the job is called.
    pub title: String,
    /// The system of its bare numbers and of its output.
    pub system: System,
    /// The smallest mark the shop can set.
    pub mark: Length,
    /// The currency's name.
    pub currency: String,
    /// The shop.
    pub shop: Shop,
    /// Sheets to choose from.
    pub sheets: Vec<Sheet>,
    /// Path of a file of offcuts, still to be added with [`Job::add_offcuts`].
    pub offcuts: Option<String>,
    /// How sheets are cut up.
    pub cutting: Cutting,
    /// Patterned tops.
    pub tops: Vec<Top>,
    /// Plain parts.
    pub parts: Vec<Part>,
    /// Lumber to choose from.
    pub lumber: Vec<Lumber>,
    /// Plain lengths of lumber.
    pub sticks: Vec<Stick>,
    /// Bases.
    pub bases: Vec<base::Base>,
    /// What was left unsaid and assumed.
    pub assumed: Vec<Assumed>,
}

/// Machines, glue and allowances.
#[derive(Clone, Debug)]
pub struct Shop {
    /// The widest rip the fence can be set to.
    pub fence_reach: Option<Length>,
    /// The longest rip the shop can make.
    pub longest_rip: Option<Length>,
    /// The narrowest safe rip.
    pub smallest_rip: Option<Length>,
    /// How far from each end the planer may dig in.
    pub snipe: Length,
    /// Thickness that one glue line adds.
    pub glue_line: Length,
    /// What slabs and blanks meet.
    pub pattern: stripwright_pattern::Shop,
    /// Router, sanding, finish, minutes and money.
    pub reckoning: Reckoning,
}

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

/// How sheets are cut up.
#[derive(Clone, Debug)]
pub struct Cutting {
    /// Direction of a sheet's first cuts.
    pub first: First,
    /// Alternations of direction: 2 or 3.
    pub stages: u8,
    /// Wood lost to one rip.
    pub rip_kerf: Length,
    /// Wood lost to one crosscut.
    pub crosscut_kerf: Length,
    /// Length and width of the smallest offcut worth keeping.
    pub keep: Option<[Length; 2]>,
}

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
    /// This sheet: an index into [`Job::sheets`].
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
    /// Its cross sizes.
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

impl Job {
    /// Reads and checks a job.
    ///
    /// # Errors
    /// Every fault found, in reading order.
    pub fn read(text: &str) -> Result<Job, Vec<Fault>> {
        let value = parse(text).map_err(|fault| vec![fault])?;
        let mut reader = Reader::new(text);
        let job =
            reader.open(&keys::JOB, &value, String::new()).and_then(|fields| read_job(&mut reader, &fields));
        match job {
            Some(mut job) if reader.faults.is_empty() => {
                job.assumed = reader.assumed;
                Ok(job)
            }
            _ => {
                in_reading_order(&mut reader.faults);
                Err(reader.faults)
            }
        }
    }

    /// Adds offcuts on hand: a list of sheets in their own file. Those without a price cost nothing, those without a
    /// limit are one of a kind.
    ///
    /// # Errors
    /// Every fault found, in reading order; places are in the offcuts' text.
    pub fn add_offcuts(&mut self, text: &str) -> Result<(), Vec<Fault>> {
        let value = parse(text).map_err(|fault| vec![fault])?;
        let mut reader = Reader::new(text);
        reader.system = self.system;
        let place = reader.place(&value);
        let Some(list) = value.as_array() else {
            let found = crate::reader::describe(&value);
            return Err(vec![Fault::input(Some(place), "", wording::wrong_kind(&found, "a list of sheets"))]);
        };
        let found = list.elements.len();
        if found > keys::MOST_SHEETS {
            let text = wording::long_list(found, keys::MOST_SHEETS);
            return Err(vec![Fault::input(Some(place), "", text)]);
        }
        let first = self.sheets.len();
        let mut all = self.sheets.clone();
        for (n, entry) in list.elements.iter().enumerate() {
            let Some(fields) = reader.open(&keys::SHEET, entry, format!("[{n}]")) else { continue };
            if let Some(offcut) = read_sheet(&mut reader, &fields) {
                self.fits_in(&mut reader, &fields, &offcut, &all);
                let price = if offcut.priced { offcut.price } else { Money::ZERO };
                let limit = offcut.limit.or(Some(1));
                all.push(Sheet { place: None, price, limit, ..offcut });
            }
        }
        let mut parts = self.parts.clone();
        for part in parts.iter_mut().filter(|part| !part.sheets_named) {
            let suits = |sheet: &Sheet| part.thickness.is_none_or(|t| sheet.thickness == Some(t));
            part.sheets.extend((first..all.len()).filter(|&s| suits(&all[s])));
        }
        if reader.faults.is_empty() {
            parts_on_sheets(&mut reader, &parts, &all, self.cutting.rip_kerf.min(self.cutting.crosscut_kerf));
            // Parts are written elsewhere.
            reader.faults.iter_mut().for_each(|fault| fault.place = None);
        }
        if !reader.faults.is_empty() {
            in_reading_order(&mut reader.faults);
            return Err(reader.faults);
        }
        (self.sheets, self.parts) = (all, parts);
        self.offcuts = None;
        Ok(())
    }

    /// Refuses an offcut that does not go with the sheets known before it.
    fn fits_in(&self, reader: &mut Reader<'_>, fields: &Fields<'_>, offcut: &Sheet, known: &[Sheet]) {
        if let Some(same) = known.iter().find(|other| other.name == offcut.name) {
            let text = wording::same_name(&offcut.name, "sheet", &same.length.show(self.system));
            reader.fault(fields.place, fields.key("name"), text);
        }
        if offcut.price > Money::ZERO && offcut.priced && self.sheets.iter().any(|sheet| !sheet.priced) {
            reader.fault(fields.place, fields.key("price"), wording::priced_among_counted(&offcut.name));
        }
        for sheet in known {
            let together = |top: &Top| {
                top.sequence.iter().any(|lamination| match lamination {
                    Lamination::Thickness(thickness) => {
                        [offcut.thickness, sheet.thickness] == [Some(*thickness); 2]
                    }
                    Lamination::Sheet(_) => false,
                })
            };
            if offcut.real_thickness() != sheet.real_thickness() && self.tops.iter().any(together) {
                let [own, other] = [offcut, sheet].map(|sheet| sheet.real_thickness().unwrap_or_default());
                let text = wording::uneven_offcut(&offcut.name, own, &sheet.name, other, self.system);
                reader.fault(fields.place, fields.key("measured"), text);
                return;
            }
        }
    }
}

fn read_job(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Job> {
    // Units first: they say what every bare number means.
    let units = reader.word(fields, "units");
    reader.system = if units == Some("in") { System::Inch } else { System::Metric };
    reader.count(fields, "format");
    let title = reader.text(fields, "title");
    let mark = read_mark(reader, fields);
    let currency = reader.text(fields, "currency");
    let shop = reader.shape(fields, "shop");
    let kerf_and_shop = shop.and_then(|shop| read_shop(reader, &shop, mark.unwrap_or(Length::from_um(500))));
    let kerf = kerf_and_shop.as_ref().map_or(Length::ZERO, |(kerf, _)| *kerf);
    let cutting = reader.shape(fields, "cutting").and_then(|cutting| read_cutting(reader, &cutting, kerf));
    let sheets = read_sheets(reader, fields);
    let offcuts = reader.text(fields, "offcuts");
    let tops = read_all(reader, fields, "tops", |reader, top| read_top(reader, top, &sheets));
    // A list that is none, and a top that could not be read, have their own faults.
    let all_tops = fields
        .written("tops")
        .is_none_or(|list| list.as_array().is_some_and(|list| list.elements.len() == tops.len()));
    let parts = read_all(reader, fields, "parts", |reader, part| read_part(reader, part, &sheets));
    let lumber = read_all(reader, fields, "lumber", read_lumber);
    priced_alike(reader, &sheets, &lumber);
    let sticks = read_all(reader, fields, "sticks", |reader, stick| read_stick(reader, stick, &lumber));
    let around = base::Around {
        mark: mark.unwrap_or_default(),
        kerf,
        sheets: &sheets,
        tops: &tops,
        all_tops,
        lumber: &lumber,
    };
    let bases = read_all(reader, fields, "bases", |reader, base| base::read(reader, base, &around));
    let asked = ["tops", "parts", "sticks", "bases"];
    // What is no list has its own fault, and asks for something all the same.
    let anything = asked
        .iter()
        .filter_map(|key| fields.written(key))
        .any(|value| value.as_array().is_none_or(|list| !list.elements.is_empty()));
    if !anything {
        reader.fault(fields.place, "", wording::nothing_to_make());
    }
    within_all(reader, "parts", parts.iter().map(|part| (part.count, part.place)));
    within_all(reader, "sticks", sticks.iter().map(|stick| (stick.count, stick.place)));
    let kerf = cutting.as_ref().map_or(Length::ZERO, |c| c.rip_kerf.min(c.crosscut_kerf));
    parts_on_sheets(reader, &parts, &sheets, kerf);
    let of_sticks = sticks.iter().enumerate().map(|(n, stick)| {
        let from = stick.lumber.iter().map(|&l| (lumber[l].length, lumber[l].name.as_str()));
        (format!("sticks[{n}]"), stick.place, stick.name.as_str(), stick.length, stick.count, from.max())
    });
    not_like_dust(reader, of_sticks, kerf);
    Some(Job {
        title: title?,
        system: reader.system,
        mark: mark?,
        currency: currency?,
        shop: kerf_and_shop?.1,
        sheets,
        offcuts,
        cutting: cutting?,
        tops,
        parts,
        lumber,
        sticks,
        bases,
        assumed: Vec::new(),
    })
}

/// Reads every object of a list and sees that no two have one name.
fn read_all<'v, T>(
    reader: &mut Reader<'_>,
    fields: &Fields<'v>,
    name: &str,
    mut read: impl FnMut(&mut Reader<'_>, &Fields<'v>) -> Option<T>,
) -> Vec<T> {
    let mut things = Vec::new();
    let mut names: Vec<(String, Place)> = Vec::new();
    for entry in reader.objects(fields, name) {
        if let Some(own) = entry.written("name").and_then(|v| v.as_string_lit()) {
            let own = own.value.trim().to_string();
            match names.iter().find(|(other, _)| *other == own) {
                Some((_, first)) => {
                    let what = name.strip_suffix('s').unwrap_or(name);
                    let text = wording::same_name(&own, what, &first.to_string());
                    reader.fault(entry.place, entry.key("name"), text);
                }
                None => names.push((own, entry.place)),
            }
        }
        things.extend(read(reader, &entry));
    }
    things
}

/// Refuses a list whose counts come to more than a plan is made for.
fn within_all(reader: &mut Reader<'_>, name: &str, counts: impl Iterator<Item = (u32, Place)>) {
    let mut all = 0;
    for (n, (count, place)) in counts.enumerate() {
        all += u64::from(count);
        if all > u64::from(keys::MOST_IN_ALL) {
            reader.fault(
                place,
                format!("{name}[{n}].count"),
                wording::too_many_in_all(name, keys::MOST_IN_ALL),
            );
            return;
        }
    }
}

/// Refuses what is so short that more lie side by side than a search adds up. Each has its key, place, name, shortest
/// side, count and the longest sides that it may be cut from, with their names.
fn not_like_dust<'n>(
    reader: &mut Reader<'_>,
    asked: impl Iterator<Item = (String, Place, &'n str, Length, u32, Option<(Length, &'n str)>)>,
    kerf: Length,
) {
    for (key, place, name, side, count, from) in asked {
        let Some((longest, of)) = from else { continue };
        let abreast = (longest + kerf) / (side + kerf).max(Length::from_nm(1));
        if abreast.min(i64::from(count)) > keys::MOST_ABREAST {
            reader.fault(place, key, wording::like_dust(name, of, keys::MOST_ABREAST));
        }
    }
}

/// Refuses parts too small for the sheets that they may be cut from.
fn parts_on_sheets(reader: &mut Reader<'_>, parts: &[Part], sheets: &[Sheet], kerf: Length) {
    let of_parts = parts.iter().enumerate().map(|(n, part)| {
        let from =
            part.sheets.iter().map(|&s| (sheets[s].length.max(sheets[s].width), sheets[s].name.as_str()));
        let side = part.length.min(part.width);
        (format!("parts[{n}]"), part.place, part.name.as_str(), side, part.count, from.max())
    });
    not_like_dust(reader, of_parts, kerf);
    not_like_sand(reader, sheets, parts, kerf);
}

/// Refuses parts so small that one sheet could hold more of them than a plan is audited with.
fn not_like_sand(reader: &mut Reader<'_>, sheets: &[Sheet], parts: &[Part], kerf: Length) {
    let area =
        |length: Length, width: Length| i128::from((length + kerf).nm()) * i128::from((width + kerf).nm());
    let mut by_area: Vec<usize> = (0..parts.len()).collect();
    by_area.sort_by_key(|&n| area(parts[n].length, parts[n].width));
    for (s, sheet) in sheets.iter().enumerate() {
        let (mut open, mut held) = (area(sheet.length, sheet.width), 0);
        for &n in by_area.iter().filter(|&&n| parts[n].sheets.contains(&s)) {
            let one = area(parts[n].length, parts[n].width);
            let most = (open / one.max(1)).min(i128::from(parts[n].count));
            (open, held) = (open - most * one, held + most);
            if held > MOST_PLACED as i128 {
                let text = wording::like_sand(&parts[n].name, &sheet.name, MOST_PLACED);
                reader.fault(parts[n].place, format!("parts[{n}]"), text);
                return;
            }
        }
    }
}

fn read_mark(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Length> {
    if fields.written("mark").is_some() {
        return reader.length(fields, "mark");
    }
    let (value, mark) = match reader.system {
        System::Metric => ("0.5 mm", Length::from_um(500)),
        System::Inch => ("1/32 in", Length::from_nm(793_750)),
    };
    reader.assume("mark", value);
    Some(mark)
}

fn read_shop(reader: &mut Reader<'_>, shop: &Fields<'_>, mark: Length) -> Option<(Length, Shop)> {
    let [saw, bias, planer, glue, clamp, sled, drum, allow] =
        ["table_saw", "bias_saw", "planer", "glue", "clamp", "sled", "drum_sander", "allow"]
            .map(|key| reader.shape(shop, key));
    let snipe = planer.as_ref().and_then(|planer| reader.length(planer, "snipe"));
    let planer = planer.and_then(|planer| {
        let [width, bite, shortest] = ["width", "bite", "shortest"].map(|key| reader.length(&planer, key));
        Some(Planer { width, bite: bite?, shortest: shortest? })
    });
    let glue = glue.and_then(|glue| {
        let [spread, open, rate, end, out, bottle] =
            ["spread", "open_minutes", "strips_a_minute", "end_grain", "squeeze_out", "bottle"]
                .map(|key| reader.number(&glue, key));
        let faces = reader.count(&glue, "faces");
        let line = reader.length(&glue, "line");
        let glue = Glue {
            spread: spread?,
            faces: faces?,
            end_grain: end?,
            squeeze_out: out?,
            open_minutes: open?,
            strips_a_minute: rate?,
            bottle: bottle?,
        };
        Some((glue, line?))
    });
    let clamp = clamp.and_then(|clamp| {
        let [reach, caul] = ["reach", "caul"].map(|key| reader.length(&clamp, key));
        let [force, pressure] = ["force", "pressure"].map(|key| reader.number(&clamp, key));
        Some(Clamp { reach, force: force?, caul: caul?, pressure: pressure? })
    });
    let sled = sled.and_then(|sled| {
        let [cutter, bite] = ["cutter", "bite"].map(|key| reader.length(&sled, key));
        let [step_over, feed] = ["step", "feed"].map(|key| reader.number(&sled, key));
        Some(RouterSled { cutter: cutter?, step_over: step_over?, bite: bite?, feed: feed? })
    });
    let drum = drum.and_then(|drum| {
        let [width, bite] = ["width", "bite"].map(|key| reader.length(&drum, key));
        Some(Drum { width: width?, bite: bite? })
    });
    let allow = allow.map(|allow| {
        ["ends", "first_planing", "second_planing", "sanding"].map(|key| reader.length(&allow, key))
    });
    let reckoning = rates::read(reader, shop);
    let (saw, bias) = (saw?, bias?);
    let [kerf, fence_reach, longest_rip, smallest_rip] =
        ["kerf", "fence_reach", "longest_rip", "smallest_rip"].map(|key| reader.length(&saw, key));
    let [bias_kerf, saw_reach] = ["kerf", "reach"].map(|key| reader.length(&bias, key));
    blades(reader, &saw, &["kerf"], &[kerf]);
    blades(reader, &bias, &["kerf"], &[bias_kerf]);
    let ((glue, glue_line), reckoning) = (glue?, reckoning?);
    let [ends, first, second, sanding] = allow?;
    let pattern = stripwright_pattern::Shop {
        mark,
        bias_kerf: bias_kerf?,
        saw_reach,
        end_allowance: ends?,
        plane_slab: first?,
        plane_blank: second?,
        sanding: sanding?,
        outline_kerf: reckoning.router.bit,
        planer: planer?,
        clamp: clamp?,
        glue,
        drum,
        sled: sled?,
    };
    let shop = Shop { fence_reach, longest_rip, smallest_rip, snipe: snipe?, glue_line, pattern, reckoning };
    Some((kerf?, shop))
}

/// Refuses kerfs that no blade cuts: a slip of the unit would make dust of the sheets.
fn blades(reader: &mut Reader<'_>, fields: &Fields<'_>, names: &[&str], kerfs: &[Option<Length>]) {
    for (key, kerf) in names.iter().zip(kerfs) {
        if let Some(kerf) = kerf.filter(|kerf| *kerf > keys::WIDEST_KERF) {
            let place = fields.written(key).map_or(fields.place, |value| reader.place(value));
            reader.fault(
                place,
                fields.key(key),
                wording::kerf_too_wide(kerf, keys::WIDEST_KERF, reader.system),
            );
        }
    }
}

fn read_cutting(reader: &mut Reader<'_>, cutting: &Fields<'_>, kerf: Length) -> Option<Cutting> {
    let first = reader.word(cutting, "first");
    let stages = reader.count(cutting, "stages");
    let keys = ["rip_kerf", "crosscut_kerf"];
    let own = keys.map(|key| reader.length(cutting, key));
    blades(reader, cutting, &keys, &own);
    let [rip_kerf, crosscut_kerf] = own.map(|own| own.unwrap_or(kerf));
    let keep = if cutting.written("keep").is_some() {
        reader.pair(cutting, "keep")
    } else {
        // Long enough for the planer and wide enough for a shelf's edge: the shop's own figure is better.
        let usual = match reader.system {
            System::Metric => [Length::from_mm(400), Length::from_mm(150)],
            System::Inch => [Length::INCH * 16, Length::INCH * 6],
        };
        reader.assume("cutting.keep", &usual.map(|length| length.show(reader.system)).join(", "));
        Some(usual)
    };
    let first = match first? {
        "rip" => First::Rip,
        "crosscut" => First::Crosscut,
        _ => First::Either,
    };
    Some(Cutting { first, stages: u8::try_from(stages?).ok()?, rip_kerf, crosscut_kerf, keep })
}

/// Refuses to add up what is priced and what is only counted: the cheapest would be what has no price.
fn priced_alike(reader: &mut Reader<'_>, sheets: &[Sheet], lumber: &[Lumber]) {
    let sheets = sheets.iter().filter_map(|s| Some(("sheet", s.place?, &s.name, s.price, s.priced)));
    let lumber = lumber.iter().map(|l| ("lumber", l.place, &l.name, l.price, l.priced));
    let all: Vec<_> = sheets.chain(lumber).collect();
    let Some(&(_, _, dear, price, _)) = all.iter().find(|one| one.4 && one.3 > Money::ZERO) else { return };
    for &(what, place, name, _, _) in all.iter().filter(|one| !one.4) {
        reader.fault(place, "", wording::no_price(what, name, dear, price));
    }
}

/// In square nanometres.
const SQUARE_METRE: i128 = 1_000_000_000_000_000_000;

fn read_sheets(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Vec<Sheet> {
    let before = reader.faults.len();
    let sheets = read_all(reader, fields, "sheets", read_sheet);
    // Bases and sticks are cut from lumber; everything else needs sheets.
    let from_lumber = ["bases", "sticks"].iter().any(|key| fields.written(key).is_some());
    let from_sheets = ["tops", "parts"].iter().any(|key| fields.written(key).is_some());
    if fields.written("sheets").is_none() && (from_sheets || !from_lumber) {
        let about = "Sheets that may be bought, and offcuts on hand at price 0.";
        reader.fault(fields.place, "", wording::missing("sheets", about));
    }
    if let Some(list) = fields.written("sheets").and_then(|value| value.as_array())
        && list.elements.is_empty()
    {
        let place = reader.place(list);
        reader.fault(place, "sheets", wording::empty_list("sheet"));
    }
    // What a faulty sheet is called or measures is not known; whoever refers to it is not to blame.
    reader.unsure = reader.faults.len() > before;
    sheets
}

fn read_sheet(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Sheet> {
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
fn thicknesses(sheets: &[Sheet]) -> Vec<Length> {
    let mut all: Vec<Length> = sheets.iter().filter_map(|sheet| sheet.thickness).collect();
    all.sort();
    all.dedup();
    all
}

fn read_top(reader: &mut Reader<'_>, fields: &Fields<'_>, sheets: &[Sheet]) -> Option<Top> {
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
    let system = reader.system;
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
    let Some(first) = alike.next() else {
        return refuse(wording::no_such_thickness(thickness, &known, system));
    };
    if alike.any(|sheet| sheet.real_thickness() != first.real_thickness()) {
        return refuse(wording::uneven_measures(thickness, system));
    }
    Some(vec![Lamination::Thickness(thickness)])
}

fn read_outline(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Outline> {
    match fields.kind() {
        "round" => Some(Outline::Round { diameter: reader.length(fields, "diameter")? }),
        "polygon" => {
            let sides = reader.count(fields, "sides");
            let [flats, corners] = ["across_flats", "across_corners"].map(|key| reader.length(fields, key));
            check_one_of(reader, fields, "across_flats", "across_corners");
            let size = flats.map(Across::Flats).or(corners.map(Across::Corners));
            Some(Outline::Polygon { sides: sides?, size: size? })
        }
        "points" => Some(Outline::Free { points: reader.points(fields, "points") }),
        kind => {
            let [length, width] = ["length", "width"].map(|key| reader.length(fields, key));
            if kind == "oval" {
                return Some(Outline::Oval { length: length?, width: width? });
            }
            let radius = reader.length(fields, "radius");
            let (length, width, radius) = (length?, width?, radius?);
            let most = Length::from_nm(length.min(width).nm() / 2);
            if radius > most {
                let text = wording::corner_too_large(radius, most, reader.system);
                reader.fault(fields.place, fields.key("radius"), text);
            }
            if radius.is_positive() {
                Some(Outline::RoundedRectangle { length, width, radius })
            } else {
                Some(Outline::Rectangle { length, width })
            }
        }
    }
}

/// Sees that exactly one of two keys is given.
fn check_one_of(reader: &mut Reader<'_>, fields: &Fields<'_>, first: &str, second: &str) {
    let given = [first, second].map(|key| fields.written(key).is_some());
    if given[0] == given[1] {
        reader.fault(fields.place, fields.key(first), wording::one_of(first, second, given[0]));
    }
}

fn read_pattern(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Pattern> {
    let angle = |reader: &mut Reader<'_>, key| reader.number(fields, key).map(Angle::degrees);
    match fields.kind() {
        "straight" => Some(Pattern::Straight { angle: angle(reader, "angle")? }),
        "sunburst" => {
            let wedges = reader.count(fields, "wedges");
            Some(Pattern::Sunburst { wedges: wedges?, lay: read_lay(reader, fields)? })
        }
        kind @ ("chevron" | "diamond") => {
            let angle = angle(reader, "angle");
            let width = reader.length(fields, "band").map(BandSize::Width);
            let bands = width.or(reader.count(fields, "bands").map(BandSize::Number));
            let neither = ["band", "bands"].iter().all(|key| fields.written(key).is_none());
            if kind == "diamond" {
                if !neither {
                    check_one_of(reader, fields, "band", "bands");
                }
                return Some(Pattern::Diamond { angle: angle?, bands });
            }
            check_one_of(reader, fields, "band", "bands");
            let centre = reader.word(fields, "centre").map(|word| match word {
                "band" => Centre::Band,
                _ => Centre::Seam,
            });
            Some(Pattern::Chevron { angle: angle?, bands: bands?, centre })
        }
        "basket weave" => {
            let lay = read_lay(reader, fields);
            check_one_of(reader, fields, "width", "laminations");
            let width = reader.length(fields, "width").map(Side::Given);
            let width = width.or(reader.count(fields, "laminations").map(Side::Laminations));
            let blocks = reader.count(fields, "blocks");
            let turn = angle(reader, "turn");
            Some(Pattern::BasketWeave { width: width?, blocks: blocks?, lay: lay?, turn: turn? })
        }
        kind => {
            let lay = read_lay(reader, fields);
            let [width, length] = ["width", "length"].map(|key| reader.length(fields, key).map(Side::Given));
            let stacked = reader.count(fields, "laminations").map(Side::Laminations);
            let others =
                (kind == "running bond").then(|| (reader.count(fields, "set_over"), angle(reader, "turn")));
            // Laminations stack along the short side when they lie along the block, along the long side otherwise.
            let (width, length) = match lay? {
                Lay::Along => {
                    check_one_of(reader, fields, "width", "laminations");
                    (width.or(stacked), length)
                }
                Lay::Across => {
                    check_one_of(reader, fields, "length", "laminations");
                    (width, length.or(stacked))
                }
            };
            let other = if lay? == Lay::Along { ("length", length) } else { ("width", width) };
            if other.1.is_none() && fields.written(other.0).is_none() {
                let text = wording::missing(other.0, "It is the side of a block along its laminations.");
                reader.fault(fields.place, fields.key(other.0), text);
            }
            let (width, length, lay) = (width?, length?, lay?);
            Some(match others {
                None => Pattern::Herringbone { width, length, lay },
                Some((set_over, turn)) => {
                    Pattern::RunningBond { width, length, lay, offset: (1, set_over?), turn: turn? }
                }
            })
        }
    }
}

fn read_lay(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Lay> {
    reader.word(fields, "lay").map(|word| if word == "across" { Lay::Across } else { Lay::Along })
}

fn read_part(reader: &mut Reader<'_>, fields: &Fields<'_>, sheets: &[Sheet]) -> Option<Part> {
    let name = reader.text(fields, "name");
    let [length, width, thickness] = ["length", "width", "thickness"].map(|key| reader.length(fields, key));
    let count = reader.count(fields, "count");
    let may_turn = reader.flag(fields, "may_turn");
    let grain = reader.word(fields, "grain");
    if may_turn == Some(true) && grain == Some("length") {
        reader.fault(fields.place, fields.key("grain"), wording::grain_and_turn());
    }
    let named = read_names(reader, fields, "sheets", "sheet", sheets.iter().map(|sheet| sheet.name.as_str()));
    let known = thicknesses(sheets);
    if let (Some(found), Some(value)) = (thickness, fields.written("thickness"))
        && !known.contains(&found)
        && !reader.unsure
    {
        let place = reader.place(value);
        let text = wording::no_such_thickness(found, &known, reader.system);
        reader.fault(place, fields.key("thickness"), text);
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

fn read_lumber(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Lumber> {
    let name = reader.text(fields, "name");
    let section = reader.pair(fields, "section");
    let length = reader.length(fields, "length");
    let price = reader.money(fields, "price");
    let limit = reader.count(fields, "limit");
    let priced = fields.written("price").is_some();
    Some(Lumber { place: fields.place, name: name?, section, length: length?, price: price?, priced, limit })
}

fn read_stick(reader: &mut Reader<'_>, fields: &Fields<'_>, lumber: &[Lumber]) -> Option<Stick> {
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

#[cfg(test)]
mod tests {
    use super::*;

    /// The faults of a job, one a line.
    fn faults(text: &str) -> Vec<String> {
        Job::read(text).unwrap_err().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn reads_the_demo_job() {
        let job = Job::read(include_str!("../../../fixtures/two-counters/job.json")).unwrap();
        assert_eq!(job.sheets[1].price, Money::from_minor(5100));
        assert_eq!(job.cutting.rip_kerf, Length::from_um(3200));
        assert_eq!(job.parts[0].sheets, [0, 1]);
        assert!(!job.parts[0].may_turn && job.parts[1].may_turn && !job.parts[2].may_turn);
        assert!(job.assumed.iter().any(|a| a.key == "cutting.stages" && a.value == "3"));
        assert!(!job.assumed.iter().any(|a| a.key == "shop.table_saw.kerf"));
    }

    #[test]
    fn bare_numbers_are_in_the_job_units_wherever_units_stands() {
        let job = Job::read(
            r#"{"sheets":[{"name":"a","length":96,"width":48}],"parts":[{"name":"p","length":12,"width":"3/4"}],"units":"in"}"#,
        )
        .unwrap();
        assert_eq!(job.sheets[0].length, Length::INCH * 96);
        assert_eq!(job.parts[0].width, Length::from_nm(19_050_000));
        assert_eq!(job.mark, Length::from_nm(793_750));
    }

    #[test]
    fn gathers_all_faults_with_their_places() {
        let found = faults(
            "{\n \"sheets\": [{\"name\": \"a\", \"lenght\": \"2440 mm\", \"width\": \"-3 mm\"}],\n \"parts\": [{\"name\": \"\", \"length\": 0, \"width\": [], \"count\": 1.5}]\n}",
        );
        let expected = [
            "line 2, column 13: `sheets[0]`: `length` is missing",
            "line 2, column 27: `sheets[0]`: `lenght` is not a key of this sheet; did you mean `length`?",
            "line 2, column 57: `sheets[0].width`: `-3 mm` is below zero",
            "line 3, column 21: `parts[0].name`: found empty text",
            "line 3, column 35: `parts[0].length`: found a length of zero",
            "line 3, column 47: `parts[0].width`: found a list, where a length",
            "line 3, column 60: `parts[0].count`: found 1.5, where a whole number from 1 to 100000",
        ];
        assert_eq!(found.len(), expected.len(), "{found:#?}");
        for (found, start) in found.iter().zip(expected) {
            assert!(found.starts_with(start), "{found}");
        }
    }

    #[test]
    fn a_kerf_is_one_that_a_blade_cuts() {
        let job = |kerf: &str| {
            format!(
                r#"{{"shop":{{"table_saw":{{"kerf":"{kerf}"}}}},"cutting":{{"rip_kerf":"3 cm"}},
                    "sheets":[{{"name":"a","length":2440,"width":1220}}],"parts":[{{"name":"p","length":120,"width":120}}]}}"#
            )
        };
        assert_eq!(faults(&job("20 mm")).len(), 1);
        assert_eq!(
            faults(&job("32 cm")),
            [
                "line 1, column 30: `shop.table_saw.kerf`: found a kerf of 320 mm, and no blade cuts more than 20 mm at once; \
                 look at the unit",
                "line 1, column 62: `cutting.rip_kerf`: found a kerf of 30 mm, and no blade cuts more than 20 mm at once; \
                 look at the unit",
            ]
        );
    }

    #[test]
    fn all_is_priced_or_nothing_is() {
        let job = |a: &str, b: &str, lumber: &str| {
            format!(
                r#"{{"sheets":[{{"name":"a","length":2440,"width":1220{a}}},{{"name":"b","length":600,"width":300{b}}}],
                    "lumber":[{{"name":"c","length":2400{lumber}}}],"parts":[{{"name":"p","length":120,"width":120}}]}}"#
            )
        };
        let priced = r#","price":"9.50""#;
        assert!(Job::read(&job("", "", "")).is_ok());
        assert!(Job::read(&job(priced, priced, priced)).is_ok());
        assert!(Job::read(&job("", r#","price":0"#, "")).is_ok(), "an offcut on hand is free");
        assert_eq!(faults(&job(priced, "", "")).len(), 2);
        assert_eq!(
            faults(&job(priced, r#","price":0"#, "")),
            [
                "line 2, column 31: `c` has no price, and `a` costs 9.50: give this lumber its price, 0 if it is at \
              hand; or leave out every price, and sheets and sticks are counted"
            ]
        );
    }

    #[test]
    fn what_is_not_json_says_where() {
        assert_eq!(faults("{\"sheets\": [}")[0].split(':').next(), Some("line 1, column 13"));
        assert!(faults("")[0].starts_with("the job is empty"));
        assert!(faults(&"[".repeat(100_000))[0].contains("nesting depth"));
        assert!(faults("[]")[0].contains("found a list, where an object"));
    }

    #[test]
    fn offcuts_join_the_sheets_of_their_thickness() {
        let mut job = Job::read(
            r#"{"sheets":[{"name":"a","length":2440,"width":1220,"thickness":18,"price":9}],
                "parts":[{"name":"p","length":12,"width":12,"thickness":18}]}"#,
        )
        .unwrap();
        job.add_offcuts(r#"[{"name":"o","length":300,"width":200,"thickness":18}]"#).unwrap();
        assert_eq!((job.sheets[1].price, job.sheets[1].limit), (Money::ZERO, Some(1)));
        assert_eq!(job.parts[0].sheets, [0, 1]);
        assert!(job.add_offcuts(r#"[{"name":"o","length":300,"width":200}]"#).is_err());
    }

    #[test]
    fn offcuts_are_held_to_what_the_sheets_are() {
        let job = |sheet: &str| {
            let sheet = format!(r#"{{"name":"a","length":2440,"width":1220,"thickness":18{sheet}}}"#);
            let top = r#"{"name":"t","finished":20,"outline":{"kind":"round","diameter":300},
                "pattern":{"kind":"chevron","angle":45,"band":60}}"#;
            Job::read(&format!(r#"{{"sheets":[{sheet}],"tops":[{top}]}}"#)).unwrap()
        };
        let told = |mut job: Job, offcuts: &str| match job.add_offcuts(offcuts) {
            Ok(()) => String::new(),
            Err(faults) => faults.iter().map(|fault| format!("{} {}", fault.key, fault.text)).collect(),
        };
        let offcut =
            |more: &str| format!(r#"[{{"name":"o","length":900,"width":600,"thickness":18{more}}}]"#);
        assert_eq!(told(job(""), &offcut("")), "");
        assert_eq!(told(job(r#","measured":17.5"#), &offcut(r#","measured":17.5"#)), "");
        let thin = told(job(""), &offcut(r#","measured":16"#));
        assert!(thin.starts_with("[0].measured `o` is 16 mm thick and `a` 18 mm"), "{thin}");
        assert!(told(job(r#","measured":17.5"#), &offcut("")).contains("`o` is 18 mm thick and `a` 17.5 mm"));
        assert!(told(job(""), &offcut(r#","price":9"#)).starts_with("[0].price offcut `o` has a price"));
        assert_eq!(told(job(r#","price":40"#), &offcut(r#","price":9"#)), "");
        let many: Vec<String> =
            (0..201).map(|n| format!(r#"{{"name":"{n}","length":9,"width":9}}"#)).collect();
        assert!(told(job(""), &format!("[{}]", many.join(","))).contains("found a list of 201"));
        let mut parts = Job::read(
            r#"{"sheets":[{"name":"a","length":300,"width":20}],"parts":[{"name":"p","length":5,"width":5,"count":99999}]}"#,
        )
        .unwrap();
        let faults = parts.add_offcuts(r#"[{"name":"o","length":24400,"width":12200}]"#).unwrap_err();
        assert!(faults[0].key == "parts[0]" && faults[0].place.is_none(), "{faults:?}");
    }

    #[test]
    fn sheets_of_a_slab_measure_alike_whether_their_thickness_is_written_or_not() {
        for named in ["", r#""sheet_thickness":18,"#] {
            let found = faults(&format!(
                r#"{{"sheets":[{{"name":"a","length":2440,"width":1220,"thickness":18,"measured":17.5}},
                    {{"name":"b","length":2440,"width":1220,"thickness":18,"measured":18.2}}],
                    "tops":[{{"name":"t",{named}"finished":20,"outline":{{"kind":"round","diameter":300}},
                    "pattern":{{"kind":"chevron","angle":45,"band":60}}}}]}}"#
            ));
            assert_eq!(found.len(), 1, "{found:?}");
            assert!(found[0].contains("sheets of 18 mm measure differently"), "{found:?}");
        }
    }

    #[test]
    fn faults_behind_others_are_found_with_them() {
        let found = faults(
            r#"{"sheets":[{"name":"a","length":2440,"width":1220,"thickness":18,"trim":{"lft":1},"density":9}],
                "cutting":{"keep":[1,2,3]},
                "tops":[{"name":"t","finished":20,"outline":{"kind":"round","diameter":300},
                "pattern":{"kind":"running bond","lay":"up","width":60,"length":"x","set_over":99}}]}"#,
        );
        let about = |key: &str| found.iter().filter(|fault| fault.contains(key)).count();
        for key in ["`lft`", ".density`", "cutting.keep`", ".lay`", ".length`", ".set_over`"] {
            assert_eq!(about(key), 1, "{key}: {found:#?}");
        }
    }
}
