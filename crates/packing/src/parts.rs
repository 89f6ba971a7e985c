//! Problems that fall apart.
//!
//! What shares neither sheets nor makes with the rest, as sheets of another thickness and all that is cut from them, is a
//! problem of its own: the cheapest plans of all parts are together the cheapest plan, and what no part costs less than adds
//! up. Of one problem the parts are far quicker to plan, and far oftener proven: a fractional plan of the whole may buy for less
//! of one part what another has to spare. Sheets that nothing may be cut from are part of nothing.

use stripwright_units::Money;

use crate::answer::{Answer, Layout, Region, Within};
use crate::certificate::{Branch, Certificate, Count, Counted, Fork, Leaf};
use crate::problem::{Cover, Make, Piece, Problem};
use crate::refusal::Refusal;

/// A part of a problem, and where in the whole each of its own is: by index, ascending.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub(crate) problem: Problem,
    stocks: Vec<usize>,
    pieces: Vec<usize>,
    covers: Vec<usize>,
    makes: Vec<usize>,
}

/// The most leaves that certificates of several parts may come to together: every leaf of one goes with every leaf of the
/// others, and an audit looks at each. (Where only one part has more than one leaf, there are as many as it has.)
const MOST_LEAVES: usize = 2_000;

/// The parts of a problem in which anything is wanted, those with few sizes first.
pub(crate) fn parts(problem: &Problem) -> Vec<Part> {
    let (stocks, pieces) = (problem.stocks.len(), problem.pieces.len());
    // Everything begins as a part of its own; whatever belongs together gets one number.
    let mut part: Vec<usize> = (0..stocks + pieces + problem.covers.len()).collect();
    let mut join = |a: usize, b: usize| {
        let (kept, gone) = (part[a].min(part[b]), part[a].max(part[b]));
        if kept != gone {
            part.iter_mut().filter(|number| **number == gone).for_each(|number| *number = kept);
        }
    };
    // (Of what nothing needs, too: the audit asks no further than what may be cut from what.)
    for (n, piece) in problem.pieces.iter().enumerate() {
        piece.stocks.iter().for_each(|&stock| join(stocks + n, stock));
    }
    for make in &problem.makes {
        let uses = make.uses.iter().map(|&(piece, _)| stocks + piece);
        let all: Vec<usize> =
            uses.chain(make.yields.iter().map(|&(cover, _)| stocks + pieces + cover)).collect();
        all.windows(2).for_each(|two| join(two[0], two[1]));
    }
    let mut numbers = part.clone();
    numbers.sort_unstable();
    numbers.dedup();
    let of = |number: usize| {
        let own = |from: usize, many: usize| -> Vec<usize> {
            (0..many).filter(|&n| part[from + n] == number).collect()
        };
        let covers = own(stocks + pieces, problem.covers.len());
        let makes = (0..problem.makes.len()).filter(|&m| {
            let make = &problem.makes[m];
            make.uses.iter().any(|&(piece, _)| part[stocks + piece] == number)
                || make.yields.iter().any(|&(cover, _)| part[stocks + pieces + cover] == number)
        });
        Part::new(problem, own(0, stocks), own(stocks, pieces), covers, makes.collect())
    };
    let mut parts: Vec<Part> = numbers.into_iter().map(of).filter(Part::wants).collect();
    parts.sort_by_key(|part| part.pieces.len());
    parts
}

/// Where in a list something stands.
fn place(list: &[usize], of: usize) -> usize {
    list.partition_point(|&n| n < of)
}

impl Part {
    fn new(
        whole: &Problem,
        stocks: Vec<usize>,
        pieces: Vec<usize>,
        covers: Vec<usize>,
        makes: Vec<usize>,
    ) -> Part {
        let piece = |&n: &usize| {
            let piece = &whole.pieces[n];
            let own = piece.stocks.iter().map(|&stock| place(&stocks, stock));
            Piece { stocks: own.collect(), ..piece.clone() }
        };
        let make = |&n: &usize| {
            let make = &whole.makes[n];
            let own = |list: &[usize], all: &[(usize, u32)]| {
                all.iter().map(|&(at, n)| (place(list, at), n)).collect()
            };
            Make { yields: own(&covers, &make.yields), uses: own(&pieces, &make.uses), ..make.clone() }
        };
        let problem = Problem {
            pieces: pieces.iter().map(piece).collect(),
            stocks: stocks.iter().map(|&n| whole.stocks[n].clone()).collect(),
            covers: covers.iter().map(|&n| whole.covers[n].clone()).collect(),
            makes: makes.iter().map(make).collect(),
            cutting: whole.cutting.clone(),
        };
        Part { problem, stocks, pieces, covers, makes }
    }

    fn wants(&self) -> bool {
        self.problem.pieces.iter().any(|piece| piece.count > 0)
            || self.problem.covers.iter().any(|Cover { count, .. }| *count > 0)
    }

    /// Whether it is the whole problem.
    pub(crate) fn is_all(&self, whole: &Problem) -> bool {
        self.stocks.len() == whole.stocks.len()
    }

    /// A refusal with the numbers that the whole has.
    pub(crate) fn refusal(&self, refusal: Refusal) -> Refusal {
        match refusal {
            Refusal::PieceFitsNowhere { piece, nearest } => Refusal::PieceFitsNowhere {
                piece: self.pieces[piece],
                nearest: nearest.map(|(stock, length, width)| (self.stocks[stock], length, width)),
            },
            Refusal::LimitsTooSmall { more, shown } => Refusal::LimitsTooSmall {
                more: more.into_iter().map(|(stock, n)| (self.stocks[stock], n)).collect(),
                shown,
            },
            Refusal::CoverWithoutMake { cover } => Refusal::CoverWithoutMake { cover: self.covers[cover] },
            Refusal::TooFine { stock } => Refusal::TooFine { stock: self.stocks[stock] },
            // Found in the whole before it is taken apart.
            Refusal::OutOfRange { .. } | Refusal::UnknownIndex { .. } | Refusal::Stages(_) => refusal,
        }
    }

    fn layout(&self, layout: &Layout) -> Layout {
        Layout { stock: self.stocks[layout.stock], times: layout.times, root: self.region(&layout.root) }
    }

    fn region(&self, region: &Region) -> Region {
        let within = match &region.within {
            Within::Cut(direction, regions) => {
                Within::Cut(*direction, regions.iter().map(|region| self.region(region)).collect())
            }
            Within::Piece { piece, turned } => Within::Piece { piece: self.pieces[*piece], turned: *turned },
            Within::Offcut => Within::Offcut,
        };
        Region { within, ..region.clone() }
    }

    /// Adds to a leaf of the whole what a leaf of the part says.
    fn add(&self, leaf: &mut Leaf, own: &Leaf) {
        let put = |to: &mut [i64], places: &[usize], from: &[i64]| {
            places.iter().zip(from).for_each(|(&place, &price)| to[place] = price);
        };
        put(&mut leaf.pieces, &self.pieces, &own.pieces);
        put(&mut leaf.covers, &self.covers, &own.covers);
        put(&mut leaf.upper, &self.stocks, &own.upper);
        put(&mut leaf.lower, &self.stocks, &own.lower);
        let branch = |branch: &Branch| Branch { stock: self.stocks[branch.stock], ..*branch };
        leaf.branches.extend(own.branches.iter().map(branch));
        leaf.forks.extend(own.forks.iter().map(|fork| self.fork(fork)));
    }

    fn fork(&self, fork: &Fork) -> Fork {
        let what = match &fork.count.what {
            Counted::Pieces { width, pieces } => {
                Counted::Pieces { width: *width, pieces: pieces.iter().map(|&n| self.pieces[n]).collect() }
            }
            other => other.clone(),
        };
        let stocks = fork.count.stocks.iter().map(|&n| self.stocks[n]).collect();
        Fork { count: Count { stocks, what, ..fork.count.clone() }, ..fork.clone() }
    }
}

/// The answer to the whole out of those to its parts; `None` where the proofs would come to too many leaves.
pub(crate) fn together(whole: &Problem, parts: &[Part], answers: &[Answer]) -> Option<Answer> {
    let mut all = Answer {
        layouts: Vec::new(),
        makes: Vec::new(),
        spare: Vec::new(),
        money: Money::ZERO,
        bound: Money::ZERO,
        certificate: certificate(whole, parts, answers)?,
        work: 0,
    };
    for (part, answer) in parts.iter().zip(answers) {
        all.layouts.extend(answer.layouts.iter().map(|layout| part.layout(layout)));
        all.makes.extend(answer.makes.iter().map(|&(make, n)| (part.makes[make], n)));
        all.spare.extend(answer.spare.iter().map(|&(piece, n)| (part.pieces[piece], n)));
        all.money += answer.money;
        all.bound += answer.bound;
        all.work += answer.work;
    }
    all.layouts.sort_by_key(|layout| layout.stock);
    all.makes.sort_unstable();
    all.spare.sort_unstable();
    Some(all)
}

/// Every leaf of each part with every leaf of the others: whatever is bought for one part, anything may be bought for another.
/// A leaf shows of each part what the part's own leaf shows.
fn certificate(whole: &Problem, parts: &[Part], answers: &[Answer]) -> Option<Certificate> {
    let of = |answer: &Answer| answer.certificate.leaves.len();
    let branching = answers.iter().filter(|answer| of(answer) > 1).count();
    let many = answers.iter().map(of).fold(1usize, usize::saturating_mul);
    if branching > 1 && many > MOST_LEAVES {
        return None;
    }
    let none = Leaf {
        pieces: vec![0; whole.pieces.len()],
        covers: vec![0; whole.covers.len()],
        upper: vec![0; whole.stocks.len()],
        lower: vec![0; whole.stocks.len()],
        ..Leaf::default()
    };
    let mut leaves = vec![none];
    for (part, answer) in parts.iter().zip(answers) {
        let with = |leaf: &Leaf| -> Vec<Leaf> {
            let each = answer.certificate.leaves.iter().map(|own| {
                let mut leaf = leaf.clone();
                part.add(&mut leaf, own);
                leaf
            });
            each.collect()
        };
        leaves = leaves.iter().flat_map(with).collect();
    }
    let scale = answers.first()?.certificate.scale;
    Some(Certificate { scale, proper: answers.iter().any(|answer| answer.certificate.proper), leaves })
}

#[cfg(test)]
mod tests {
    use stripwright_units::Length;

    use super::*;
    use crate::audit;
    use crate::budget::Budget;
    use crate::generate::{Wish, shop_job};
    use crate::problem::{Cutting, First, Stock, Trim};
    use crate::solve;

    /// Two problems as one, the second's numbers after the first's, and a sheet besides that nothing may be cut from.
    fn side_by_side(one: &Problem, other: &Problem) -> Problem {
        let mut both = one.clone();
        let first = both.stocks.len();
        both.stocks.extend(other.stocks.iter().cloned());
        both.pieces.extend(other.pieces.iter().map(|piece| Piece {
            stocks: piece.stocks.iter().map(|stock| stock + first).collect(),
            ..piece.clone()
        }));
        both.stocks.push(Stock { price: Money::from_minor(17), limit: None, ..both.stocks[0].clone() });
        both
    }

    fn small(seed: u64) -> Problem {
        shop_job(seed, Wish { sizes: Some(3), kinds: Some(1 + (seed % 3) as usize), stages: Some(2) })
    }

    fn solved(problem: &Problem) -> Answer {
        let answer = solve(problem, &Budget { work: 200_000_000 }, &mut |_| true).unwrap();
        let verdict = audit::answer(problem, &answer).unwrap_or_else(|objections| panic!("{objections:?}"));
        assert_eq!((verdict.money, verdict.bound), (answer.money, answer.bound));
        answer
    }

    /// Three squares of half a sheet and a piece of half a sheet of another thickness, at prices of which a fractional plan of
    /// the whole can make nothing: 1.5 sheets and half a sheet are 85.28, and five of the cheap ones with one dear one are the
    /// next sum of prices.
    #[test]
    fn what_lies_on_other_sheets_pays_for_nothing_here() {
        let stock = |price| Stock {
            name: format!("{price}"),
            length: Length::from_mm(1000),
            width: Length::from_mm(1000),
            trim: Trim::default(),
            price: Money::from_minor(price),
            limit: None,
        };
        let piece = |count, stock| Piece {
            name: format!("{stock}"),
            length: Length::from_mm(500),
            width: Length::from_mm(1000),
            count,
            may_turn: false,
            stocks: vec![stock],
        };
        let problem = Problem {
            stocks: vec![stock(5452), stock(700)],
            pieces: vec![piece(3, 0), piece(1, 1)],
            cutting: Cutting { first: First::Either, stages: 3, ..Cutting::default() },
            ..Problem::default()
        };
        let answer = solved(&problem);
        assert_eq!((answer.money.minor(), answer.bound.minor()), (2 * 5452 + 700, 2 * 5452 + 700));
        assert!(answer.work < 5_000_000, "{}", answer.work);
    }

    /// A size that nobody asks for and that both thicknesses could be cut to holds them together, for the audit as for the
    /// search: what is stated is then confirmed all the same.
    #[test]
    fn what_nobody_asks_for_holds_parts_together() {
        for seed in 0..4 {
            let (one, other) = (small(seed), small(seed + 200));
            let cutting = one.cutting.clone();
            let mut both = side_by_side(&one, &Problem { cutting, ..other });
            let stocks = (0..both.stocks.len()).collect();
            both.pieces.push(Piece { count: 0, stocks, ..both.pieces[0].clone() });
            assert_eq!(parts(&both).len(), 1, "seed {seed}");
            solved(&both);
        }
    }

    /// Parts cost together what each costs by itself, with bounds that add up, whole or spoiled.
    #[test]
    fn parts_add_up() {
        let (mut branched, mut spoiled) = (0, 0);
        for seed in 0..16 {
            let (one, other) = (small(seed), small(seed + 100));
            let cutting = one.cutting.clone();
            let other = Problem { cutting, ..other };
            let both = side_by_side(&one, &other);
            assert_eq!(parts(&both).len(), 2, "seed {seed}");
            let answer = solved(&both);
            let [first, second] = [&one, &other].map(solved);
            assert_eq!(answer.money, first.money + second.money, "seed {seed}");
            assert!(answer.bound >= first.bound.min(second.bound), "seed {seed}");
            if first.is_tight() && second.is_tight() {
                assert!(answer.is_tight(), "seed {seed}");
            }
            branched += usize::from(answer.certificate.leaves.len() > 1);
            // A leaf left out leaves purchases out; a part's prices lowered show less.
            for leaf in 0..answer.certificate.leaves.len() {
                let mut less = answer.clone();
                less.certificate.leaves.remove(leaf);
                let mut cheap = answer.clone();
                cheap.certificate.leaves[leaf].pieces.iter_mut().for_each(|price| *price /= 2);
                for answer in [less, cheap] {
                    spoiled += usize::from(audit::answer(&both, &answer).is_err());
                }
            }
        }
        assert!(branched >= 4 && spoiled >= 24, "{branched} {spoiled}");
    }
}
