//! The largest number of everything is audited, one more is refused.

use stripwright_units::{Length, Money};

use super::support::{certificate, claim, cutting, leaf, mm, piece, placed, stock};
use crate::audit::limits::{MOST_FORK_PRICE, MOST_FORKS, MOST_WORTH};
use crate::audit::{Claim, Objection, Sheets, audit};
use crate::certificate::{Branch, Count, Counted, Fork};
use crate::problem::{Cover, Direction, First, Make, Problem};

/// One piece as large as its sheet.
fn one() -> (Problem, Claim) {
    let problem = Problem {
        pieces: vec![piece(50, 50, 1)],
        stocks: vec![stock(50, 50, 1000)],
        cutting: cutting(First::Rip, 2, 3),
        ..Problem::default()
    };
    let sheet = Sheets { stock: 0, times: 1, placed: vec![placed(&problem, 0, 0, 0, false)] };
    let proof = certificate(1, vec![leaf(&problem, vec![1000])]);
    (problem, claim(vec![sheet], 1000, 1000, proof))
}

fn said(change: impl Fn(&mut Problem, &mut Claim)) -> Vec<Objection> {
    let (mut problem, mut claim) = one();
    change(&mut problem, &mut claim);
    audit(&problem, &claim).err().unwrap_or_default()
}

/// A make of nothing with so many entries.
fn make(entries: usize) -> Make {
    Make { name: "make".into(), yields: Vec::new(), uses: vec![(0, 0); entries] }
}

/// Sets a list to this size.
type Resize = fn(&mut Problem, &mut Claim, usize);

#[test]
fn lists_have_an_end() {
    let lists: [(&str, usize, Resize); 13] = [
        ("kinds of piece", 10_000, |p, c, n| {
            p.pieces.resize(n, piece(50, 50, 0));
            c.certificate.leaves[0].pieces.resize(n, 0);
        }),
        ("kinds of sheet", 10_000, |p, c, n| {
            p.stocks.resize(n, stock(50, 50, 1000));
            c.certificate.leaves[0].upper.resize(n, 0);
            c.certificate.leaves[0].lower.resize(n, 0);
        }),
        ("covers", 10_000, |p, c, n| {
            p.covers.resize(n, Cover { name: "cover".into(), count: 0 });
            c.certificate.leaves[0].covers.resize(n, 0);
        }),
        ("makes", 10_000, |p, _, n| {
            p.makes.resize(n, make(0));
        }),
        ("layouts", 100_000, |_, c, n| {
            let empty = Sheets { placed: Vec::new(), ..c.layouts[0].clone() };
            c.layouts.resize(n, empty);
        }),
        ("chosen makes", 10_000, |p, c, n| {
            p.makes.push(make(0));
            c.makes.resize(n, (0, 1));
        }),
        ("spare entries", 10_000, |_, c, n| c.spare.resize(n, (0, 0))),
        ("leaves in the certificate", 100_000, |_, c, n| {
            let leaf = c.certificate.leaves[0].clone();
            c.certificate.leaves.resize(n, leaf);
        }),
        ("placed pieces", 2_000_000, |_, c, n| {
            c.layouts[0].placed.clear();
            let some =
                Sheets { placed: vec![placed(&one().0, 0, 0, 0, false); 20_000], ..c.layouts[0].clone() };
            c.layouts.resize(101, some);
            c.layouts[0].placed = vec![c.layouts[1].placed[0]; n - 2_000_000];
        }),
        ("entries in a make", 10_000, |p, _, n| {
            p.makes.push(make(n));
        }),
        ("pieces on one layout", 20_000, |_, c, n| {
            let piece = c.layouts[0].placed[0];
            c.layouts[0].placed.resize(n, piece);
        }),
        ("forks of a leaf", MOST_FORKS, |_, c, n| {
            c.certificate.leaves[0].forks = vec![fork(); n];
        }),
        ("branches of a leaf", 1_000, |_, c, n| {
            c.certificate.leaves[0].branches = vec![Branch { stock: 0, least: 0, most: None }; n];
        }),
    ];
    for (name, limit, resize) in lists {
        let too_many = |n: usize| {
            let named = |o: &Objection| match o {
                Objection::TooMany { what, found, most } => {
                    assert_eq!((*found, *most), (n as u64, limit as u64), "{what}");
                    *what == name
                }
                _ => false,
            };
            // Money below zero ends the audit before it looks into what is in the lists.
            said(|p, c| {
                resize(p, c, n);
                c.money = Money::from_minor(-1);
            })
            .iter()
            .any(named)
        };
        assert!(!too_many(limit), "{name}");
        assert!(too_many(limit + 1), "{name}");
    }
}

/// At least one piece in strips of 50.
fn fork() -> Fork {
    let what = Counted::Pieces { width: mm(50), pieces: vec![0] };
    Fork { count: Count { stocks: vec![0], first: Direction::Rip, what }, at: 0, more: true, price: 0 }
}

/// Sets a number; the first is the least that is allowed, the second the most.
type Set = fn(&mut Problem, &mut Claim, i64);

#[test]
fn numbers_have_bounds() {
    let longest = Length::LONGEST.nm();
    let numbers: [(&str, i64, i64, Set); 22] = [
        ("The length of piece", 1, longest, |p, _, n| p.pieces[0].length = Length::from_nm(n)),
        ("The width of piece", 1, longest, |p, _, n| p.pieces[0].width = Length::from_nm(n)),
        ("The length of sheet", 1, longest, |p, _, n| p.stocks[0].length = Length::from_nm(n)),
        ("The width of sheet", 1, longest, |p, _, n| p.stocks[0].width = Length::from_nm(n)),
        ("A trim of sheet", 0, longest, |p, _, n| p.stocks[0].trim.left = Length::from_nm(n)),
        ("A trim of sheet", 0, longest, |p, _, n| p.stocks[0].trim.right = Length::from_nm(n)),
        ("A trim of sheet", 0, longest, |p, _, n| p.stocks[0].trim.bottom = Length::from_nm(n)),
        ("A trim of sheet", 0, longest, |p, _, n| p.stocks[0].trim.top = Length::from_nm(n)),
        ("Sheet", 0, mm(50).nm() - 1, |p, _, n| p.stocks[0].trim.left = Length::from_nm(n.max(0))),
        ("Sheet", 0, mm(50).nm() - 1, |p, _, n| p.stocks[0].trim.top = Length::from_nm(n.max(0))),
        ("The price of sheet", 0, 1 << 50, |p, _, n| p.stocks[0].price = Money::from_minor(n)),
        ("The rip kerf", 0, longest, |p, _, n| p.cutting.rip_kerf = Length::from_nm(n)),
        ("The crosscut kerf", 0, longest, |p, _, n| p.cutting.crosscut_kerf = Length::from_nm(n)),
        ("The longest rip", 0, longest, |p, _, n| p.cutting.longest_rip = Some(Length::from_nm(n))),
        ("The fence's reach", 0, longest, |p, _, n| p.cutting.fence_reach = Some(Length::from_nm(n))),
        ("The smallest rip", 0, longest, |p, _, n| p.cutting.smallest_rip = Some(Length::from_nm(n))),
        ("The stages of cutting", 2, 3, |p, _, n| p.cutting.stages = n as u8),
        ("The money claimed", 0, i64::MAX, |_, c, n| c.money = Money::from_minor(n)),
        ("The bound claimed", 0, i64::MAX, |_, c, n| c.bound = Money::from_minor(n)),
        ("The scale of the certificate", 1, 1 << 50, |_, c, n| c.certificate.scale = n),
        ("The price of fork 1 in leaf 1", i64::MIN, MOST_FORK_PRICE, |_, c, n| {
            c.certificate.leaves[0].forks = vec![Fork { price: n, ..fork() }];
        }),
        ("The price on piece 1", i64::MIN, MOST_WORTH, |_, c, n| c.certificate.leaves[0].pieces[0] = n),
    ];
    for (name, least, most, set) in numbers {
        let unusable = |n: i64| {
            let named =
                |o: &Objection| matches!(o, Objection::Unusable { what, .. } if what.starts_with(name));
            said(|p, c| set(p, c, n)).iter().any(named)
        };
        assert!(!unusable(least) && !unusable(most), "{name}");
        // Trims below zero have their own words.
        assert!(least == i64::MIN || name == "Sheet" || unusable(least - 1), "{name}");
        assert!(most == i64::MAX || unusable(most + 1), "{name}");
    }
}

#[test]
fn prices_below_zero_are_refused_wherever_they_stand() {
    type Spoil = fn(&mut Claim);
    let spoils: [(Spoil, &str); 5] = [
        (|c| c.certificate.leaves[0].forks = vec![Fork { price: -1, ..fork() }], "fork 1"),
        (|c| c.certificate.leaves[0].pieces[0] = -1, "piece 1"),
        (|c| c.certificate.leaves[0].covers[1] = -1, "cover 2"),
        (|c| c.certificate.leaves[0].upper[0] = -1, "more of sheet 1"),
        (|c| c.certificate.leaves[0].lower[0] = -1, "fewer of sheet 1"),
    ];
    for (spoil, of) in spoils {
        let said = said(|p, c| {
            p.covers = vec![Cover { name: "cover".into(), count: 0 }; 2];
            c.certificate.leaves[0].covers = vec![0, 0];
            c.certificate.proper = true;
            spoil(c);
        });
        let expected = Objection::NegativePrice { leaf: 1, what: of.into(), found: -1 };
        assert_eq!(said, [expected]);
    }
    let said = said(|_, c| c.certificate.leaves[0].pieces[0] = 0);
    assert!(!said.iter().any(|o| matches!(o, Objection::NegativePrice { .. })), "{said:?}");
}

/// Indices one past the end, with where they stand and how many there are.
#[test]
fn indices_past_the_end_are_refused() {
    type Spoil = fn(&mut Problem, &mut Claim);
    let spoils: [(Spoil, &str, u64); 11] = [
        (
            |_, c| {
                c.certificate.proper = true;
                c.certificate.leaves[0].forks = vec![fork()];
                c.certificate.leaves[0].forks[0].count.stocks[0] = 1;
            },
            "A sheet index of fork 1 in leaf 1 of the certificate",
            1,
        ),
        (
            |_, c| {
                c.certificate.proper = true;
                c.certificate.leaves[0].forks = vec![fork()];
                c.certificate.leaves[0].forks[0].count.what =
                    Counted::Pieces { width: mm(50), pieces: vec![0, 1] };
            },
            "A piece index of fork 1 in leaf 1 of the certificate",
            1,
        ),
        (|p, _| p.pieces[0].stocks = vec![0, 1], "A sheet index of piece `50 x 50`", 1),
        (|_, c| c.layouts[0].stock = 1, "The sheet index of layout 1", 1),
        (|_, c| c.layouts[0].placed[0].piece = 1, "A piece index of layout 1", 1),
        (|_, c| c.makes = vec![(0, 1)], "The index of a chosen make", 0),
        (|_, c| c.spare = vec![(1, 0)], "The index of a spare piece", 1),
        (
            |_, c| c.certificate.leaves[0].upper.push(0),
            "The number of upper prices in leaf 1 of the certificate",
            1,
        ),
        (
            |_, c| c.certificate.leaves[0].lower.push(0),
            "The number of lower prices in leaf 1 of the certificate",
            1,
        ),
        (
            |_, c| c.certificate.leaves[0].covers.push(0),
            "The number of cover prices in leaf 1 of the certificate",
            0,
        ),
        (
            |_, c| c.certificate.leaves[0].branches = vec![Branch { stock: 1, least: 0, most: None }],
            "A sheet index in leaf 1 of the certificate",
            1,
        ),
    ];
    for (spoil, place, have) in spoils {
        let said = said(spoil);
        let matching = |o: &Objection| matches!(o, Objection::Mismatch { what, expected, .. } if what == place && *expected == have);
        assert!(said.len() == 1 && said.iter().all(matching), "{place}: {said:?}");
    }
}

/// Forks count strips of proper layouts in two stages.
#[test]
fn forks_are_for_proper_layouts_in_two_stages() {
    let refused = |stages: u8, proper: bool| {
        let said = said(|p, c| {
            p.cutting.stages = stages;
            c.certificate.proper = proper;
            c.certificate.leaves[0].forks = vec![fork()];
        });
        let named =
            |o: &Objection| matches!(o, Objection::Unusable { what, .. } if what == "The forks of leaf 1");
        said.iter().any(named)
    };
    assert!(!refused(2, true));
    assert!(refused(2, false) && refused(3, true));
}

/// A price and a scale may each be as large as they may be, but not what they come to.
#[test]
fn a_sheet_cannot_cost_more_than_is_counted_with() {
    let said = said(|p, c| {
        p.stocks[0].price = Money::from_minor(1 << 31);
        c.money = Money::from_minor(1 << 31);
        c.bound = Money::ZERO;
        c.proven = false;
        c.certificate.scale = 1 << 32;
    });
    let cost = |o: &Objection| matches!(o, Objection::Unusable { what, .. } if what == "The cost of sheet `sheet 1000` in leaf 1");
    assert!(said.len() == 1 && said.iter().all(cost), "{said:?}");
}

/// The leaf that shows too little is named by its number.
#[test]
fn a_weak_leaf_is_named() {
    let said = said(|_, c| {
        let weak = leaf(&one().0, vec![0]);
        c.certificate.leaves = vec![c.certificate.leaves[0].clone(), weak];
    });
    assert!(matches!(said[..], [Objection::WeakLeaf { leaf: 2, shows: 0, .. }]), "{said:?}");
}

/// No more than two hundred objections are gathered from a list of thousands.
#[test]
fn objections_have_an_end() {
    let many = said(|_, c| {
        c.layouts[0].times = 0;
        c.layouts = vec![c.layouts[0].clone(); 300];
    });
    assert_eq!(many.len(), 200);
    assert!(matches!(many[199], Objection::UnusedLayout { layout: 200 }));
    let many = said(|_, c| {
        c.certificate.leaves[0].upper[0] = -1;
        c.certificate.leaves = vec![c.certificate.leaves[0].clone(); 300];
    });
    assert_eq!(many.len(), 200);
}
