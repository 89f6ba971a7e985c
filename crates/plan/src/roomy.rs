//! Whether sheets for less than an amount have the area at all: the quickest of all bounds, in whole numbers.

use std::collections::BTreeMap;

use stripwright_packing::{Piece, Problem};
use stripwright_units::{Length, Money};

/// More distinct sums of sheet prices than this are not looked through.
const MOST_SUMS: usize = 20_000;

/// Whether no purchase for less than `below` has as much area as the pieces; `false` where that is not known.
///
/// Kerfs, widths and lengths are left out of account, so that most problems need more than this says, and none less.
pub(crate) fn too_small(problem: &Problem, below: Money) -> bool {
    match largest(problem, below) {
        Some(area) => needed(problem) > area,
        None => false,
    }
}

fn area(length: Length, width: Length) -> i128 {
    i128::from(length.nm()) * i128::from(width.nm())
}

/// The least area, in square nanometres, of all that is wanted.
///
/// Each band is charged the smallest share, band for band, of any slab that yields it: so the bands of any slab are
/// charged together no more than its strips measure.
fn needed(problem: &Problem) -> i128 {
    let of = |piece: &Piece| area(piece.length, piece.width);
    let plain: i128 = problem.pieces.iter().map(|piece| i128::from(piece.count) * of(piece)).sum();
    let mut shares: Vec<Option<i128>> = vec![None; problem.covers.len()];
    for make in &problem.makes {
        let strips: i128 =
            make.uses.iter().map(|(piece, n)| i128::from(*n) * of(&problem.pieces[*piece])).sum();
        let yields: i128 = make.yields.iter().map(|(_, n)| i128::from(*n)).sum();
        for (cover, _) in &make.yields {
            let share = strips / yields.max(1);
            shares[*cover] = Some(shares[*cover].map_or(share, |least| least.min(share)));
        }
    }
    let bands =
        problem.covers.iter().zip(&shares).map(|(cover, share)| i128::from(cover.count) * share.unwrap_or(0));
    plain + bands.sum::<i128>()
}

/// The largest area, in square nanometres, of sheets that cost less than `below` together; `None` where it has no end
/// or there are too many sums to look through.
fn largest(problem: &Problem, below: Money) -> Option<i128> {
    let usable = |s: &stripwright_packing::Stock| area(s.usable_length(), s.usable_width());
    // The largest area for each sum of prices.
    let mut sums = BTreeMap::from([(0_i64, 0_i128)]);
    for stock in &problem.stocks {
        let price = stock.price.minor();
        if price <= 0 {
            // Offcuts on hand are all taken.
            let all = i128::from(stock.limit?) * usable(stock);
            sums.values_mut().for_each(|area| *area += all);
            continue;
        }
        let mut more = sums.clone();
        for (&money, &area) in &sums {
            let mut sheets = 1;
            while stock.limit.is_none_or(|limit| sheets <= i64::from(limit)) {
                let money = price.checked_mul(sheets).and_then(|all| all.checked_add(money))?;
                if money >= below.minor() {
                    break;
                }
                let larger = area + i128::from(sheets) * usable(stock);
                let known = more.entry(money).or_insert(larger);
                *known = larger.max(*known);
                sheets += 1;
            }
            if more.len() > MOST_SUMS {
                return None;
            }
        }
        sums = more;
    }
    sums.values().copied().max()
}

#[cfg(test)]
mod tests {
    use stripwright_packing::{Cover, Make, Stock, Trim};

    use super::*;

    /// A sheet of 1 m by 1 m for 10, two of 1 m by 0.5 m for 6 at most; six pieces of 0.1 m2; two bands, alone from a
    /// slab of 0.2 m2 each or together from one of 0.3 m2.
    fn problem() -> Problem {
        let mm = Length::from_mm;
        let stock = |name: &str, width, price, limit| Stock {
            name: name.into(),
            length: mm(1000),
            width: mm(width),
            trim: Trim::default(),
            price: Money::from_minor(price),
            limit,
        };
        let piece = |count| Piece {
            name: "p".into(),
            length: mm(1000),
            width: mm(100),
            count,
            may_turn: true,
            stocks: vec![0, 1],
        };
        let cover = |name: &str| Cover { name: name.into(), count: 1 };
        let make = |yields, n| Make { name: "m".into(), yields, uses: vec![(1, n)] };
        Problem {
            stocks: vec![stock("whole", 1000, 10, None), stock("half", 500, 6, Some(2))],
            pieces: vec![piece(6), piece(0)],
            covers: vec![cover("1"), cover("2")],
            makes: vec![make(vec![(0, 1)], 2), make(vec![(1, 1)], 2), make(vec![(0, 1), (1, 1)], 3)],
            ..Problem::default()
        }
    }

    const M2: i128 = 1_000_000_000_000_000_000;

    #[test]
    fn bands_count_with_the_best_slab_of_any() {
        assert_eq!(needed(&problem()), M2 * 9 / 10);
    }

    #[test]
    fn money_buys_whole_sheets_within_their_limits() {
        for (below, tenths) in
            [(6, 0), (7, 5), (10, 5), (11, 10), (13, 10), (17, 15), (21, 20), (20, 15), (23, 20)]
        {
            assert_eq!(
                largest(&problem(), Money::from_minor(below)),
                Some(M2 * tenths / 10),
                "below {below}"
            );
        }
        assert!(too_small(&problem(), Money::from_minor(10)));
        assert!(!too_small(&problem(), Money::from_minor(11)));
        let mut free = problem();
        free.stocks[1].price = Money::ZERO;
        assert_eq!(largest(&free, Money::from_minor(11)), Some(M2 * 2));
        free.stocks[1].limit = None;
        assert_eq!(largest(&free, Money::from_minor(11)), None);
    }
}
