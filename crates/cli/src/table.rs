//! Tables for the terminal: plain columns, no colour, no frames.

use comfy_table::{CellAlignment, Table, presets};

/// Columns with headings; those named in `right` hold numbers and are set to the right.
pub(crate) fn table(headings: &[&str], right: &[usize], rows: Vec<Vec<String>>) -> String {
    let mut table = Table::new();
    table.load_preset(presets::NOTHING);
    if headings.iter().any(|heading| !heading.is_empty()) {
        table.set_header(headings.iter().copied());
    }
    table.add_rows(rows);
    for (n, column) in table.column_iter_mut().enumerate() {
        column.set_padding((if n == 0 { 0 } else { 2 }, 0));
        if right.contains(&n) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_string()).collect();
    lines.join("\n") + "\n"
}
