//! Offcuts on hand: sheets in a file of their own that join those of the job.

use stripwright_units::Money;

use super::sheets::{read_sheet, thickness_is_known};
use super::smallness::parts_on_sheets;
use super::{Job, Lamination, Sheet, Top};
use crate::fault::{Fault, in_reading_order};
use crate::keys;
use crate::reader::{Fields, Reader, parse};
use crate::wording;

impl Job {
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
            self.thicknesses_are_known(&mut reader, &all);
            parts_on_sheets(&mut reader, &parts, &all, self.cutting.rip_kerf.min(self.cutting.crosscut_kerf));
            // Tops and parts are written elsewhere.
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

    /// Refuses what is wanted of a thickness that neither sheets nor offcuts have.
    fn thicknesses_are_known(&self, reader: &mut Reader<'_>, sheets: &[Sheet]) {
        for (n, part) in self.parts.iter().enumerate() {
            if let Some(thickness) = part.thickness {
                thickness_is_known(reader, part.place, format!("parts[{n}].thickness"), thickness, sheets);
            }
        }
        for (n, top) in self.tops.iter().enumerate() {
            if let [Lamination::Thickness(thickness)] = top.sequence[..] {
                thickness_is_known(
                    reader,
                    top.place,
                    format!("tops[{n}].sheet_thickness"),
                    thickness,
                    sheets,
                );
            }
        }
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
