//! Lists that come to more, and parts that are smaller, than a plan is made for.

use stripwright_packing::audit::MOST_PLACED;
use stripwright_units::Length;

use super::{Part, Sheet};
use crate::fault::Place;
use crate::keys;
use crate::reader::Reader;
use crate::wording;

/// Refuses a list whose counts come to more than a plan is made for.
pub(super) fn within_all(reader: &mut Reader<'_>, name: &str, counts: impl Iterator<Item = (u32, Place)>) {
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

/// Refuses parts too small for the sheets that they may be cut from.
pub(super) fn parts_on_sheets(reader: &mut Reader<'_>, parts: &[Part], sheets: &[Sheet], kerf: Length) {
    let of_parts = parts.iter().enumerate().map(|(n, part)| {
        let from =
            part.sheets.iter().map(|&s| (sheets[s].length.max(sheets[s].width), sheets[s].name.as_str()));
        let side = part.length.min(part.width);
        (format!("parts[{n}]"), part.place, part.name.as_str(), side, part.count, from.max())
    });
    not_like_dust(reader, of_parts, kerf);
    not_like_sand(reader, sheets, parts, kerf);
}

/// Refuses what is so short that more lie side by side than a search adds up. Each has its key, place, name, shortest
/// side, count and the longest sides that it may be cut from, with their names.
pub(super) fn not_like_dust<'n>(
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
