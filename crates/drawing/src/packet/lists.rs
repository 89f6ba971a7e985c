//! Lists for other programs: `cut-list.csv`, `buy.csv`, `offcuts.json`.
//!
//! Lengths are in millimetres with a point, and in inches beside them; money is in whole units of the currency with
//! two decimals. A cell that a spreadsheet would take for a formula is written with an apostrophe before it.

use serde_json::{Value, json};
use stripwright_plan::plan::Plan;
use stripwright_plan::words::letter;
use stripwright_units::{Length, Money};

use crate::boards;
use crate::rip::sheet_of;

/// Pieces of one size on one layout or board.
#[derive(Clone, Debug, PartialEq)]
pub struct CutLine {
    /// Letter on the drawings.
    pub letter: String,
    /// Name of the part, or id of the strip size.
    pub part: String,
    /// Sheet or lumber it is cut from.
    pub sheet: String,
    /// Number of the layout, `board` and its number for lumber.
    pub layout: String,
    /// The part's own length.
    pub length: Length,
    /// The part's own width; none for a length of lumber that keeps the section it has.
    pub width: Option<Length>,
    /// Its thickness, where the plan knows it.
    pub thickness: Option<Length>,
    /// How many on one sheet or board.
    pub each: u32,
    /// How many sheets or boards are cut that way.
    pub times: u32,
}

/// Every piece of every layout and board, like ones together, in order of letters.
pub fn cut_lines(plan: &Plan) -> Vec<CutLine> {
    let mut lines = sheet_lines(plan);
    lines.extend(board_lines(plan));
    lines
}

fn sheet_lines(plan: &Plan) -> Vec<CutLine> {
    let mut lines: Vec<(usize, CutLine)> = Vec::new();
    for (i, layout) in plan.layouts.iter().enumerate() {
        let thickness = sheet_of(plan, layout).thickness.map(|t| *t);
        for piece in &layout.pieces {
            let (length, width) =
                if piece.turned { (*piece.width, *piece.length) } else { (*piece.length, *piece.width) };
            let same = lines.iter_mut().find(|(n, l)| {
                *n == i && l.part == piece.part && l.length == length && l.width == Some(width)
            });
            match same {
                Some((_, line)) => line.each += 1,
                None => lines.push((
                    i,
                    CutLine {
                        letter: letter(plan, &piece.part),
                        part: piece.part.clone(),
                        sheet: layout.sheet.clone(),
                        layout: (i + 1).to_string(),
                        length,
                        width: Some(width),
                        thickness,
                        each: 1,
                        times: layout.times,
                    },
                )),
            }
        }
    }
    let order = |part: &str| plan.demands.iter().position(|d| d.id == part).unwrap_or(usize::MAX);
    lines.sort_by_key(|(layout, line)| (order(&line.part), *layout));
    lines.into_iter().map(|(_, line)| line).collect()
}

fn board_lines(plan: &Plan) -> Vec<CutLine> {
    let mut lines = Vec::new();
    for (index, part) in boards::parts(plan).into_iter().enumerate() {
        for (n, stick) in plan.sticks.iter().enumerate() {
            let each: u32 = stick.pieces.iter().filter(|p| part.is(p)).map(|p| p.layers).sum();
            if each > 0 {
                lines.push(CutLine {
                    letter: boards::letter(plan, index),
                    part: part.name.clone(),
                    sheet: stick.lumber.clone(),
                    layout: format!("board {}", n + 1),
                    length: part.length,
                    width: part.ripped.then_some(part.width),
                    thickness: sawn_thickness(plan, &stick.lumber, &part.name),
                    each,
                    times: stick.times,
                });
            }
        }
    }
    lines
}

/// How thick the sticks of a part are sawn from a kind of lumber; none where they keep its own thickness.
fn sawn_thickness(plan: &Plan, lumber: &str, part: &str) -> Option<Length> {
    let yields = &plan.boards.as_ref()?.yields;
    let found = yields.iter().find(|y| y.lumber == lumber && y.parts.iter().any(|p| p == part))?;
    Some(*found.sawn[1])
}

/// Offcuts of one size from one kind of sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// The sheet they come from.
    pub sheet: String,
    /// Along the face grain.
    pub length: Length,
    /// Across it.
    pub width: Length,
    /// Thickness as sold, where known.
    pub thickness: Option<Length>,
    /// Thickness as measured, where known.
    pub measured: Option<Length>,
    /// How many.
    pub count: u32,
}

/// The offcuts worth keeping, largest first within a sheet.
pub fn kept(plan: &Plan) -> Vec<Kept> {
    let mut all: Vec<Kept> = Vec::new();
    for layout in &plan.layouts {
        let sheet = sheet_of(plan, layout);
        let [thickness, measured] = [sheet.thickness, sheet.measured].map(|t| t.map(|t| *t));
        for offcut in layout.offcuts.iter().filter(|o| o.keep) {
            let (length, width) = (*offcut.length, *offcut.width);
            match all.iter_mut().find(|k| k.sheet == layout.sheet && k.length == length && k.width == width) {
                Some(kept) => kept.count += layout.times,
                None => all.push(Kept {
                    sheet: layout.sheet.clone(),
                    length,
                    width,
                    thickness,
                    measured,
                    count: layout.times,
                }),
            }
        }
    }
    all.sort_by_key(|k| (k.sheet.clone(), std::cmp::Reverse(k.length.area_nm2(k.width)), k.length));
    all
}

/// `cut-list.csv`: the pieces of the sheets, then those of the boards, which have `board` before the number in `layout`.
///
/// # Errors
/// None that writing to memory can meet; the sentence says what the writer said.
pub fn cut_list(plan: &Plan) -> Result<Vec<u8>, String> {
    let mut rows = vec![
        [
            "letter",
            "part",
            "sheet",
            "layout",
            "length_mm",
            "width_mm",
            "length_in",
            "width_in",
            "each_sheet",
            "sheets",
            "count",
            "thickness_mm",
            "thickness_in",
        ]
        .map(String::from)
        .to_vec(),
    ];
    let mm = |l: Option<Length>| l.map_or(String::new(), Length::mm_digits);
    let inches = |l: Option<Length>| l.map_or(String::new(), Length::inch_digits);
    for line in cut_lines(plan) {
        rows.push(vec![
            line.letter,
            line.part,
            line.sheet,
            line.layout,
            line.length.mm_digits(),
            mm(line.width),
            line.length.inch_digits(),
            inches(line.width),
            line.each.to_string(),
            line.times.to_string(),
            (line.each * line.times).to_string(),
            mm(line.thickness),
            inches(line.thickness),
        ]);
    }
    csv(rows)
}

/// `buy.csv`: sheets and lumber, then glue, finish and hardware where the plan prices them.
///
/// # Errors
/// As [`cut_list`].
pub fn buy(plan: &Plan) -> Result<Vec<u8>, String> {
    let header = ["group", "what", "quantity", "unit", "each", "amount", "currency"];
    let mut rows = vec![header.map(String::from).to_vec()];
    // What is only counted has no money.
    let priced = |amount: Money| if plan.priced() { amount.to_string() } else { String::new() };
    for sheet in &plan.buy.sheets {
        rows.push(vec![
            "sheets".into(),
            sheet.name.clone(),
            sheet.count.to_string(),
            "sheets".into(),
            priced(*sheet.price),
            priced(*sheet.price * i64::from(sheet.count)),
            plan.currency.clone(),
        ]);
    }
    for stick in &plan.buy.lumber {
        rows.push(vec![
            "lumber".into(),
            stick.name.clone(),
            stick.count.to_string(),
            format!("sticks of {} mm", stick.length.mm_digits()),
            priced(*stick.price),
            priced(*stick.price * i64::from(stick.count)),
            plan.currency.clone(),
        ]);
    }
    for line in
        plan.prices.lines.iter().filter(|l| ["glue", "finish", "hardware"].contains(&l.group.as_str()))
    {
        rows.push(vec![
            line.group.clone(),
            line.name.clone(),
            crate::packet::content::figure(line.quantity),
            line.unit.clone(),
            line.each.to_string(),
            line.amount.to_string(),
            plan.currency.clone(),
        ]);
    }
    csv(rows)
}

fn csv(rows: Vec<Vec<String>>) -> Result<Vec<u8>, String> {
    let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let failed = |e: String| format!("a list could not be written: {e}");
    for row in rows {
        writer.write_record(row.iter().map(|c| guarded(c))).map_err(|e| failed(e.to_string()))?;
    }
    writer.into_inner().map_err(|e| failed(e.to_string()))
}

/// Words that begin like a formula get an apostrophe; negative amounts are figures and stay.
fn guarded(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let figure = cell.parse::<f64>().is_ok();
    if formula && !figure { format!("'{cell}") } else { cell.to_string() }
}

/// The sheet that an offcut was part of in the beginning: `birch 18` for `offcut 900 x 400 of birch 18`.
fn first_sheet(name: &str) -> &str {
    name.strip_prefix("offcut ").and_then(|rest| rest.split_once(" of ")).map_or(name, |(_, sheet)| sheet)
}

/// Offcuts for another job: what is left of an offcut is called after the sheet that it was part of, too, and counted with its like.
fn for_the_next(plan: &Plan) -> Vec<Kept> {
    let mut all: Vec<Kept> = Vec::new();
    for mut own in kept(plan) {
        own.sheet = first_sheet(&own.sheet).to_string();
        let alike = |k: &&mut Kept| Kept { count: own.count, ..(**k).clone() } == own;
        match all.iter_mut().find(alike) {
            Some(known) => known.count += own.count,
            None => all.push(own),
        }
    }
    all
}

/// `offcuts.json`: the offcuts as sheets for the next job's `offcuts` key, at no price.
pub fn offcuts(plan: &Plan) -> Vec<u8> {
    let list: Vec<Value> = for_the_next(plan)
        .into_iter()
        .map(|k| {
            let size = format!("{} x {}", k.length.mm_digits(), k.width.mm_digits());
            let mm = |l: Length| format!("{} mm", l.mm_digits());
            let mut entry = json!({
                "name": format!("offcut {size} of {}", k.sheet),
                "length": mm(k.length),
                "width": mm(k.width),
                "price": "0",
                "limit": k.count,
            });
            for (key, thickness) in [("thickness", k.thickness), ("measured", k.measured)] {
                if let Some(thickness) = thickness {
                    entry[key] = json!(mm(thickness));
                }
            }
            entry
        })
        .collect();
    let mut text = serde_json::to_string_pretty(&list).unwrap_or_default();
    text.push('\n');
    text.into_bytes()
}

#[cfg(test)]
mod tests {
    use super::{first_sheet, guarded};

    #[test]
    fn what_is_left_of_an_offcut_keeps_its_sheets_name() {
        assert_eq!(first_sheet("birch 18"), "birch 18");
        assert_eq!(first_sheet("offcut 900 x 400 of birch 18"), "birch 18");
        assert_eq!(first_sheet("offcut of a friend"), "offcut of a friend");
    }

    #[test]
    fn formulas_are_words() {
        let table = [
            ("=1+1", "'=1+1"),
            ("@cmd", "'@cmd"),
            ("-5.00", "-5.00"),
            ("-a", "'-a"),
            ("shelf", "shelf"),
            ("+49", "+49"),
        ];
        for (cell, safe) in table {
            assert_eq!(guarded(cell), safe);
        }
    }
}
