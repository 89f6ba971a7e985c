//! The order in which sheets are sawn, all layouts together, so that a fence or stop is set as few times as can be.
//!
//! A cut waits for the cut that frees the board it is made in and for its neighbour nearer the reference edge. Cuts of
//! one direction and one setting are made in one go as long as none of them waits for a cut of another setting that
//! waits for one of them. The settings themselves then form an order without a circle, and taking at each turn a
//! setting whose cuts can *all* be made meets each of them once. Where layouts do wait for each other in a circle,
//! some setting is used twice; the run says so.

use std::collections::{BTreeMap, BTreeSet};

use stripwright_units::Length;

use crate::plan::{Cut, Direction, Layout, Plan, Region, Run, RunCuts, Within};

/// One cut with what it waits for.
#[derive(Debug)]
struct PendingCut {
    layout: usize,
    cut: usize,
    /// Index of the cut, of the same layout, after which the board lies on the saw.
    after: Option<usize>,
    direction: Direction,
    size: Length,
    setting: Length,
    inside: bool,
    frees: Vec<String>,
}

/// All cuts but the trimming of the sheets' own edges, as runs in the order of sawing.
pub(super) fn runs(plan: &Plan) -> Vec<Run> {
    let pending: Vec<PendingCut> =
        plan.layouts.iter().enumerate().flat_map(|(n, layout)| pending_cuts(plan, n, layout)).collect();
    let mut done = vec![false; pending.len()];
    // What is still to be made at each setting, in the layouts' order.
    let mut left: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
    for (n, cut) in pending.iter().enumerate() {
        left.entry(key(cut)).or_default().push(n);
    }
    let mut used: Vec<Key> = Vec::new();
    let mut runs: Vec<Run> = Vec::new();
    while let Some(next) = next_setting(&pending, &left, &mut done, runs.last().map(|r| r.direction)) {
        let made = make(&pending, &left[&next], &mut done);
        runs.push(run(&pending, &made, next, used.contains(&next), runs.len()));
        used.push(next);
        left.values_mut().for_each(|rest| rest.retain(|&n| !done[n]));
        left.retain(|_, rest| !rest.is_empty());
    }
    runs
}

/// At how many distances the rip fence is set, trimming of the sheets' own edges aside; one that comes again counts once.
pub(crate) fn fence_settings(plan: &Plan) -> usize {
    let pending = plan.layouts.iter().enumerate().flat_map(|(n, layout)| pending_cuts(plan, n, layout));
    let rips: BTreeSet<Key> =
        pending.map(|cut| key(&cut)).filter(|(direction, ..)| *direction == Direction::Rip).collect();
    rips.len()
}

type Key = (Direction, Length, bool);

fn key(cut: &PendingCut) -> Key {
    (cut.direction, cut.setting, cut.inside)
}

fn ready(pending: &[PendingCut], done: &[bool], n: usize) -> bool {
    !done[n] && pending[n].after.is_none_or(|before| done[before])
}

/// Makes every one of these cuts that can be made, those that wait only for others of them included.
fn make(pending: &[PendingCut], cuts: &[usize], done: &mut [bool]) -> Vec<usize> {
    let mut made = Vec::new();
    loop {
        let before = made.len();
        for &n in cuts {
            if ready(pending, done, n) {
                done[n] = true;
                made.push(n);
            }
        }
        if made.len() == before {
            return made;
        }
    }
}

/// The setting to use next: one that is finished with in one go if there is one, then one of the direction at hand,
/// then rips before crosscuts, then the widest. Where none can be finished, a stop is rather set twice than a fence,
/// for strips that are to lie side by side in a slab have to be of one width to the hair; then the one that gets most
/// cuts done.
fn next_setting(
    pending: &[PendingCut],
    left: &BTreeMap<Key, Vec<usize>>,
    done: &mut [bool],
    at_hand: Option<Direction>,
) -> Option<Key> {
    left.iter()
        .filter_map(|(setting, cuts)| {
            // Tried, and taken back.
            let tried = make(pending, cuts, done);
            tried.iter().for_each(|&n| done[n] = false);
            let made = tried.len();
            let finished = made == cuts.len();
            let stays = at_hand.is_none_or(|d| d == setting.0);
            let rips = setting.0 == Direction::Rip;
            let (rather, most) = if finished { (false, 0) } else { (!rips, made) };
            (made > 0).then_some(((finished, rather, most, stays, rips, setting.1), *setting))
        })
        .max_by_key(|(worth, _)| *worth)
        .map(|(_, setting)| setting)
}

fn run(pending: &[PendingCut], made: &[usize], key: Key, again: bool, so_far: usize) -> Run {
    let mut by_layout: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
    let mut frees: Vec<String> = Vec::new();
    for &n in made {
        by_layout.entry(pending[n].layout).or_default().push(pending[n].cut as u32);
        frees.extend(pending[n].frees.iter().cloned());
    }
    frees.sort();
    frees.dedup();
    Run {
        number: so_far as u32 + 1,
        direction: key.0,
        size: made.first().map_or(key.1, |&n| pending[n].size).into(),
        setting: key.1.into(),
        inside: key.2,
        again,
        cuts: by_layout
            .into_iter()
            .map(|(layout, mut numbers)| {
                numbers.sort_unstable();
                RunCuts { layout: layout as u32 + 1, numbers }
            })
            .collect(),
        frees,
    }
}

/// The cuts of one layout, in the order of the layout's own list. `after` is an index into the pending cuts of the whole
/// plan: those of this layout begin at `shift`.
fn pending_cuts(plan: &Plan, number: usize, layout: &Layout) -> Vec<PendingCut> {
    let shift: usize =
        plan.layouts[..number].iter().map(|l| l.cuts.iter().filter(|c| c.stage > 0).count()).sum();
    let cuts: Vec<&Cut> = layout.cuts.iter().filter(|c| c.stage > 0).collect();
    let mut walk = Walk { plan, cuts: &cuts, found: vec![None; cuts.len()] };
    walk.region(&layout.region, None);
    let found = walk.found;
    cuts.iter()
        .enumerate()
        .map(|(n, cut)| {
            // A cut that the division of the sheet does not explain waits for the one before it in sawing order.
            let place = found[n].clone().unwrap_or(Place {
                after: n.checked_sub(1),
                beside: Length::ZERO,
                frees: Vec::new(),
            });
            let reach = match cut.direction {
                Direction::Rip => plan.cutting.fence_reach.map(|reach| *reach),
                Direction::Crosscut => None,
            };
            let over = reach.is_some_and(|reach| *cut.setting > reach && place.beside.is_positive());
            PendingCut {
                layout: number,
                cut: cut.number as usize,
                after: place.after.map(|k| k + shift),
                direction: cut.direction,
                size: *cut.setting,
                setting: if over { place.beside } else { *cut.setting },
                inside: !over,
                frees: place.frees,
            }
        })
        .collect()
}

/// How a cut lies in the division of its sheet.
#[derive(Clone, Debug)]
struct Place {
    after: Option<usize>,
    /// What lies on the other side of the blade.
    beside: Length,
    frees: Vec<String>,
}

struct Walk<'w> {
    plan: &'w Plan,
    cuts: &'w [&'w Cut],
    found: Vec<Option<Place>>,
}

impl Walk<'_> {
    /// Finds the cuts within a region that lies on the saw after cut `after`.
    fn region(&mut self, region: &Region, after: Option<usize>) {
        match &region.within {
            Within::Cut { direction, into } => {
                let mut last = after;
                for (n, child) in into.iter().enumerate() {
                    let cut = self.find(*direction, far_edge(*direction, child), region);
                    if let Some(k) = cut {
                        let kerf = kerf(self.plan, *direction);
                        let beside = far_edge(*direction, region) - far_edge(*direction, child) - kerf;
                        let mut frees: Vec<String> = finished(self.plan, child).into_iter().collect();
                        // The last cut of a board frees what lies on both of its sides.
                        if n + 2 == into.len() {
                            frees.extend(finished(self.plan, &into[n + 1]));
                        }
                        self.found[k] = Some(Place { after: last, beside, frees });
                        last = Some(k);
                    }
                    self.region(child, last);
                }
            }
            Within::Piece { part, turned } => {
                let Some((length, width)) = size(self.plan, part, *turned) else { return };
                let mut last = after;
                // Trimmed once: the piece lies in the corner nearest the origin, the rest is cut off it.
                for (direction, edge) in
                    [(Direction::Rip, *region.y + width), (Direction::Crosscut, *region.x + length)]
                {
                    if let Some(k) = self.find(direction, edge, region) {
                        let beside = far_edge(direction, region) - edge - kerf(self.plan, direction);
                        self.found[k] = Some(Place { after: last, beside, frees: vec![part.clone()] });
                        last = Some(k);
                    }
                }
            }
            Within::Offcut => {}
        }
    }

    /// A cut not yet placed that runs at `at` inside the region.
    fn find(&self, direction: Direction, at: Length, region: &Region) -> Option<usize> {
        let (low, high) = match direction {
            Direction::Rip => (*region.x, *region.x + *region.length),
            Direction::Crosscut => (*region.y, *region.y + *region.width),
        };
        self.cuts.iter().enumerate().position(|(n, cut)| {
            self.found[n].is_none()
                && cut.direction == direction
                && *cut.at == at
                && *cut.from >= low
                && *cut.to <= high
        })
    }
}

fn kerf(plan: &Plan, direction: Direction) -> Length {
    match direction {
        Direction::Rip => *plan.cutting.rip_kerf,
        Direction::Crosscut => *plan.cutting.crosscut_kerf,
    }
}

/// Where a region ends in the direction that cuts of `direction` step along.
fn far_edge(direction: Direction, region: &Region) -> Length {
    match direction {
        Direction::Rip => *region.y + *region.width,
        Direction::Crosscut => *region.x + *region.length,
    }
}

/// Extents of a part as it lies, along x and y.
fn size(plan: &Plan, part: &str, turned: bool) -> Option<(Length, Length)> {
    let demand = plan.demands.iter().find(|d| d.id == part)?;
    Some(if turned { (*demand.width, *demand.length) } else { (*demand.length, *demand.width) })
}

/// The part that a region is, when nothing has to be trimmed off it any more.
fn finished(plan: &Plan, region: &Region) -> Option<String> {
    let Within::Piece { part, turned } = &region.within else { return None };
    let (length, width) = size(plan, part, *turned)?;
    (length == *region.length && width == *region.width).then(|| part.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Cutting, Demand, Plan};

    fn mm(n: i64) -> crate::figures::Mm {
        Length::from_mm(n).into()
    }

    /// A board of which strips are ripped, widest first, each crosscut into pieces of the lengths given.
    fn board(strips: &[(i64, &[i64])], stages: u8) -> Layout {
        let (mut y, mut cuts, mut into) = (0, Vec::new(), Vec::new());
        let cut = |direction, stage, setting, at, from, to| Cut {
            number: 0,
            direction,
            stage,
            setting: mm(setting),
            at: mm(at),
            from: mm(from),
            to: mm(to),
        };
        let mut later = Vec::new();
        for (width, lengths) in strips {
            cuts.push(cut(Direction::Rip, 1, *width, y + width, 0, 1000));
            let (mut x, mut pieces) = (0, Vec::new());
            for length in *lengths {
                later.push(cut(Direction::Crosscut, stages, *length, x + length, y, y + width));
                pieces.push(region(x, y, *length, *width, piece(*length, *width)));
                x += length;
            }
            pieces.push(region(x, y, 1000 - x, *width, Within::Offcut));
            into.push(region(
                0,
                y,
                1000,
                *width,
                Within::Cut { direction: Direction::Crosscut, into: pieces },
            ));
            y += width;
        }
        into.push(region(0, y, 1000, 500 - y, Within::Offcut));
        cuts.extend(later);
        for (n, cut) in cuts.iter_mut().enumerate() {
            cut.number = n as u32 + 1;
        }
        Layout {
            sheet: "s".into(),
            times: 1,
            pieces: Vec::new(),
            offcuts: Vec::new(),
            cuts,
            region: region(0, 0, 1000, 500, Within::Cut { direction: Direction::Rip, into }),
        }
    }

    fn piece(length: i64, width: i64) -> Within {
        Within::Piece { part: format!("{length} x {width}"), turned: false }
    }

    fn region(x: i64, y: i64, length: i64, width: i64, within: Within) -> Region {
        Region { x: mm(x), y: mm(y), length: mm(length), width: mm(width), within }
    }

    fn plan(layouts: Vec<Layout>, reach: Option<i64>) -> Plan {
        let mut sizes = std::collections::BTreeSet::new();
        fn collect(region: &Region, sizes: &mut std::collections::BTreeSet<(String, i64, i64)>) {
            match &region.within {
                Within::Cut { into, .. } => into.iter().for_each(|r| collect(r, sizes)),
                Within::Piece { part, .. } => {
                    sizes.insert((part.clone(), region.length.nm(), region.width.nm()));
                }
                Within::Offcut => {}
            }
        }
        layouts.iter().for_each(|l| collect(&l.region, &mut sizes));
        let demands = sizes
            .into_iter()
            .map(|(id, length, width)| Demand {
                id,
                length: Length::from_nm(length).into(),
                width: Length::from_nm(width).into(),
                count: 1,
                spare: 0,
                may_turn: false,
                sheets: vec!["s".into()],
            })
            .collect();
        Plan {
            layouts,
            demands,
            cutting: Cutting { fence_reach: reach.map(mm), ..crate::steps::tests::cutting() },
            ..crate::steps::tests::empty_plan()
        }
    }

    /// Every cut once, none before the cut it waits for, by the layouts' own geometry.
    #[track_caller]
    fn check(plan: &Plan, runs: &[Run]) {
        let mut order: Vec<(u32, u32)> = Vec::new();
        for run in runs {
            for cuts in &run.cuts {
                order.extend(cuts.numbers.iter().map(|n| (cuts.layout, *n)));
            }
        }
        let mut sorted = order.clone();
        sorted.sort_unstable();
        let all: Vec<(u32, u32)> = (1..)
            .zip(&plan.layouts)
            .flat_map(|(n, l)| l.cuts.iter().filter(|c| c.stage > 0).map(move |c| (n, c.number)))
            .collect();
        assert_eq!(sorted, all);
        for (n, layout) in (1..).zip(&plan.layouts) {
            let at = |number: u32| order.iter().position(|o| *o == (n, number)).unwrap();
            for (a, b) in layout.cuts.iter().flat_map(|a| layout.cuts.iter().map(move |b| (a, b))) {
                if a.direction == b.direction && a.stage == b.stage && a.from == b.from && a.at < b.at {
                    assert!(at(a.number) < at(b.number), "{a:?} before {b:?}");
                }
                // A cut of a later stage that ends on the line of an earlier one was freed by it.
                if a.stage < b.stage && a.direction != b.direction && *b.to == *a.at {
                    assert!(at(a.number) < at(b.number), "{a:?} before {b:?}");
                }
            }
        }
    }

    #[test]
    fn no_setting_is_used_twice_where_the_layouts_allow_it() {
        let plan = plan(
            vec![
                board(&[(90, &[300, 200]), (60, &[300]), (60, &[300])], 2),
                board(&[(90, &[200]), (36, &[300])], 2),
            ],
            None,
        );
        let runs = runs(&plan);
        check(&plan, &runs);
        let rips: Vec<i64> = runs
            .iter()
            .filter(|r| r.direction == Direction::Rip)
            .map(|r| r.setting.nm() / 1_000_000)
            .collect();
        assert_eq!(rips, [90, 60, 36]);
        // The second board's 200 comes first of its strip, the first board's 300 before its 200: one order serves both.
        let stops: Vec<i64> = runs
            .iter()
            .filter(|r| r.direction == Direction::Crosscut)
            .map(|r| r.setting.nm() / 1_000_000)
            .collect();
        assert_eq!(stops, [300, 200]);
        assert!(runs.iter().all(|r| !r.again));
        assert_eq!(
            runs[0].cuts,
            [RunCuts { layout: 1, numbers: vec![1] }, RunCuts { layout: 2, numbers: vec![1] }]
        );
        assert_eq!(runs[3].frees, ["300 x 36", "300 x 60", "300 x 90"]);
    }

    #[test]
    fn layouts_that_wait_in_a_circle_say_which_setting_comes_again() {
        let plan = plan(vec![board(&[(90, &[]), (60, &[])], 2), board(&[(60, &[]), (90, &[])], 2)], None);
        let runs = runs(&plan);
        check(&plan, &runs);
        assert_eq!(runs.iter().filter(|r| r.again).count(), 1);
        assert_eq!(runs.len(), 3);
    }

    #[test]
    fn a_fence_out_of_reach_guides_the_other_side() {
        let plan = plan(vec![board(&[(400, &[])], 2)], Some(300));
        let runs = runs(&plan);
        assert_eq!(
            (*runs[0].size, *runs[0].setting, runs[0].inside),
            (Length::from_mm(400), Length::from_mm(100), false)
        );
    }
}
