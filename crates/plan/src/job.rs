//! `job.json`: a checked job, and how it is read.
//!
//! Reading gathers every fault, each with its line and column. A [`Job`] that exists has none: later stages need not
//! ask again whether a size is above zero or a name is known.

use stripwright_units::{Length, System};

use crate::base;
use crate::fault::{Fault, Place, in_reading_order};
use crate::keys;
use crate::plan::Assumed;
use crate::reader::{Fields, Reader, parse};
use crate::wording;

mod offcuts;
mod parts;
mod pattern;
mod sheets;
mod shop;
mod smallness;
mod tops;

pub use parts::{Lumber, Part, Stick};
pub use sheets::Sheet;
pub(crate) use sheets::USUAL_DENSITY;
pub use shop::{Cutting, Shop};
pub use tops::{Lamination, Top};

use parts::{read_lumber, read_part, read_stick};
use sheets::{priced_alike, read_sheets};
use shop::{read_cutting, read_mark, read_shop};
use smallness::{not_like_dust, parts_on_sheets, within_all};
use tops::read_top;

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
    let offcuts = reader.text(fields, "offcuts");
    reader.more_sheets = offcuts.is_some();
    let sheets = read_sheets(reader, fields);
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

#[cfg(test)]
mod tests {
    use super::*;
    use stripwright_units::Money;

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

    /// A job may be made of offcuts alone, or want of a thickness that only an offcut has.
    #[test]
    fn what_only_offcuts_have_is_known_when_they_are_added() {
        let job = |sheets: &str| {
            let top = r#"{"name":"t","finished":20,"sheet_thickness":18,"outline":{"kind":"round","diameter":300},
                "pattern":{"kind":"chevron","angle":45,"band":60}}"#;
            let part = r#"{"name":"p","length":120,"width":120,"thickness":18}"#;
            Job::read(&format!(r#"{{{sheets}"offcuts":"o.json","tops":[{top}],"parts":[{part}]}}"#)).unwrap()
        };
        let of =
            |thickness: u32| format!(r#"[{{"name":"o","length":900,"width":600,"thickness":{thickness}}}]"#);
        for sheets in
            ["", r#""sheets":[],"#, r#""sheets":[{"name":"a","length":900,"width":600,"thickness":9}],"#]
        {
            let mut known = job(sheets);
            known.add_offcuts(&of(18)).unwrap();
            assert_eq!(known.parts[0].sheets, [known.sheets.len() - 1]);
            let told: Vec<String> =
                job(sheets).add_offcuts(&of(12)).unwrap_err().into_iter().map(|fault| fault.key).collect();
            assert_eq!(told, ["parts[0].thickness", "tops[0].sheet_thickness"]);
        }
    }

    /// A board of 95 by 45 is one of 45 by 95.
    #[test]
    fn a_section_may_be_written_either_way_round() {
        let section = |written: &str| {
            let lumber = format!(r#"[{{"name":"l","length":2400,"section":{written}}}]"#);
            let job = format!(r#"{{"lumber":{lumber},"sticks":[{{"name":"s","length":120}}]}}"#);
            Job::read(&job).unwrap().lumber[0].section
        };
        assert_eq!(section("[45,95]"), Some([Length::from_mm(95), Length::from_mm(45)]));
        assert_eq!(section("[95,45]"), section("[45,95]"));
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
