//! Answers of the search, with makes, limits and boxes, spoilt in one place: any number, any cut, any part of a tree,
//! any number of the job they are held against. The audit refuses, or what is then said is still true.

use proptest::prelude::*;
use proptest::sample::Index;
use stripwright_units::{Length, Money};

use super::oracle::{least_money, sawable};
use super::support::{runs, tiny, tiny_with_makes};
use crate::audit::answer as audited;
use crate::problem::{Cover, Cutting, Direction, First, Make, Piece, Problem, Stock, Trim};
use crate::{Answer, Branch, Budget, Certificate, Count, Counted, Fork, Layout, Leaf, Region, Within, solve};

/// Something that can be changed by a number.
type Knob<'a> = Box<dyn FnMut(i64) + 'a>;

fn length(l: &mut Length) -> Knob<'_> {
    Box::new(move |by| *l = Length::from_nm(l.nm().wrapping_add(by)))
}
fn index(i: &mut usize) -> Knob<'_> {
    Box::new(move |by| *i = i.wrapping_add(by as usize))
}
fn count(n: &mut u32) -> Knob<'_> {
    Box::new(move |by| *n = n.wrapping_add(by as u32))
}
fn whole(n: &mut i64) -> Knob<'_> {
    Box::new(move |by| *n = n.wrapping_add(by))
}
fn money(m: &mut Money) -> Knob<'_> {
    Box::new(move |by| *m = Money::from_minor(m.minor().wrapping_add(by)))
}
fn flag(f: &mut bool) -> Knob<'_> {
    Box::new(move |by| *f ^= by % 2 != 0)
}
fn maybe<T>(value: &mut Option<T>, knob: fn(&mut T) -> Knob<'_>) -> Option<Knob<'_>> {
    value.as_mut().map(knob)
}
fn pairs(list: &mut [(usize, u32)]) -> impl Iterator<Item = Knob<'_>> {
    list.iter_mut().flat_map(|(i, n)| [index(i), count(n)])
}

/// Every number of an answer. Each type is taken apart whole, so that no field can be forgotten.
fn answer_knobs(answer: &mut Answer) -> Vec<Knob<'_>> {
    let Answer { layouts, makes, spare, money: paid, bound, certificate, work: _ } = answer;
    let mut all: Vec<Knob> = Vec::new();
    for Layout { stock, times, root } in layouts {
        all.extend([index(stock), count(times)]);
        region_knobs(root, &mut all);
    }
    all.extend(pairs(makes));
    all.extend(pairs(spare));
    all.extend([money(paid), money(bound)]);
    let Certificate { scale, proper, leaves } = certificate;
    all.extend([whole(scale), flag(proper)]);
    for Leaf { branches, pieces, covers, upper, lower, forks } in leaves {
        for Branch { stock, least, most } in branches {
            all.extend([index(stock), count(least)]);
            all.extend(maybe(most, count));
        }
        all.extend([pieces, covers, upper, lower].into_iter().flatten().map(whole));
        forks.iter_mut().for_each(|fork| fork_knobs(fork, &mut all));
    }
    all
}

fn fork_knobs<'a>(fork: &'a mut Fork, all: &mut Vec<Knob<'a>>) {
    let Fork { count: Count { stocks, first, what }, at, more, price } = fork;
    all.extend(stocks.iter_mut().map(index));
    all.extend([direction(first), count(at), flag(more), whole(price)]);
    match what {
        Counted::Sheets => {}
        Counted::Strips { width } => all.push(length(width)),
        Counted::Pieces { width, pieces } => {
            all.push(length(width));
            all.extend(pieces.iter_mut().map(index));
        }
    }
}

fn direction(d: &mut Direction) -> Knob<'_> {
    Box::new(move |by| {
        if by % 2 != 0 {
            *d = match d {
                Direction::Rip => Direction::Crosscut,
                Direction::Crosscut => Direction::Rip,
            };
        }
    })
}

fn region_knobs<'a>(region: &'a mut Region, all: &mut Vec<Knob<'a>>) {
    let Region { x, y, length: long, width, within } = region;
    all.extend([x, y, long, width].map(length));
    match within {
        Within::Cut(cut, parts) => {
            all.push(direction(cut));
            parts.iter_mut().for_each(|part| region_knobs(part, all));
        }
        Within::Piece { piece, turned } => all.extend([index(piece), flag(turned)]),
        Within::Offcut => {}
    }
}

/// Every number of a job. What a tiny job cannot have is left to the knobs: the caller looks whether it can be solved.
fn problem_knobs(problem: &mut Problem) -> Vec<Knob<'_>> {
    let Problem { pieces, stocks, covers, makes, cutting } = problem;
    let mut all: Vec<Knob> = Vec::new();
    for Piece { name: _, length: long, width, count: n, may_turn, stocks } in pieces {
        all.extend([length(long), length(width), count(n), flag(may_turn)]);
        all.push(Box::new(move |by| stocks.retain(|&stock| stock as i64 != by)));
    }
    for Stock { name: _, length: long, width, trim, price, limit } in stocks {
        let Trim { left, right, bottom, top } = trim;
        all.extend([long, width, left, right, bottom, top].map(length));
        all.push(money(price));
        all.push(Box::new(move |by| {
            *limit = limit.map_or(Some(by.unsigned_abs() as u32 % 3), |n| Some(n.saturating_sub(1)))
        }));
    }
    all.extend(covers.iter_mut().map(|Cover { name: _, count: n }| count(n)));
    for Make { name: _, yields, uses } in makes {
        all.extend(pairs(yields));
        all.extend(pairs(uses));
    }
    let Cutting {
        first,
        stages,
        rip_kerf,
        crosscut_kerf,
        longest_rip,
        fence_reach,
        smallest_rip,
        useful_offcut: _,
    } = cutting;
    all.push(Box::new(move |by| {
        *first = [First::Rip, First::Crosscut, First::Either][by.unsigned_abs() as usize % 3];
    }));
    all.push(Box::new(move |by| *stages = stages.wrapping_add(by as u8)));
    all.extend([rip_kerf, crosscut_kerf].map(length));
    for limit in [longest_rip, fence_reach, smallest_rip] {
        all.push(Box::new(move |by| {
            *limit = Some(limit.map_or(Length::from_mm((by % 8).abs()), |l| l + Length::from_mm(by % 8)));
        }));
    }
    all
}

/// The `n`th region of a tree, depth first.
fn nth<'a>(region: &'a mut Region, n: &mut usize) -> Option<&'a mut Region> {
    if *n == 0 {
        return Some(region);
    }
    *n -= 1;
    match &mut region.within {
        Within::Cut(_, parts) => parts.iter_mut().find_map(|part| nth(part, n)),
        _ => None,
    }
}

fn regions(region: &Region) -> usize {
    1 + match &region.within {
        Within::Cut(_, parts) => parts.iter().map(regions).sum(),
        _ => 0,
    }
}

/// Another tree of about the same pieces.
fn prune(region: &mut Region, how: u8, at: Index) {
    let before = region.clone();
    match &mut region.within {
        Within::Cut(_, parts) if how.is_multiple_of(6) => drop(parts.remove(at.index(parts.len()))),
        Within::Cut(_, parts) if how % 6 == 1 => {
            let again = parts[at.index(parts.len())].clone();
            parts.push(again);
        }
        Within::Cut(_, parts) if how % 6 == 2 => parts.reverse(),
        Within::Cut(_, parts) if how % 6 == 3 && parts.len() == 1 => *region = parts.remove(0),
        within @ Within::Offcut => *within = Within::Piece { piece: 0, turned: how.is_multiple_of(2) },
        within if how % 6 == 4 => *within = Within::Offcut,
        within => {
            let direction = if how.is_multiple_of(2) { Direction::Rip } else { Direction::Crosscut };
            *within = Within::Cut(direction, vec![before]);
        }
    }
}

fn change() -> impl Strategy<Value = i64> {
    prop_oneof![
        4 => -3..4i64,
        3 => (-4..5i64).prop_map(|n| n * 1_000_000),
        2 => -5000..5000i64,
        1 => any::<i64>(),
        1 => prop_oneof![Just(i64::MAX), Just(i64::MIN), Just(i64::from(u32::MAX))],
    ]
}

fn jobs() -> impl Strategy<Value = Problem> {
    prop_oneof![tiny(1..3, false), tiny(2..4, false), tiny(1..3, true), tiny_with_makes()]
}

/// The search's answer, if there is one, and what is true of the job.
fn right(problem: &Problem) -> Option<(Answer, i64)> {
    let answer = solve(problem, &Budget { work: 300_000 }, &mut |_| true).ok()?;
    Some((answer, least_money(problem)?))
}

/// All that an answer says, held against brute force.
fn assert_true(problem: &Problem, answer: &Answer, least: i64) {
    assert!(answer.bound.minor() <= least, "bound {} above the optimum {least}", answer.bound);
    let mut made = vec![0u64; problem.pieces.len()];
    let mut paid = 0;
    for layout in &answer.layouts {
        paid += i64::from(layout.times) * problem.stocks[layout.stock].price.minor();
        let mm = |l: Length| l.nm() / 1_000_000;
        let rects: Vec<[i64; 4]> = layout
            .placed(problem)
            .iter()
            .map(|p| {
                made[p.piece] += u64::from(layout.times);
                [mm(p.x), mm(p.y), mm(p.x + p.length), mm(p.y + p.width)]
            })
            .collect();
        assert!(sawable(problem, layout.stock, &rects), "{rects:?}");
    }
    assert_eq!(paid, answer.money.minor());
    assert!(paid >= least, "money {paid} below the optimum {least}");
    for (stock, used) in problem.stocks.iter().zip(answer.sheets(problem)) {
        assert!(stock.limit.is_none_or(|limit| used <= limit));
    }
    let chosen = |entries: fn(&Make) -> &Vec<(usize, u32)>, of: usize| -> u64 {
        let each =
            |make: &Make| entries(make).iter().filter(|e| e.0 == of).map(|e| u64::from(e.1)).sum::<u64>();
        answer.makes.iter().map(|&(make, n)| u64::from(n) * each(&problem.makes[make])).sum()
    };
    for (r, piece) in problem.pieces.iter().enumerate() {
        let spare: u64 = answer.spare.iter().filter(|s| s.0 == r).map(|s| u64::from(s.1)).sum();
        assert_eq!(made[r], u64::from(piece.count) + chosen(|m| &m.uses, r) + spare);
    }
    for (i, cover) in problem.covers.iter().enumerate() {
        assert!(chosen(|m| &m.yields, i) >= u64::from(cover.count));
    }
}

/// Whether brute force, which looks at whole millimetres, can judge these trees.
fn whole_millimetres(answer: &Answer) -> bool {
    fn all(region: &Region) -> bool {
        let whole = |l: Length| l.nm() % 1_000_000 == 0;
        let within = match &region.within {
            Within::Cut(_, parts) => parts.iter().all(all),
            _ => true,
        };
        within && [region.x, region.y, region.length, region.width].into_iter().all(whole)
    }
    answer.layouts.iter().all(|layout| all(&layout.root))
}

/// Whether brute force can solve this job in no time.
fn is_tiny(problem: &Problem) -> bool {
    let whole = |l: Length| l.nm() % 1_000_000 == 0;
    let size = |l: Length| whole(l) && l.is_positive() && l <= Length::from_mm(13);
    let kerf = |l: Length| whole(l) && l >= Length::ZERO && l <= Length::from_mm(13);
    let Cutting { rip_kerf, crosscut_kerf, longest_rip, fence_reach, smallest_rip, .. } = &problem.cutting;
    problem.pieces.iter().all(|p| size(p.length) && size(p.width) && p.count <= 4)
        && problem.stocks.iter().all(|s| {
            let Trim { left, right, bottom, top } = s.trim;
            [left, right, bottom, top].into_iter().all(kerf)
                && size(s.usable_length())
                && size(s.usable_width())
                && s.price.minor() >= 0
        })
        && problem.covers.iter().all(|c| c.count <= 4)
        && problem.makes.iter().all(|m| {
            m.yields.iter().all(|&(c, n)| c < problem.covers.len() && n <= 4)
                && m.uses.iter().all(|&(r, n)| r < problem.pieces.len() && n <= 3)
        })
        && (2..=3).contains(&problem.cutting.stages)
        && [*rip_kerf, *crosscut_kerf].into_iter().all(kerf)
        && [longest_rip, fence_reach, smallest_rip].into_iter().flatten().all(|&l| kerf(l))
}

proptest! {
    #![proptest_config(runs(200))]

    #[test]
    fn a_changed_number_of_an_answer_is_refused_or_harmless(
        problem in jobs(),
        changes in proptest::collection::vec((any::<Index>(), change()), 40),
    ) {
        let found = right(&problem);
        prop_assume!(found.is_some());
        let (answer, least) = found.expect("assumed");
        prop_assert!(audited(&problem, &answer).is_ok(), "{:?}", audited(&problem, &answer));
        assert_true(&problem, &answer, least);
        for (which, by) in changes {
            let mut spoilt = answer.clone();
            let mut knobs = answer_knobs(&mut spoilt);
            which.get_mut(&mut knobs)(by);
            drop(knobs);
            if audited(&problem, &spoilt).is_ok() && whole_millimetres(&spoilt) {
                assert_true(&problem, &spoilt, least);
            }
        }
    }

    #[test]
    fn another_tree_of_cuts_is_refused_or_harmless(
        problem in jobs(),
        changes in proptest::collection::vec((any::<Index>(), any::<Index>(), any::<u8>(), any::<Index>()), 20),
    ) {
        let found = right(&problem);
        prop_assume!(found.is_some());
        let (answer, least) = found.expect("assumed");
        prop_assume!(!answer.layouts.is_empty());
        for (layout, which, how, at) in changes {
            let mut spoilt = answer.clone();
            let root = &mut layout.get_mut(&mut spoilt.layouts).root;
            let mut n = which.index(regions(root));
            prune(nth(root, &mut n).expect("counted"), how, at);
            if audited(&problem, &spoilt).is_ok() {
                assert_true(&problem, &spoilt, least);
            }
        }
    }

    /// An answer held against another job: fewer sheets, another kerf, a make that uses more.
    #[test]
    fn an_answer_to_another_job_is_refused_or_harmless(
        problem in jobs(),
        changes in proptest::collection::vec((any::<Index>(), change()), 20),
    ) {
        let found = right(&problem);
        prop_assume!(found.is_some());
        let (answer, _) = found.expect("assumed");
        for (which, by) in changes {
            let mut other = problem.clone();
            let mut knobs = problem_knobs(&mut other);
            which.get_mut(&mut knobs)(by);
            drop(knobs);
            if audited(&other, &answer).is_ok() && is_tiny(&other) {
                let least = least_money(&other);
                prop_assert!(least.is_some(), "a plan of a job that has none: {:?}", other);
                assert_true(&other, &answer, least.expect("asserted"));
            }
        }
    }
}
