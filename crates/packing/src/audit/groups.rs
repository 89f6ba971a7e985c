//! Which sheets, pieces and covers have to do with each other.

use crate::certificate::{Counted, Fork, Leaf};
use crate::problem::Problem;

/// The group of every stock, piece and cover, by its number. Those of one group belong together: a piece with the stocks that
/// it may be cut from, and what a make uses with what it yields.
#[derive(Clone)]
pub(super) struct Groups {
    pub(super) stocks: Vec<usize>,
    pub(super) pieces: Vec<usize>,
    pub(super) covers: Vec<usize>,
    /// How many numbers there are.
    pub(super) number: usize,
}

impl Groups {
    pub(super) fn of(problem: &Problem) -> Groups {
        let [stocks, pieces, covers] = [problem.stocks.len(), problem.pieces.len(), problem.covers.len()];
        // Things are numbered through: stocks, then pieces, then covers. Of each set all belong together.
        let cut =
            problem.pieces.iter().enumerate().map(|(n, piece)| [&piece.stocks[..], &[stocks + n]].concat());
        let made = problem.makes.iter().map(|make| {
            let used = make.uses.iter().map(|&(n, _)| stocks + n);
            used.chain(make.yields.iter().map(|&(n, _)| stocks + pieces + n)).collect()
        });
        let sets: Vec<Vec<usize>> = cut.chain(made).collect();
        let mut sets_of: Vec<Vec<usize>> = vec![Vec::new(); stocks + pieces + covers];
        for (n, set) in sets.iter().enumerate() {
            set.iter().for_each(|&thing| sets_of[thing].push(n));
        }
        // From each thing that has no group yet to all that belongs with it.
        let mut groups: Vec<Option<usize>> = vec![None; sets_of.len()];
        let mut reached = vec![false; sets.len()];
        let mut number = 0;
        for first in 0..groups.len() {
            let mut open = vec![first];
            let new = groups[first].is_none();
            while let Some(thing) = open.pop() {
                if groups[thing].is_none() {
                    groups[thing] = Some(number);
                    for &set in &sets_of[thing] {
                        if !std::mem::replace(&mut reached[set], true) {
                            open.extend(&sets[set]);
                        }
                    }
                }
            }
            number += usize::from(new);
        }
        let mut all: Vec<usize> = groups.into_iter().flatten().collect();
        let of_covers = all.split_off(stocks + pieces);
        let of_pieces = all.split_off(stocks);
        Groups { stocks: all, pieces: of_pieces, covers: of_covers, number }
    }

    /// Those of a leaf: what a fork counts on sheets of several groups makes one group of them.
    pub(super) fn with_forks(&self, leaf: &Leaf) -> Groups {
        let mut groups = self.clone();
        for Fork { count, .. } in &leaf.forks {
            let pieces: &[usize] = match &count.what {
                Counted::Pieces { pieces, .. } => pieces,
                Counted::Sheets | Counted::Strips { .. } => &[],
            };
            let counted = count.stocks.iter().map(|&j| groups.stocks[j]);
            let counted: Vec<usize> = counted.chain(pieces.iter().map(|&n| groups.pieces[n])).collect();
            let Some(&first) = counted.first() else { continue };
            if counted.iter().any(|&group| group != first) {
                let all = [&mut groups.stocks, &mut groups.pieces, &mut groups.covers];
                for group in all.into_iter().flatten().filter(|group| counted.contains(group)) {
                    *group = first;
                }
            }
        }
        groups
    }

    /// The group that pays for a fork; none where it counts on no sheet.
    pub(super) fn of_fork(&self, fork: &Fork) -> Option<usize> {
        fork.count.stocks.first().map(|&j| self.stocks[j])
    }
}

#[cfg(test)]
mod tests {
    use stripwright_units::{Length, Money};

    use super::*;
    use crate::certificate::Count;
    use crate::problem::{Cover, Direction, Make, Piece, Stock, Trim};

    #[test]
    fn what_is_cut_or_made_together_is_a_group() {
        let size = Length::from_mm(100);
        let piece = |stocks: &[usize]| Piece {
            name: String::new(),
            length: size,
            width: size,
            count: 1,
            may_turn: false,
            stocks: stocks.to_vec(),
        };
        let stock = Stock {
            name: String::new(),
            length: size,
            width: size,
            trim: Trim::default(),
            price: Money::from_minor(1),
            limit: None,
        };
        let problem = Problem {
            // The last stock is of no use to anything.
            stocks: vec![stock; 5],
            pieces: vec![piece(&[0, 2]), piece(&[1]), piece(&[2]), piece(&[3])],
            covers: vec![Cover { name: String::new(), count: 1 }],
            makes: vec![Make { name: String::new(), yields: vec![(0, 1)], uses: vec![(1, 1), (3, 2)] }],
            ..Problem::default()
        };
        let groups = Groups::of(&problem);
        assert_eq!((&groups.stocks[..], groups.number), (&[0, 1, 0, 1, 2][..], 3));
        assert_eq!((&groups.pieces[..], &groups.covers[..]), (&[0, 1, 0, 1][..], &[1][..]));
        let fork = |stocks: &[usize], what| Fork {
            count: Count { stocks: stocks.to_vec(), first: Direction::Rip, what },
            at: 1,
            more: true,
            price: 1,
        };
        let leaf = |forks| Leaf { forks, ..Leaf::default() };
        let apart = groups.with_forks(&leaf(vec![fork(&[0, 2], Counted::Sheets)]));
        assert_eq!(apart.stocks, groups.stocks);
        let joined = groups.with_forks(&leaf(vec![fork(&[2, 4], Counted::Strips { width: size })]));
        assert_eq!((&joined.stocks[..], &joined.pieces[..]), (&[0, 1, 0, 1, 0][..], &[0, 1, 0, 1][..]));
        let joined =
            groups.with_forks(&leaf(vec![fork(&[1], Counted::Pieces { width: size, pieces: vec![2] })]));
        assert_eq!((&joined.stocks[..], &joined.pieces[..]), (&[1, 1, 1, 1, 2][..], &[1, 1, 1, 1][..]));
        assert_eq!(joined.of_fork(&fork(&[], Counted::Sheets)), None);
    }
}
