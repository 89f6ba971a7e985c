//! How a board is sawn, read off the places of its pieces: into lengths, each length into lanes, each lane into pieces.

use stripwright_units::Length;

use crate::plan::{Stick, StickPiece};
use crate::words::{Words, join};

/// A lane of a board's length: ripped to its widest piece, then crosscut.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardLane<'a> {
    /// From the board's edge before squaring.
    pub from: Length,
    /// As ripped.
    pub width: Length,
    /// From the left.
    pub pieces: Vec<&'a StickPiece>,
}

impl BoardLane<'_> {
    /// False for plain lengths, which keep the board's width.
    #[must_use]
    pub fn ripped(&self) -> bool {
        self.from.is_positive()
    }
}

/// A length of a board with its lanes, from the squared edge.
#[derive(Clone, Debug, PartialEq)]
pub struct BoardLength<'a> {
    /// From the board's left end.
    pub from: Length,
    /// Where it is crosscut off, from its own left end; `None` for the last, which is what is left.
    pub cut: Option<Length>,
    /// At least one.
    pub lanes: Vec<BoardLane<'a>>,
}

/// The lengths of a board, from its left end, as few as will do: neighbours that are ripped alike are ripped in one.
#[must_use]
pub fn lengths(stick: &Stick) -> Vec<BoardLength<'_>> {
    let mut pieces: Vec<&StickPiece> = stick.pieces.iter().collect();
    pieces.sort_by_key(|p| (p.x, p.y));
    let mut lengths: Vec<(Length, Vec<BoardLane<'_>>)> = Vec::new();
    let mut rest = pieces.as_slice();
    while let Some(first) = rest.first() {
        // Up to the first crosscut that no piece straddles.
        let (mut end, mut count) = (Length::ZERO, 0);
        while let Some(next) = rest.get(count).filter(|p| count == 0 || *p.x < end) {
            end = end.max(*next.x + *next.length);
            count += 1;
        }
        let own = lanes(&rest[..count]);
        match lengths.last_mut().and_then(|(_, last)| together(last, &own)) {
            Some(both) => {
                if let Some((_, last)) = lengths.last_mut() {
                    *last = both;
                }
            }
            None => lengths.push((*first.x, own)),
        }
        rest = &rest[count..];
    }
    let ends: Vec<Length> = lengths.iter().skip(1).map(|(from, _)| *from).collect();
    let end = |lanes: &[BoardLane<'_>]| {
        lanes.iter().flat_map(|l| &l.pieces).map(|p| *p.x + *p.length).max().unwrap_or_default()
    };
    (0..)
        .zip(lengths)
        .map(|(n, (from, lanes)): (usize, _)| {
            let cut = ends.get(n).map(|_| end(&lanes) - from);
            BoardLength { from, cut, lanes }
        })
        .collect()
}

/// How each board is cut, a sentence a board.
#[must_use]
pub fn cuts(sticks: &[Stick], words: Words) -> Vec<String> {
    let cut = |(n, stick): (usize, &Stick)| {
        let lengths = lengths(stick);
        let lengths: Vec<String> =
            lengths.iter().map(|length| told(words, length, lengths.len() > 1)).collect();
        let left = words.length(*stick.offcut);
        format!(
            "Board {n}, cut {} of {}: {}. {left} is left.",
            stick.times,
            stick.lumber,
            lengths.join("; then ")
        )
    };
    (1..).zip(sticks).map(cut).collect()
}

/// `crosscut off 2036 mm, and out of that rip 43 mm for 3 × 676.5 mm (stool leg), rip ...`: what is done with one length of a
/// board, the only one or one of several.
fn told(words: Words, length: &BoardLength<'_>, several: bool) -> String {
    let lanes = length.lanes.iter().map(|lane| {
        let alike = lane.pieces.chunk_by(|a, b| (&a.part, a.length, a.width) == (&b.part, b.length, b.width));
        let pieces: Vec<String> = alike
            .map(|run| {
                let piece = run[0];
                let narrower = if *piece.width < lane.width {
                    format!(", ripped on to {}", words.length(*piece.width))
                } else {
                    String::new()
                };
                let layers =
                    if piece.layers > 1 { format!(", resawn into {}", piece.layers) } else { String::new() };
                format!("{} × {} ({}{narrower}{layers})", run.len(), words.length(*piece.length), piece.part)
            })
            .collect();
        let rip =
            if lane.ripped() { format!("rip {} for ", words.length(lane.width)) } else { String::new() };
        format!("{rip}{}", join(&pieces))
    });
    let lanes = lanes.collect::<Vec<_>>().join(", ");
    match length.cut {
        Some(cut) => format!("crosscut off {}, and out of that {lanes}", words.length(cut)),
        None if several => format!("out of the rest {lanes}"),
        None => lanes,
    }
}

/// Pieces of one length by their lanes; those of a lane begin on one line.
fn lanes<'a>(pieces: &[&'a StickPiece]) -> Vec<BoardLane<'a>> {
    let mut lanes: Vec<BoardLane<'a>> = Vec::new();
    for piece in pieces {
        match lanes.iter_mut().find(|lane| lane.from == *piece.y) {
            Some(lane) => {
                lane.width = lane.width.max(*piece.width);
                lane.pieces.push(piece);
            }
            None => lanes.push(BoardLane { from: *piece.y, width: *piece.width, pieces: vec![piece] }),
        }
    }
    lanes.sort_by_key(|lane| lane.from);
    lanes
}

/// Two neighbouring lengths as one, when their lanes begin on the same lines: of two lanes the broader has its kerf already.
fn together<'a>(left: &[BoardLane<'a>], right: &[BoardLane<'a>]) -> Option<Vec<BoardLane<'a>>> {
    let same = left.len() == right.len() && left.iter().zip(right).all(|(a, b)| a.from == b.from);
    let both = left.iter().zip(right).map(|(a, b)| BoardLane {
        from: a.from,
        width: a.width.max(b.width),
        pieces: a.pieces.iter().chain(&b.pieces).copied().collect(),
    });
    same.then(|| both.collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stick(pieces: &[(&str, [i64; 4])]) -> Stick {
        let piece = |(part, [x, y, length, width]): &(&str, [i64; 4])| StickPiece {
            part: (*part).to_string(),
            x: Length::from_mm(*x).into(),
            y: Length::from_mm(*y).into(),
            length: Length::from_mm(*length).into(),
            width: Length::from_mm(*width).into(),
            layers: 1,
        };
        Stick {
            lumber: "ash".into(),
            times: 1,
            pieces: pieces.iter().map(piece).collect(),
            offcut: Length::ZERO.into(),
        }
    }

    /// Two pairs of legs side by side are one length of two lanes; a rung that is too broad to lie beside them is another.
    #[test]
    fn neighbours_that_are_ripped_alike_are_ripped_in_one() {
        let board = stick(&[
            ("leg", [0, 5, 700, 40]),
            ("leg", [0, 48, 700, 40]),
            ("leg", [703, 5, 700, 40]),
            ("leg", [703, 48, 700, 40]),
            ("rung", [1406, 5, 300, 60]),
            ("rail", [1709, 5, 200, 70]),
        ]);
        let found = lengths(&board);
        assert_eq!(found.iter().map(|l| l.lanes.len()).collect::<Vec<_>>(), [2, 1]);
        assert_eq!(found[0].cut, Some(Length::from_mm(1403)));
        assert_eq!((found[1].cut, found[1].from), (None, Length::from_mm(1406)));
        assert_eq!(found[1].lanes[0].width, Length::from_mm(70));
        assert_eq!(found.iter().flat_map(|l| &l.lanes).map(|l| l.pieces.len()).sum::<usize>(), 6);
    }

    /// Which piece comes out of which length is not left to guess.
    #[test]
    fn a_sentence_keeps_lengths_apart() {
        let board = stick(&[
            ("cleat", [0, 0, 350, 90]),
            ("cleat", [353, 0, 350, 90]),
            ("leg", [706, 5, 500, 40]),
            ("leg", [706, 48, 500, 40]),
        ]);
        let words = Words { system: stripwright_units::System::Metric };
        assert_eq!(
            cuts(&[board], words),
            [
                "Board 1, cut 1 of ash: crosscut off 703 mm, and out of that 2 × 350 mm (cleat); then out of the rest rip 40 mm for 1 × \
              500 mm (leg), rip 40 mm for 1 × 500 mm (leg). 0 mm is left."
            ]
        );
    }

    #[test]
    fn a_length_ends_where_its_lanes_do() {
        // One lane beside two: the board is crosscut between them.
        let board = stick(&[("a", [0, 5, 500, 40]), ("b", [0, 48, 500, 40]), ("c", [503, 5, 500, 44])]);
        assert_eq!(lengths(&board).len(), 2);
        // Lanes crosscut at different places have no crosscut in common.
        let board = stick(&[("a", [0, 5, 500, 40]), ("b", [0, 48, 900, 40]), ("a", [503, 5, 500, 40])]);
        let found = lengths(&board);
        assert_eq!((found.len(), found[0].lanes[0].pieces.len()), (1, 2));
    }
}
