//! The order of parts on a board: widest first.
//!
//! Parts side by side may lie in any order: their sizes and the kerfs between them sum to the same. Widest first on every
//! board gives one order of fence settings for all of them, and leaves what is left over in one piece at the end.

use stripwright_units::Length;

use crate::answer::{Region, Within};
use crate::problem::Direction;

/// The same division with the parts of every cut in falling order of size, what is left over last and in one piece.
pub(crate) fn widest_first(region: &Region) -> Region {
    arrange(region, region.x, region.y)
}

/// The region with its corner at (x, y).
fn arrange(region: &Region, x: Length, y: Length) -> Region {
    let within = match &region.within {
        Within::Cut(direction, parts) => Within::Cut(*direction, line_up(*direction, parts, x, y)),
        other => other.clone(),
    };
    Region { x, y, length: region.length, width: region.width, within }
}

fn line_up(direction: Direction, parts: &[Region], x: Length, y: Length) -> Vec<Region> {
    let start = |r: &Region| if direction == Direction::Rip { r.y } else { r.x };
    let extent = |r: &Region| if direction == Direction::Rip { r.width } else { r.length };
    // Neighbours lie one kerf apart, all alike.
    let kerf = match parts {
        [first, second, ..] => start(second) - start(first) - extent(first),
        _ => Length::ZERO,
    };
    let mut order: Vec<&Region> = parts.iter().collect();
    order.sort_by_key(|part| (part.within == Within::Offcut, -extent(part).nm()));
    let mut at = if direction == Direction::Rip { y } else { x };
    let mut placed: Vec<Region> = Vec::with_capacity(parts.len());
    for part in order {
        let part = match direction {
            Direction::Rip => arrange(part, x, at),
            Direction::Crosscut => arrange(part, at, y),
        };
        at += extent(&part) + kerf;
        match placed.last_mut() {
            // Nobody parts what is left over from what is left over.
            Some(last) if last.within == Within::Offcut && part.within == Within::Offcut => {
                let more = extent(&part) + kerf;
                if direction == Direction::Rip { last.width += more } else { last.length += more }
            }
            _ => placed.push(part),
        }
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    fn region(x: i64, y: i64, length: i64, width: i64, within: Within) -> Region {
        let mm = Length::from_mm;
        Region { x: mm(x), y: mm(y), length: mm(length), width: mm(width), within }
    }

    #[test]
    fn parts_lie_widest_first_one_kerf_apart_and_their_own_parts_move_along() {
        let piece = |piece| Within::Piece { piece, turned: false };
        let inner = |y| {
            let parts = vec![
                region(10, y, 200, 60, piece(1)),
                region(213, y, 300, 60, piece(2)),
                region(516, y, 494, 60, Within::Offcut),
            ];
            Within::Cut(Direction::Crosscut, parts)
        };
        let parts = vec![
            region(10, 10, 1000, 36, piece(0)),
            region(10, 49, 1000, 60, inner(49)),
            region(10, 112, 1000, 98, Within::Offcut),
        ];
        let sorted = widest_first(&region(10, 10, 1000, 200, Within::Cut(Direction::Rip, parts)));
        let inner = Within::Cut(
            Direction::Crosscut,
            vec![
                region(10, 10, 300, 60, piece(2)),
                region(313, 10, 200, 60, piece(1)),
                region(516, 10, 494, 60, Within::Offcut),
            ],
        );
        let expected = vec![
            region(10, 10, 1000, 60, inner),
            region(10, 73, 1000, 36, piece(0)),
            region(10, 112, 1000, 98, Within::Offcut),
        ];
        assert_eq!(sorted.within, Within::Cut(Direction::Rip, expected));
        assert_eq!(widest_first(&sorted), sorted);
    }

    #[test]
    fn what_is_left_over_stays_in_one_piece() {
        let parts = vec![
            region(0, 0, 300, 60, Within::Offcut),
            region(303, 0, 200, 60, Within::Piece { piece: 0, turned: false }),
            region(506, 0, 494, 60, Within::Offcut),
        ];
        let sorted = widest_first(&region(0, 0, 1000, 60, Within::Cut(Direction::Crosscut, parts)));
        let expected = vec![
            region(0, 0, 200, 60, Within::Piece { piece: 0, turned: false }),
            region(203, 0, 797, 60, Within::Offcut),
        ];
        assert_eq!(sorted.within, Within::Cut(Direction::Crosscut, expected));
    }
}
