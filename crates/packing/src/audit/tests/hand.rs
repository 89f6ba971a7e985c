//! Jobs small enough to see the answer, each with the proof one would write by hand; and every way to spoil them.

use stripwright_units::{Length, Money};

use super::support::{certificate, claim, cutting, leaf, mm, piece, placed, stock};
use crate::answer::{Layout, Region, Within};
use crate::audit::{Claim, Objection, Sheets, TreeFault, Verdict, answer, audit, cuts};
use crate::certificate::{Branch, Count, Counted, Fork, Leaf};
use crate::problem::{Cover, Cutting, Direction, First, Make, Piece, Problem, Stock, Trim};
use crate::{Answer, Certificate};

/// Three squares of 50 on sheets of 103 x 50 for 10.00 with a 3 mm kerf: two a sheet, so two sheets. A square is
/// worth 5.00, three are worth 15.00, and no number of sheets costs from 15.00 to 19.99.
fn squares() -> (Problem, Claim) {
    let problem = Problem {
        pieces: vec![piece(50, 50, 3)],
        stocks: vec![stock(103, 50, 1000)],
        cutting: cutting(First::Rip, 2, 3),
        ..Problem::default()
    };
    let two = Sheets {
        stock: 0,
        times: 1,
        placed: vec![placed(&problem, 0, 0, 0, false), placed(&problem, 0, 53, 0, false)],
    };
    let one = Sheets { stock: 0, times: 1, placed: vec![placed(&problem, 0, 0, 0, false)] };
    let proof = certificate(1, vec![leaf(&problem, vec![500])]);
    (problem, claim(vec![two, one], 2000, 2000, proof))
}

/// Three squares of 50: a sheet of 100 x 50 for 10.00 holds two, one of 50 x 50 for 6.00 holds one. One of each is
/// best. At 5.00 a square three are worth 15.00; the next sum of prices is 16.00.
fn two_sizes() -> (Problem, Claim) {
    let problem = Problem {
        pieces: vec![Piece { stocks: vec![0, 1], ..piece(50, 50, 3) }],
        stocks: vec![stock(100, 50, 1000), stock(50, 50, 600)],
        cutting: cutting(First::Either, 3, 0),
        ..Problem::default()
    };
    let two = Sheets {
        stock: 0,
        times: 1,
        placed: vec![placed(&problem, 0, 0, 0, false), placed(&problem, 0, 50, 0, false)],
    };
    let one = Sheets { stock: 1, times: 1, placed: vec![placed(&problem, 0, 0, 0, false)] };
    let none = leaf(&problem, vec![500]);
    let without = Leaf { branches: vec![Branch { stock: 1, least: 0, most: Some(0) }], ..none.clone() };
    let with = Leaf { branches: vec![Branch { stock: 1, least: 1, most: None }], ..none };
    (problem.clone(), claim(vec![two, one], 1600, 1600, certificate(1, vec![without, with])))
}

/// As [`two_sizes`], but the small sheet is an offcut on hand: it costs nothing and there is one. One more of it
/// would save 5.00.
fn offcut() -> (Problem, Claim) {
    let (mut problem, mut claim) = two_sizes();
    problem.stocks[1] = Stock { limit: Some(1), ..stock(50, 50, 0) };
    claim.money = Money::from_minor(1000);
    claim.bound = Money::from_minor(1000);
    claim.certificate.leaves = vec![Leaf { upper: vec![0, 500], ..leaf(&problem, vec![500]) }];
    (problem, claim)
}

/// Four bands wanted; a slab of three strips yields two, a slab of two strips yields one. Strips are 100 x 10, three
/// to a sheet of 100 x 30 for 9.00. A strip is worth 3.00, a band 4.50 (two from three strips): 18.00, two sheets.
fn bands() -> (Problem, Claim) {
    let problem = Problem {
        pieces: vec![piece(100, 10, 0)],
        stocks: vec![stock(100, 30, 900)],
        covers: vec![Cover { name: "band".into(), count: 4 }],
        makes: vec![
            Make { name: "wide slab".into(), yields: vec![(0, 2)], uses: vec![(0, 3)] },
            Make { name: "narrow slab".into(), yields: vec![(0, 1)], uses: vec![(0, 2)] },
        ],
        cutting: cutting(First::Rip, 2, 0),
    };
    let strips = (0..3).map(|i| placed(&problem, 0, 0, 10 * i, false)).collect();
    let sheets = Sheets { stock: 0, times: 2, placed: strips };
    let proof = certificate(2, vec![Leaf { covers: vec![900], ..leaf(&problem, vec![600]) }]);
    let mut claim = claim(vec![sheets], 1800, 1800, proof);
    claim.makes = vec![(0, 2)];
    (problem, claim)
}

/// Sheets of 12 x 4 for 5.00, crosscut first: three pieces of 6 x 4 fill one and a half, three of 4 x 2 half of one. But
/// the half that is left has room for one panel of 4 with two pieces of 4 x 2, so two sheets do not do.
///
/// Two sheets with at most one panel of 4 hold two pieces of 4 x 2, of three. With more than one, panels of 6, 6, 6, 4, 4 are
/// 26 of 24 long.
fn halves() -> (Problem, Claim) {
    let problem = Problem {
        pieces: vec![piece(6, 4, 3), piece(4, 2, 3)],
        stocks: vec![stock(12, 4, 500)],
        cutting: cutting(First::Crosscut, 2, 0),
        ..Problem::default()
    };
    let sheet = |times, placed: Vec<crate::Placed>| Sheets { stock: 0, times, placed };
    let at = |piece, x, y| placed(&problem, piece, x, y, false);
    let layouts = vec![
        sheet(1, vec![at(0, 0, 0), at(0, 6, 0)]),
        sheet(1, vec![at(0, 0, 0), at(1, 6, 0), at(1, 6, 2)]),
        sheet(1, vec![at(1, 0, 0)]),
    ];
    let within = |least, most| vec![Branch { stock: 0, least, most }];
    let area = |branches| Leaf { branches, ..leaf(&problem, vec![250, 83]) };
    let panels = |more, price| {
        let count =
            Count { stocks: vec![0], first: Direction::Crosscut, what: Counted::Strips { width: mm(4) } };
        vec![Fork { count, at: 1, more, price }]
    };
    // Three at 1, less 2 for the one panel there may be: 1 is wanted, and nothing held.
    let few = Leaf {
        branches: within(2, Some(2)),
        lower: vec![500],
        forks: panels(false, 2),
        ..leaf(&problem, vec![0, 1])
    };
    // Three at 6 and two panels at 4 are 26; a sheet holds 12.
    let many = Leaf {
        branches: within(2, Some(2)),
        lower: vec![488],
        forks: panels(true, 4),
        ..leaf(&problem, vec![6, 0])
    };
    let leaves = vec![area(within(0, Some(1))), few, many, area(within(3, None))];
    let proof = Certificate { proper: true, ..certificate(1, leaves) };
    (problem.clone(), claim(layouts, 1500, 1500, proof))
}

#[test]
fn objects_to_cases_that_do_not_hold() {
    use Objection as O;
    fn fork(c: &mut Claim, leaf: usize) -> &mut Fork {
        &mut c.certificate.leaves[leaf].forks[0]
    }
    assert!(confirms(&halves()).proven());
    let left_out = |o: &O| matches!(o, O::CaseLeftOut { leaf: 2, .. });
    objects(halves, |_, c| drop(c.certificate.leaves.remove(2)), left_out);
    objects(halves, |_, c| drop(c.certificate.leaves.remove(1)), left_out);
    objects(halves, |_, c| fork(c, 2).at = 2, left_out);
    objects(halves, |_, c| fork(c, 2).more = false, left_out);
    objects(halves, |_, c| fork(c, 2).count.first = Direction::Rip, left_out);
    objects(halves, |_, c| fork(c, 2).count.what = Counted::Sheets, left_out);
    objects(halves, |_, c| drop(c.certificate.leaves.drain(1..3)), |o| matches!(o, O::Gap { .. }));
    // A panel with two pieces of 1 that costs 1 is worth 1; at 3 the one that there may be takes what is wanted.
    objects(
        halves,
        |_, c| fork(c, 1).price = 1,
        |o| matches!(o, O::SheetTooCheap { leaf: 2, worth: 3, cost: 0, .. }),
    );
    objects(halves, |_, c| fork(c, 1).price = 3, |o| matches!(o, O::WeakLeaf { leaf: 2, shows: 1000, .. }));
    objects(
        halves,
        |_, c| fork(c, 2).price = 5,
        |o| matches!(o, O::SheetTooCheap { leaf: 3, worth: 15, cost: 12, .. }),
    );
    objects(halves, |_, c| fork(c, 2).price = 3, |o| matches!(o, O::WeakLeaf { leaf: 3, shows: 1000, .. }));
    // One panel more or one less is another case.
    objects(
        halves,
        |_, c| (1..3).for_each(|leaf| fork(c, leaf).at = 0),
        |o| matches!(o, O::WeakLeaf { leaf: 3, shows: 1000, .. }),
    );
    objects(
        halves,
        |_, c| (1..3).for_each(|leaf| fork(c, leaf).at = 2),
        |o| matches!(o, O::WeakLeaf { leaf: 2, shows: 1000, .. }),
    );
}

#[track_caller]
fn confirms((problem, claim): &(Problem, Claim)) -> Verdict {
    match audit(problem, claim) {
        Ok(verdict) => verdict,
        Err(objections) => panic!("{}", objections.iter().map(|o| format!("{o}\n")).collect::<String>()),
    }
}

/// Spoils a job and expects the objection, worded in whole sentences.
#[track_caller]
fn objects(
    job: fn() -> (Problem, Claim),
    spoil: impl Fn(&mut Problem, &mut Claim),
    expected: impl Fn(&Objection) -> bool,
) {
    let (mut problem, mut claim) = job();
    spoil(&mut problem, &mut claim);
    let objections = audit(&problem, &claim).expect_err("spoilt");
    assert!(objections.iter().any(expected), "{objections:#?}");
    for objection in objections {
        let text = objection.to_string();
        assert!(text.ends_with('.') && text.starts_with(char::is_uppercase), "{text}");
    }
}

#[test]
fn confirms_what_is_right() {
    let verdict = confirms(&squares());
    assert!(verdict.proven());
    assert_eq!(verdict.sheets, [2]);
    assert_eq!(confirms(&two_sizes()).sheets, [1, 1]);
    assert!(confirms(&offcut()).proven());
    assert!(confirms(&bands()).proven());
}

#[test]
fn a_lower_bound_is_confirmed_but_is_no_proof() {
    let (problem, mut claim) = squares();
    claim.bound = Money::from_minor(1000);
    claim.proven = false;
    assert!(!confirms(&(problem.clone(), claim.clone())).proven());
    claim.certificate = Certificate { scale: 1, ..Certificate::default() };
    claim.bound = Money::ZERO;
    assert!(!confirms(&(problem, claim)).proven(), "nothing claimed needs no certificate");
}

#[test]
fn objects_to_pieces_in_the_wrong_place() {
    use Objection as O;
    objects(
        squares,
        |_, c| c.layouts[0].placed[1].x = mm(52),
        |o| matches!(o, O::NotSawable { joined: 2, .. }),
    );
    objects(squares, |_, c| c.layouts[0].placed[1].x = mm(49), |o| matches!(o, O::Overlap { .. }));
    objects(
        squares,
        |_, c| c.layouts[0].placed[1].x = Length::from_nm(53_000_001),
        |o| matches!(o, O::Outside { .. }),
    );
    objects(
        squares,
        |_, c| c.layouts[0].placed[1].y = Length::from_nm(1),
        |o| matches!(o, O::Outside { .. }),
    );
    objects(squares, |_, c| c.layouts[0].placed[1].width = mm(49), |o| matches!(o, O::WrongSize { .. }));
    objects(squares, |_, c| c.layouts[0].placed[1].turned = true, |o| matches!(o, O::Turned { .. }));
    objects(squares, |p, _| p.pieces[0].stocks.clear(), |o| matches!(o, O::WrongSheet { .. }));
    objects(
        squares,
        |p, _| p.stocks[0].trim = Trim { left: mm(1), ..Trim::default() },
        |o| matches!(o, O::Outside { layout: 1, .. }),
    );
    objects(squares, |p, _| p.cutting.longest_rip = Some(mm(49)), |o| matches!(o, O::RipTooLong { .. }));
    objects(squares, |_, c| c.layouts[1].times = 0, |o| matches!(o, O::UnusedLayout { layout: 2 }));
}

#[test]
fn objects_to_unsafe_rips() {
    use Objection as O;
    let wide_sheet = |p: &mut Problem, _: &mut Claim| p.stocks[0].width = mm(200);
    objects(
        squares,
        |p, c| {
            wide_sheet(p, c);
            p.cutting.smallest_rip = Some(mm(51));
        },
        |o| matches!(o, O::RipTooNarrow { .. }),
    );
    objects(
        squares,
        |p, c| {
            wide_sheet(p, c);
            p.cutting.fence_reach = Some(mm(49));
        },
        |o| matches!(o, O::FenceTooNear { .. }),
    );
    // From a sheet 102 wide the fence reaches across the 49 that lie beside the strip and its kerf.
    let (mut problem, mut claim) = squares();
    problem.stocks[0].width = mm(102);
    problem.cutting.fence_reach = Some(mm(49));
    problem.cutting.smallest_rip = Some(mm(50));
    claim.bound = Money::ZERO;
    claim.proven = false;
    confirms(&(problem, claim));
}

#[test]
fn a_strip_is_widened_for_the_fence_only_into_waste() {
    // Two pieces 20 wide, stacked, make a strip 40 wide that is crosscut before they are parted.
    let mut problem = Problem {
        pieces: vec![piece(50, 20, 2), piece(50, 40, 1), piece(101, 9, 1)],
        stocks: vec![stock(101, 100, 1000)],
        cutting: Cutting { fence_reach: Some(mm(40)), ..cutting(First::Rip, 3, 1) },
        ..Problem::default()
    };
    let at = |p: &Problem, piece, x, y| placed(p, piece, x, y, false);
    let pieces =
        vec![at(&problem, 0, 0, 0), at(&problem, 0, 0, 21), at(&problem, 1, 51, 0), at(&problem, 2, 0, 60)];
    let sheets = Sheets { stock: 0, times: 1, placed: pieces };
    let mut claim = claim(vec![sheets], 1000, 0, Certificate { scale: 1, ..Certificate::default() });
    // 41 wide with its kerf: too wide for the fence, but 59 is not, and the piece at 60 leaves just that.
    confirms(&(problem.clone(), claim.clone()));
    claim.layouts[0].placed[3].y = mm(59);
    let objections = audit(&problem, &claim).expect_err("58 is left");
    assert!(
        matches!(objections[..], [Objection::Tree { fault: TreeFault::FenceReach(_), .. }]),
        "{objections:?}"
    );
    problem.cutting.fence_reach = Some(mm(41));
    confirms(&(problem, claim));
}

/// The same upside down: the strip lies at the sheet's upper edge and is widened downwards, as far as the kerf above the
/// piece below it.
#[test]
fn a_strip_at_the_edge_is_widened_downwards() {
    let problem = Problem {
        pieces: vec![piece(50, 20, 2), piece(50, 40, 1), piece(101, 9, 1)],
        stocks: vec![stock(101, 100, 1000)],
        cutting: Cutting { fence_reach: Some(mm(40)), ..cutting(First::Rip, 3, 1) },
        ..Problem::default()
    };
    let at = |piece, x, y| placed(&problem, piece, x, y, false);
    let pieces = vec![at(0, 0, 80), at(0, 0, 59), at(1, 51, 60), at(2, 0, 31)];
    let sheets = Sheets { stock: 0, times: 1, placed: pieces };
    let mut claim = claim(vec![sheets], 1000, 0, Certificate { scale: 1, ..Certificate::default() });
    confirms(&(problem.clone(), claim.clone()));
    claim.layouts[0].placed[3].y = mm(32);
    let objections = audit(&problem, &claim).expect_err("58 is left");
    let reach = |o: &Objection| matches!(o, Objection::Tree { fault: TreeFault::FenceReach(width), .. } if *width == mm(41));
    assert!(objections.len() == 1 && reach(&objections[0]), "{objections:?}");
}

/// The words that a reader gets, where a name or a number stands in them.
#[test]
fn objections_are_whole_sentences() {
    let (rips, crosscuts) = (TreeFault::Spacing(Direction::Rip), TreeFault::Extent(Direction::Crosscut));
    let tree = |fault| Objection::Tree { layout: 2, fault }.to_string();
    assert_eq!(
        tree(rips),
        "The cuts of layout 2 are wrong: neighbours between rips are not one kerf apart from edge to edge."
    );
    assert_eq!(
        tree(crosscuts),
        "The cuts of layout 2 are wrong: a part between crosscuts does not reach across what it is cut from."
    );
    let claimed = Money::from_minor(9200);
    for (shows, words) in [(-5, "-0.05"), (0, "0.00"), (9199, "91.99"), (i128::MAX, "7.27")] {
        let said = Objection::WeakLeaf { leaf: 1, shows, claimed }.to_string();
        let amount = said.strip_prefix("Leaf 1 of the certificate shows that plans cost ").unwrap();
        let amount = amount.strip_suffix(" or more, but 92.00 is claimed.").unwrap();
        assert!(amount == words || (shows == i128::MAX && amount.ends_with(words)), "{said}");
    }
}

#[test]
fn objects_to_sums_that_do_not_add_up() {
    use Objection as O;
    objects(squares, |p, _| p.pieces[0].count = 4, |o| matches!(o, O::Short { found: 3, wanted: 4, .. }));
    objects(squares, |p, _| p.pieces[0].count = 2, |o| matches!(o, O::Spare { listed: 0, surplus: 1, .. }));
    objects(squares, |_, c| c.spare = vec![(0, 1)], |o| matches!(o, O::Spare { listed: 1, surplus: 0, .. }));
    objects(
        squares,
        |p, _| p.stocks[0].limit = Some(1),
        |o| matches!(o, O::OverLimit { found: 2, limit: 1, .. }),
    );
    objects(squares, |_, c| c.money = Money::from_minor(2001), |o| matches!(o, O::Sum { found: 2000, .. }));
    objects(squares, |_, c| c.bound = Money::from_minor(2001), |o| matches!(o, O::BoundAboveMoney { .. }));
    objects(squares, |_, c| c.bound = Money::from_minor(1999), |o| matches!(o, O::NotProven { .. }));
    objects(bands, |_, c| c.makes = vec![(0, 1)], |o| matches!(o, O::Uncovered { found: 2, wanted: 4, .. }));
    objects(bands, |_, c| c.makes = vec![(1, 4)], |o| matches!(o, O::Short { found: 6, wanted: 8, .. }));
    objects(
        bands,
        |_, c| c.makes = vec![(0, 2), (0, 1)],
        |o| matches!(o, O::Short { found: 6, wanted: 9, .. }),
    );
}

#[test]
fn what_is_spare_is_listed() {
    let (mut problem, mut claim) = squares();
    problem.pieces[0].count = 2;
    claim.spare = vec![(0, 1)];
    claim.bound = Money::from_minor(1000);
    claim.proven = false;
    confirms(&(problem, claim));
}

#[test]
fn objects_to_prices_that_do_not_hold() {
    use Objection as O;
    let price = |c: &mut Claim, p: i64| c.certificate.leaves[0].pieces[0] = p;
    objects(squares, |_, c| price(c, 501), |o| matches!(o, O::SheetTooCheap { worth: 1002, cost: 1000, .. }));
    objects(squares, |_, c| price(c, 333), |o| matches!(o, O::WeakLeaf { shows: 1000, .. }));
    objects(squares, |_, c| price(c, -1), |o| matches!(o, O::NegativePrice { leaf: 1, found: -1, .. }));
    objects(squares, |_, c| price(c, i64::MAX), |o| matches!(o, O::Unusable { .. }));
    objects(squares, |_, c| c.certificate.scale = 0, |o| matches!(o, O::Unusable { .. }));
    objects(squares, |_, c| c.certificate.scale = 2, |o| matches!(o, O::WeakLeaf { shows: 1000, .. }));
    objects(
        squares,
        |_, c| c.certificate.leaves[0].upper[0] = 1,
        |o| matches!(o, O::NoLimitToPrice { leaf: 1, .. }),
    );
    objects(
        squares,
        |_, c| c.certificate.leaves[0].lower[0] = 1,
        |o| matches!(o, O::SheetTooCheap { cost: 999, .. }),
    );
    objects(
        squares,
        |_, c| c.certificate.leaves[0].lower[0] = 1001,
        |o| matches!(o, O::SheetTooCheap { worth: 0, cost: -1, .. }),
    );
    objects(
        squares,
        |_, c| c.certificate.leaves.clear(),
        |o| matches!(o, O::Gap { purchase, .. } if purchase.is_empty()),
    );
    objects(
        bands,
        |_, c| c.certificate.leaves[0].covers[0] = 901,
        |o| matches!(o, O::MakeTooDear { yields: 1802, uses: 1800, .. }),
    );
    objects(
        bands,
        |_, c| c.certificate.leaves[0].covers[0] = 450,
        |o| matches!(o, O::WeakLeaf { shows: 900, .. }),
    );
    objects(
        offcut,
        |_, c| c.certificate.leaves[0].upper[1] = 499,
        |o| matches!(o, O::SheetTooCheap { worth: 500, cost: 499, .. }),
    );
    objects(offcut, |p, _| p.stocks[1].limit = Some(3), |o| matches!(o, O::WeakLeaf { shows: 0, .. }));
}

#[test]
fn prices_that_show_just_enough_are_enough() {
    for (price, good) in [(334, true), (333, false)] {
        let (problem, mut claim) = squares();
        claim.certificate.leaves[0].pieces[0] = price;
        assert_eq!(audit(&problem, &claim).is_ok(), good, "three at {price} are worth {}", 3 * price);
    }
}

#[test]
fn objects_to_purchases_nobody_speaks_about() {
    let (problem, claim) = two_sizes();
    for missing in 0..2 {
        let mut claim = claim.clone();
        claim.certificate.leaves.remove(missing);
        let objections = audit(&problem, &claim).expect_err("half is missing");
        let [Objection::Gap { purchase, .. }] = &objections[..] else { panic!("{objections:?}") };
        assert_eq!(purchase, &[vec![], vec![("sheet 600".to_string(), 1)]][missing]);
    }
    // A box that leaves out one small sheet in the middle.
    let mut claim = claim;
    claim.certificate.leaves[1].branches[0].least = 2;
    let objections = audit(&problem, &claim).expect_err("one small sheet");
    assert!(
        matches!(&objections[..], [Objection::Gap { purchase, .. }] if purchase == &[("sheet 600".into(), 1)])
    );
    // Without any small sheet, or with three: dearer than 16.00 both.
    claim.certificate.leaves[1].branches[0].least = 1;
    claim.certificate.leaves[1].branches[0].most = Some(2);
    confirms(&(problem, claim));
}

#[test]
fn an_empty_box_says_nothing_and_needs_to_show_nothing() {
    let (problem, mut claim) = two_sizes();
    let mut empty = claim.certificate.leaves[0].clone();
    empty.pieces[0] = 0;
    empty.branches = vec![Branch { stock: 0, least: 3, most: Some(2) }];
    claim.certificate.leaves.push(empty);
    confirms(&(problem, claim));
}

#[test]
fn lower_limits_of_a_box_count() {
    // With two large sheets bought at least, a plan costs 20.00 at least, whatever the prices of pieces.
    let (problem, mut claim) = two_sizes();
    let nothing = leaf(&problem, vec![0]);
    claim.certificate.leaves[1] =
        Leaf { branches: vec![Branch { stock: 1, least: 1, most: None }], ..leaf(&problem, vec![500]) };
    claim.certificate.leaves[0] = Leaf {
        branches: vec![
            Branch { stock: 1, least: 0, most: Some(0) },
            Branch { stock: 0, least: 2, most: None },
        ],
        ..nothing.clone()
    };
    let few = Leaf {
        branches: vec![
            Branch { stock: 1, least: 0, most: Some(0) },
            Branch { stock: 0, least: 0, most: Some(1) },
        ],
        ..leaf(&problem, vec![500])
    };
    claim.certificate.leaves.push(few);
    confirms(&(problem.clone(), claim.clone()));
    // A price on having to buy: 3 x 500 + 2 x 1000 for two more sheets at nothing each.
    claim.certificate.leaves[0] = Leaf { lower: vec![1000, 0], ..claim.certificate.leaves[0].clone() };
    confirms(&(problem, claim));
}

#[test]
fn proper_strips_hold_no_more_than_is_needed() {
    // One square of 50 is wanted; a sheet has room for two in a row. Proper prices may be the whole sheet's.
    let (mut problem, mut claim) = squares();
    problem.pieces[0].count = 1;
    claim.layouts.remove(0);
    claim.money = Money::from_minor(1000);
    claim.bound = Money::from_minor(1000);
    claim.certificate.leaves[0].pieces[0] = 1000;
    let objections = audit(&problem, &claim).expect_err("two squares in a row");
    assert!(matches!(objections[..], [Objection::SheetTooCheap { worth: 2000, .. }]), "{objections:?}");
    claim.certificate.proper = true;
    confirms(&(problem, claim));

    // Four bands from slabs that yield two from three strips: six strips at most, eight with the narrow slab, so
    // fourteen in all may be in one strip of places; a strip that holds fifteen is not proper.
    let (mut problem, mut claim) = bands();
    problem.stocks[0].length = mm(1500);
    problem.stocks[0].width = mm(10);
    problem.stocks[0].price = Money::from_minor(900);
    claim.certificate.proper = true;
    claim.certificate.scale = 1;
    claim.certificate.leaves[0].covers[0] = 0;
    for (price, good) in [(64, true), (65, false)] {
        claim.certificate.leaves[0].pieces[0] = price;
        let objections = audit(&problem, &claim).expect_err("the layouts are another job's");
        let dear = objections.iter().any(|o| matches!(o, Objection::SheetTooCheap { .. }));
        assert_eq!(dear, !good, "14 x 64 = 896, 14 x 65 = 910");
    }
}

fn region(x: i64, y: i64, length: i64, width: i64, within: Within) -> Region {
    Region { x: mm(x), y: mm(y), length: mm(length), width: mm(width), within }
}

/// A 100 x 60 sheet, 2 mm kerf: a strip of 40 with pieces of 50 x 40 and 30 x 20 (to be trimmed), and the rest.
fn tree() -> (Problem, Answer) {
    let problem = Problem {
        pieces: vec![piece(50, 40, 1), piece(30, 20, 1)],
        stocks: vec![stock(100, 60, 500)],
        cutting: cutting(First::Rip, 2, 2),
        ..Problem::default()
    };
    let lies = |piece| Within::Piece { piece, turned: false };
    let row = vec![
        region(0, 0, 50, 40, lies(0)),
        region(52, 0, 30, 40, lies(1)),
        region(84, 0, 16, 40, Within::Offcut),
    ];
    let strips = vec![
        region(0, 0, 100, 40, Within::Cut(Direction::Crosscut, row)),
        region(0, 42, 100, 18, Within::Offcut),
    ];
    let root = region(0, 0, 100, 60, Within::Cut(Direction::Rip, strips));
    let answer = Answer {
        layouts: vec![Layout { stock: 0, times: 1, root }],
        makes: Vec::new(),
        spare: Vec::new(),
        money: Money::from_minor(500),
        bound: Money::from_minor(500),
        certificate: certificate(1, vec![leaf(&problem, vec![500, 0])]),
        work: 0,
    };
    (problem, answer)
}

#[track_caller]
fn tree_fault(spoil: impl Fn(&mut Problem, &mut Answer), expected: impl Fn(&TreeFault) -> bool) {
    let (mut problem, mut spoilt) = tree();
    spoil(&mut problem, &mut spoilt);
    let objections = answer(&problem, &spoilt).expect_err("spoilt");
    let found = |o: &Objection| matches!(o, Objection::Tree { layout: 1, fault } if expected(fault));
    assert!(objections.iter().any(found), "{objections:#?}");
    assert!(objections.iter().all(|o| o.to_string().ends_with('.')));
}

fn parts(region: &mut Region) -> &mut Vec<Region> {
    match &mut region.within {
        Within::Cut(_, parts) => parts,
        _ => panic!("not cut"),
    }
}

#[test]
fn trees_of_cuts_are_checked() {
    let (problem, right) = tree();
    let pieces = vec![placed(&problem, 0, 0, 0, false), placed(&problem, 1, 52, 0, false)];
    assert_eq!(cuts(&problem, 1, &right.layouts[0]), Ok(pieces));
    assert!(answer(&problem, &right).expect("right").proven());

    fn root(answer: &mut Answer) -> &mut Region {
        &mut answer.layouts[0].root
    }
    fn row(answer: &mut Answer) -> &mut Vec<Region> {
        parts(&mut parts(root(answer))[0])
    }
    tree_fault(|_, a| root(a).length = mm(99), |f| *f == TreeFault::Root);
    tree_fault(|p, _| p.stocks[0].trim.left = mm(1), |f| *f == TreeFault::Root);
    tree_fault(|_, a| row(a)[1].x = mm(51), |f| *f == TreeFault::Spacing(Direction::Crosscut));
    tree_fault(|_, a| row(a)[1].length = mm(31), |f| *f == TreeFault::Spacing(Direction::Crosscut));
    tree_fault(|_, a| drop(row(a).pop()), |f| *f == TreeFault::Spacing(Direction::Crosscut));
    tree_fault(|_, a| drop(parts(root(a)).pop()), |f| *f == TreeFault::Spacing(Direction::Rip));
    tree_fault(|_, a| row(a)[2].length = mm(17), |f| *f == TreeFault::Spacing(Direction::Crosscut));
    tree_fault(|_, a| row(a)[2].width = mm(39), |f| *f == TreeFault::Extent(Direction::Crosscut));
    tree_fault(|_, a| row(a)[2].length = mm(-1), |f| *f == TreeFault::Extent(Direction::Crosscut));
    tree_fault(|_, a| row(a).clear(), |f| *f == TreeFault::Empty);
    tree_fault(|p, _| p.pieces[0].length = mm(51), |f| matches!(f, TreeFault::Piece(_)));
    tree_fault(|p, _| p.pieces[1].length = mm(29), |f| matches!(f, TreeFault::Piece(_)));
    tree_fault(|p, _| p.cutting.longest_rip = Some(mm(99)), |f| matches!(f, TreeFault::RipTooLong(_)));
    tree_fault(|p, _| p.cutting.fence_reach = Some(mm(17)), |f| matches!(f, TreeFault::FenceReach(_)));
    tree_fault(
        |_, a| {
            let inner = row(a)[0].clone();
            row(a)[0].within = Within::Cut(Direction::Crosscut, vec![inner]);
        },
        |f| *f == TreeFault::SameDirection,
    );
    tree_fault(
        |_, a| {
            let inner = row(a)[0].clone();
            row(a)[0].within = Within::Cut(Direction::Rip, vec![inner]);
        },
        |f| *f == TreeFault::Depth(2),
    );
    // A tree that begins with crosscuts where rips come first has used one stage up.
    tree_fault(|p, _| p.cutting.first = First::Crosscut, |f| *f == TreeFault::Depth(2));
    let (mut problem, right) = tree();
    problem.cutting.first = First::Crosscut;
    problem.cutting.stages = 3;
    assert!(answer(&problem, &right).expect("one stage is left out").proven());
}

#[test]
fn hostile_answers_are_refused_calmly() {
    let (problem, mut wrong) = tree();
    wrong.layouts[0].stock = 7;
    assert!(matches!(answer(&problem, &wrong).unwrap_err()[..], [Objection::Mismatch { found: 7, .. }]));
    let (problem, mut wrong) = tree();
    parts(&mut wrong.layouts[0].root)[0].within = Within::Piece { piece: 9, turned: false };
    let objections = answer(&problem, &wrong).unwrap_err();
    assert!(matches!(objections[..], [Objection::Tree { fault: TreeFault::NoSuchPiece(9), .. }]));
    let (mut problem, wrong) = tree();
    problem.stocks[0].length = Length::from_nm(i64::MAX);
    problem.stocks[0].trim.right = Length::from_nm(i64::MIN);
    assert!(matches!(answer(&problem, &wrong).unwrap_err()[..], [Objection::Unusable { .. }]));
}

/// Every number of a problem that exact arithmetic is not sized for is refused, one by one.
#[test]
fn numbers_out_of_range_are_refused() {
    type Spoil = fn(&mut Problem);
    const TOO_LONG: Length = Length::from_nm(Length::LONGEST.nm() + 1);
    const BELOW: Length = Length::from_nm(-1);
    let spoils: [Spoil; 22] = [
        |p| p.pieces[0].length = Length::ZERO,
        |p| p.pieces[0].length = TOO_LONG,
        |p| p.pieces[0].width = Length::ZERO,
        |p| p.pieces[0].width = TOO_LONG,
        |p| p.stocks[0].length = Length::ZERO,
        |p| p.stocks[0].length = TOO_LONG,
        |p| p.stocks[0].width = BELOW,
        |p| p.stocks[0].trim.left = BELOW,
        |p| p.stocks[0].trim.right = TOO_LONG,
        |p| p.stocks[0].trim.top = BELOW,
        |p| p.stocks[0].trim.left = mm(103),
        |p| p.stocks[0].trim.bottom = mm(50),
        |p| p.stocks[0].price = Money::from_minor(-1),
        |p| p.stocks[0].price = Money::from_minor((1 << 50) + 1),
        |p| p.cutting.rip_kerf = BELOW,
        |p| p.cutting.crosscut_kerf = TOO_LONG,
        |p| p.cutting.longest_rip = Some(BELOW),
        |p| p.cutting.fence_reach = Some(TOO_LONG),
        |p| p.cutting.smallest_rip = Some(BELOW),
        |p| p.cutting.stages = 1,
        |p| p.cutting.stages = 4,
        |p| p.stocks[0].width = TOO_LONG,
    ];
    for (i, spoil) in spoils.iter().enumerate() {
        let (mut problem, claim) = squares();
        spoil(&mut problem);
        let objections = audit(&problem, &claim).expect_err("out of range");
        assert!(matches!(objections[..], [Objection::Unusable { .. }]), "{i}: {objections:?}");
    }
    objects(
        squares,
        |p, _| p.pieces[0].stocks = vec![1],
        |o| matches!(o, Objection::Mismatch { found: 1, .. }),
    );
    objects(bands, |p, _| p.makes[0].uses[0].0 = 1, |o| matches!(o, Objection::Mismatch { found: 1, .. }));
    objects(bands, |p, _| p.makes[0].yields[0].0 = 1, |o| matches!(o, Objection::Mismatch { found: 1, .. }));
    objects(bands, |_, c| c.makes[0].0 = 2, |o| matches!(o, Objection::Mismatch { found: 2, .. }));
    objects(squares, |_, c| c.spare = vec![(1, 1)], |o| matches!(o, Objection::Mismatch { found: 1, .. }));
    objects(squares, |_, c| c.layouts[0].stock = 1, |o| matches!(o, Objection::Mismatch { found: 1, .. }));
    objects(squares, |_, c| c.layouts[0].placed[0].piece = 1, |o| matches!(o, Objection::Mismatch { .. }));
    objects(
        squares,
        |_, c| c.certificate.leaves[0].pieces.clear(),
        |o| matches!(o, Objection::Mismatch { .. }),
    );
    objects(squares, |_, c| c.layouts[0].placed[0].x = BELOW, |o| matches!(o, Objection::Unusable { .. }));
}

/// Sizes at the very edge of what is allowed are no fault.
#[test]
fn numbers_at_the_edge_of_the_range_are_audited() {
    let (mut problem, claim) = squares();
    problem.stocks[0].price = Money::from_minor(1 << 50);
    problem.cutting.longest_rip = Some(Length::LONGEST);
    let objections = audit(&problem, &claim).expect_err("the money is another");
    assert!(!objections.iter().any(|o| matches!(o, Objection::Unusable { .. })), "{objections:?}");
}

#[test]
fn too_many_of_anything_is_refused_before_it_is_looked_at() {
    let (problem, mut claim) = squares();
    let one = claim.layouts[0].placed[0];
    claim.layouts[0].placed = vec![one; 20_001];
    let objections = audit(&problem, &claim).expect_err("too many pieces");
    assert!(
        matches!(objections[..], [Objection::TooMany { found: 20_001, most: 20_000, .. }]),
        "{objections:?}"
    );
    claim.layouts[0].placed = vec![one; 20_000];
    let objections = audit(&problem, &claim).expect_err("all in one place");
    assert!(objections.iter().any(|o| matches!(o, Objection::Overlap { .. })), "{objections:?}");
    let (problem, mut claim) = squares();
    claim.spare = vec![(0, 0); 10_001];
    let objections = audit(&problem, &claim).expect_err("too many entries");
    assert!(
        matches!(objections[..], [Objection::TooMany { found: 10_001, most: 10_000, .. }]),
        "{objections:?}"
    );
    claim.spare.pop();
    assert!(audit(&problem, &claim).is_ok(), "ten thousand entries of nothing are nothing");
}

/// What the numbers of a tree may just be: waste of exactly a kerf, a whole width that needs no rip, a piece exactly
/// as large as its place.
#[test]
fn trees_at_the_edge_are_no_fault() {
    let (mut problem, mut right) = tree();
    problem.stocks[0].width = mm(42);
    right.layouts[0].root.width = mm(42);
    parts(&mut right.layouts[0].root).pop();
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok(), "40 and a kerf are 42");
    problem.cutting.longest_rip = Some(mm(100));
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok(), "the rip is just so long");
    problem.cutting.longest_rip = Some(mm(99));
    let ripped = cuts(&problem, 1, &right.layouts[0]);
    assert!(matches!(ripped, Err(Objection::Tree { fault: TreeFault::RipTooLong(_), .. })), "{ripped:?}");
    problem.stocks[0].width = mm(40);
    right.layouts[0].root.width = mm(40);
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok(), "one strip of the whole width is not ripped");
    problem.cutting.longest_rip = None;
    problem.stocks[0].width = mm(41);
    right.layouts[0].root.width = mm(41);
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok(), "less than a kerf is sawdust");
    problem.stocks[0].width = mm(43);
    right.layouts[0].root.width = mm(43);
    let left_over = cuts(&problem, 1, &right.layouts[0]);
    assert!(matches!(left_over, Err(Objection::Tree { fault: TreeFault::Spacing(Direction::Rip), .. })));
}

/// After the last stage a piece may be trimmed once: on one side, while the other is just so long.
#[test]
fn one_trim_is_one_trim() {
    let (mut problem, mut right) = tree();
    problem.pieces = vec![piece(45, 60, 1), piece(30, 55, 1)];
    problem.cutting = cutting(First::Crosscut, 1, 2);
    let lies = |piece| Within::Piece { piece, turned: false };
    let panels = |second| {
        vec![
            region(0, 0, 50, 60, lies(0)),
            region(52, 0, second, 60, lies(1)),
            region(84, 0, 16, 60, Within::Offcut),
        ]
    };
    right.layouts[0].root = region(0, 0, 100, 60, Within::Cut(Direction::Crosscut, panels(30)));
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok(), "one is trimmed to its length, one to its width");
    problem.pieces[1].length = mm(29);
    let twice = cuts(&problem, 1, &right.layouts[0]);
    assert!(matches!(twice, Err(Objection::Tree { fault: TreeFault::Piece(_), .. })), "{twice:?}");
}

/// Only rips are as long as the region: a crosscut of a long sheet is no long rip.
#[test]
fn long_crosscuts_are_no_long_rips() {
    let (mut problem, mut right) = tree();
    problem.cutting = Cutting { longest_rip: Some(mm(50)), ..cutting(First::Crosscut, 2, 2) };
    let lies = |piece| Within::Piece { piece, turned: false };
    let panels = vec![
        region(0, 0, 50, 60, lies(0)),
        region(52, 0, 30, 60, lies(1)),
        region(84, 0, 16, 60, Within::Offcut),
    ];
    right.layouts[0].root = region(0, 0, 100, 60, Within::Cut(Direction::Crosscut, panels));
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok());
    // Where a stage is left, two trims are one cut of that stage and one trim; where none is, a piece is too small.
    let piece = |r: &mut Answer| parts(&mut r.layouts[0].root)[1].length = mm(31);
    piece(&mut right);
    parts(&mut right.layouts[0].root)[2] = region(85, 0, 15, 60, Within::Offcut);
    assert!(cuts(&problem, 1, &right.layouts[0]).is_ok());
    problem.cutting.stages = 1;
    assert!(matches!(
        cuts(&problem, 1, &right.layouts[0]),
        Err(Objection::Tree { fault: TreeFault::Piece(_), .. })
    ));
}

/// A size of either kind that no sheet has is refused before it is added to anything.
#[test]
fn trees_of_senseless_sizes_are_refused() {
    type Spoil = fn(&mut Problem);
    let spoils: [Spoil; 4] = [
        |p| p.pieces[0].length = Length::from_nm(i64::MAX),
        |p| p.pieces[1].width = Length::from_nm(-1),
        |p| p.cutting.rip_kerf = Length::from_nm(i64::MAX),
        |p| p.stocks[0].trim.top = Length::from_nm(i64::MIN),
    ];
    for spoil in spoils {
        let (mut problem, right) = tree();
        spoil(&mut problem);
        assert!(matches!(cuts(&problem, 1, &right.layouts[0]), Err(Objection::Unusable { .. })));
    }
}

/// Four pieces round a fifth touch along whole edges: they cannot be sawn, and they do not overlap.
#[test]
fn touching_is_not_overlapping() {
    let problem = Problem {
        pieces: vec![piece(20, 10, 2), piece(10, 20, 2)],
        stocks: vec![stock(30, 30, 500)],
        cutting: cutting(First::Either, 3, 0),
        ..Problem::default()
    };
    let lie = |piece, x, y| placed(&problem, piece, x, y, false);
    let pinwheel = vec![lie(0, 0, 0), lie(1, 20, 0), lie(0, 10, 20), lie(1, 0, 10)];
    let proof = certificate(1, vec![leaf(&problem, vec![100, 100])]);
    let mut claim = claim(vec![Sheets { stock: 0, times: 1, placed: pinwheel }], 500, 500, proof);
    let said = audit(&problem, &claim).expect_err("a pinwheel");
    assert!(said.iter().any(|o| matches!(o, Objection::NotSawable { layout: 1, .. })), "{said:?}");
    assert!(!said.iter().any(|o| matches!(o, Objection::Overlap { .. })), "{said:?}");
    for (x, y) in [(19, 0), (20, 1)] {
        let moved = &mut claim.layouts[0].placed;
        (moved[1].x, moved[1].y) = (mm(x), mm(y));
        let said = audit(&problem, &claim).expect_err("overlapping");
        assert!(said.iter().any(|o| matches!(o, Objection::Overlap { layout: 1, .. })), "{said:?}");
    }
}

/// Each fault names its own layout, and a long list of faults ends.
#[test]
fn faults_name_their_layout_and_have_an_end() {
    let (problem, right) = squares();
    let mut wrong = right.clone();
    wrong.layouts[1].placed[0].x = mm(60);
    let said = audit(&problem, &wrong).expect_err("outside");
    assert!(said.iter().any(|o| matches!(o, Objection::Outside { layout: 2, .. })), "{said:?}");
    let mut wrong = right.clone();
    wrong.layouts[0].placed[1].x = mm(52);
    wrong.layouts.swap(0, 1);
    let said = audit(&problem, &wrong).expect_err("a millimetre short of a kerf");
    assert!(said.iter().any(|o| matches!(o, Objection::NotSawable { layout: 2, .. })), "{said:?}");
    let mut wrong = right;
    wrong.layouts[0].placed = vec![placed(&problem, 0, 60, 0, false); 150];
    wrong.layouts = vec![wrong.layouts[0].clone(); 3];
    let said = audit(&problem, &wrong).expect_err("outside");
    assert_eq!(said.len(), 200);
}

/// What one leaf has shown of a sheet counts for the next only at the same prices of pieces and no smaller cost.
#[test]
fn every_leaf_is_looked_at() {
    let dear = |o: &Objection| matches!(o, Objection::SheetTooCheap { leaf: 2, .. });
    objects(two_sizes, |_, c| c.certificate.leaves[1].pieces[0] = 501, dear);
    objects(two_sizes, |_, c| c.certificate.leaves[1].lower[0] = 1, dear);
    objects(
        two_sizes,
        |_, c| {
            c.certificate.leaves[0].upper[0] = 1;
            c.certificate.leaves[0].pieces[0] = 500;
        },
        |o| matches!(o, Objection::NoLimitToPrice { leaf: 1, .. }),
    );
    let first = |o: &Objection| matches!(o, Objection::SheetTooCheap { leaf: 1, .. });
    objects(two_sizes, |_, c| c.certificate.leaves[0].pieces[0] = 501, first);
    objects(
        bands,
        |_, c| c.certificate.leaves[0].covers[0] = 901,
        |o| matches!(o, Objection::MakeTooDear { leaf: 1, .. }),
    );
}

/// A make that yields nothing of a cover, and one whose cover is not wanted, need no pieces.
#[test]
fn makes_that_yield_nothing_need_nothing() {
    let (mut problem, mut claim) = bands();
    problem.makes[1].yields = vec![(0, 0)];
    claim.certificate.proper = true;
    assert!(audit(&problem, &claim).is_ok());
    assert_eq!(crate::audit::worth::need(&problem), [6], "two wide slabs of three strips");
    assert_eq!(problem.most_needed().len(), 1);
}

/// A nanometre into the trim of any edge is outside; right up to it is not.
#[test]
fn trims_are_no_part_of_the_sheet() {
    let trim = Trim { left: mm(1), right: mm(2), bottom: mm(3), top: mm(4) };
    let problem = Problem {
        pieces: vec![piece(50, 40, 1)],
        stocks: vec![Stock { trim, ..stock(60, 50, 500) }],
        cutting: cutting(First::Rip, 2, 0),
        ..Problem::default()
    };
    let nm = Length::from_nm(1);
    let corners = [
        (mm(1), mm(3)),
        (mm(8), mm(6)),
        (mm(1) - nm, mm(3)),
        (mm(1), mm(3) - nm),
        (mm(8) + nm, mm(6)),
        (mm(8), mm(6) + nm),
    ];
    for (at, (x, y)) in corners.into_iter().enumerate() {
        let mut lies = placed(&problem, 0, 0, 0, false);
        (lies.x, lies.y) = (x, y);
        let sheet = Sheets { stock: 0, times: 1, placed: vec![lies] };
        let proof = certificate(1, vec![leaf(&problem, vec![500])]);
        let said = audit(&problem, &claim(vec![sheet], 500, 500, proof)).err().unwrap_or_default();
        let outside = said.iter().any(|o| matches!(o, Objection::Outside { layout: 1, .. }));
        assert_eq!(outside, at > 1, "{x} {y}: {said:?}");
    }
}
