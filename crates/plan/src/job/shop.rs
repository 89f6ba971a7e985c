//! The shop: its smallest mark, machines, glue, clamps and allowances; and the rules of cutting.

use stripwright_pattern::{Clamp, Drum, Glue, Planer, RouterSled};
use stripwright_units::{Length, System};

use crate::keys;
use crate::plan::First;
use crate::rates::{self, Reckoning};
use crate::reader::{Fields, Reader};
use crate::wording;

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

pub(super) fn read_mark(reader: &mut Reader<'_>, fields: &Fields<'_>) -> Option<Length> {
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

pub(super) fn read_shop(reader: &mut Reader<'_>, shop: &Fields<'_>, mark: Length) -> Option<(Length, Shop)> {
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

pub(super) fn read_cutting(reader: &mut Reader<'_>, cutting: &Fields<'_>, kerf: Length) -> Option<Cutting> {
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
