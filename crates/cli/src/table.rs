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

/// The heading of a column of money in the job's currency.
pub(crate) fn money(currency: &str) -> String {
    if currency == "money" { currency.to_string() } else { format!("money ({currency})") }
}

/// Columns of a terminal that nobody has made wider.
const COLUMNS: usize = 80;

/// Words on lines of at most 80 columns; every line but the first begins with `indent`.
pub(crate) fn fold(words: &str, indent: &str) -> String {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        let line = lines.last().map_or(0, |line| line.chars().count());
        if line > indent.len() && line + 1 + word.chars().count() > COLUMNS {
            lines.push(indent.to_string());
        }
        if let Some(line) = lines.last_mut() {
            if !line.trim().is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n")
}
