//! The least change to one size that would do, found by trying: what is said to do has been done.

use stripwright_units::Length;

use crate::spec::{BaseSpec, Change, Cure, DowelChange, Follows, Joint, Refusal, RungSpec};

/// How far a size is changed at most.
const FARTHEST: Length = Length::from_mm(3000);
/// For so many refusals changes are looked for: more are mended one after the other anyway.
const MOST: usize = 6;
/// No finer steps than this are tried, in whole marks: nobody is helped by less, and a search has an end.
const FINEST: Length = Length::from_um(250);
/// So many changes are named, the smallest ones.
const NAMED: usize = 3;

/// A size of the spec that may be changed: its key, and how it is reached.
struct Size {
    key: String,
    reach: fn(&mut BaseSpec, usize) -> Option<&mut Length>,
    /// Whether more of it, and whether less of it, is worth a try.
    ways: [bool; 2],
}

fn size(key: &str, reach: fn(&mut BaseSpec, usize) -> Option<&mut Length>, ways: [bool; 2]) -> Size {
    Size { key: key.to_string(), reach, ways }
}

fn own_sizes(n: usize) -> Vec<Size> {
    let of_rung = |key: &str, reach, ways| size(&format!("rungs[{n}].{key}"), reach, ways);
    vec![
        of_rung("height", |spec, n| Some(&mut spec.rungs[n].height), [true, true]),
        of_rung("thickness", |spec, n| Some(&mut spec.rungs[n].section.thickness), [true, true]),
        of_rung("width", |spec, n| Some(&mut spec.rungs[n].section.width), [true, true]),
        of_rung("set_in", |spec, n| Some(&mut spec.rungs[n].set_in), [false, true]),
        size(
            "joint.length",
            |spec, _| match &mut spec.joint {
                Joint::Dowels { length, .. } | Joint::Tenon { length, .. } => length.as_mut(),
            },
            [true, true],
        ),
        size(
            "joint.diameter",
            |spec, _| match &mut spec.joint {
                Joint::Dowels { diameter, .. } => diameter.as_mut(),
                Joint::Tenon { .. } => None,
            },
            [false, true],
        ),
        size(
            "joint.thickness",
            |spec, _| match &mut spec.joint {
                Joint::Dowels { .. } => None,
                Joint::Tenon { thickness, .. } => thickness.as_mut(),
            },
            [true, true],
        ),
    ]
}

fn base_sizes() -> Vec<Size> {
    vec![
        size("leg", |spec, _| Some(&mut spec.leg.width), [true, false]),
        size("leg_depth", |spec, _| Some(&mut spec.leg.thickness), [true, false]),
        size("top_spread", |spec, _| spec.top_spread.as_mut().map(|s| &mut s.width), [true, false]),
        size("top_spread_depth", |spec, _| spec.top_spread.as_mut().map(|s| &mut s.depth), [true, false]),
        size("floor_spread", |spec, _| spec.floor_spread.as_mut().map(|s| &mut s.width), [true, false]),
        size("floor_spread_depth", |spec, _| spec.floor_spread.as_mut().map(|s| &mut s.depth), [true, false]),
    ]
}

/// What followed another size and is given by a change of its own.
fn given_by(key: &str, rungs: &[usize]) -> Vec<Follows> {
    let of_rungs = |follows: fn(usize) -> Follows| rungs.iter().map(|n| follows(*n)).collect();
    match key.rsplit("].").next().unwrap_or(key) {
        "leg_depth" => vec![Follows::LegDepth],
        "top_spread_depth" => vec![Follows::TopDepth],
        "floor_spread_depth" => vec![Follows::FloorDepth],
        "width" => of_rungs(Follows::RungWidth),
        "thickness" => of_rungs(Follows::RungThickness),
        _ => Vec::new(),
    }
}

/// Adds to what is refused of rungs the smallest changes of one size each with which the base can be made. Where there are none,
/// those that cure the one refusal: with any of them it is gone and `same` says nothing new. `same` says what is refused as far as
/// these refusals go: of the places of the rungs alone, where these are at fault and joints have not been looked at.
pub(crate) fn added(
    spec: &BaseSpec,
    mut refusals: Vec<Refusal>,
    refused: impl Fn(&BaseSpec) -> Vec<Refusal>,
    same: impl Fn(&BaseSpec) -> Vec<Refusal>,
) -> Vec<Refusal> {
    let rungs: Vec<Option<usize>> = refusals.iter().map(|refusal| rung_of(&refusal.key)).collect();
    let before = refusals.clone();
    for (i, n) in rungs.iter().enumerate().take(MOST) {
        let Some(n) = *n else { continue };
        let all = |changed: &BaseSpec| refused(changed).is_empty();
        let others: Vec<&Refusal> =
            before.iter().filter(|refusal| rung_of(&refusal.key) != Some(n)).collect();
        let this = |changed: &BaseSpec| {
            let known = |left: &Refusal| {
                others.iter().any(|other| (&other.key, &other.message) == (&left.key, &left.message))
            };
            same(changed).iter().all(known)
        };
        let mut found = looked_for(spec, n, &all);
        let mut cure = Cure::Base;
        if !found.any() {
            found = looked_for(spec, n, &this);
            let twin = twin_of(spec, n);
            let with_it = |other: &&Refusal| twin.is_some() && rung_of(&other.key) == twin;
            cure = if others.iter().all(with_it) { Cure::Uncovers } else { Cure::Alone };
        }
        refusals[i].changes = Some(found.sizes);
        refusals[i].dowels = found.dowels;
        refusals[i].cure = cure;
    }
    refusals
}

/// What would do.
struct Found {
    sizes: Vec<Change>,
    dowels: Option<DowelChange>,
}

impl Found {
    fn any(&self) -> bool {
        !self.sizes.is_empty() || self.dowels.is_some()
    }
}

/// The smallest changes on account of one rung that do.
fn looked_for(spec: &BaseSpec, n: usize, does: &dyn Fn(&BaseSpec) -> bool) -> Found {
    let tried = |sizes: &[Size], with: Option<usize>| -> Vec<Change> {
        let each = |size: &Size| [true, false].map(|more| least(spec, n, with, size, more, does));
        sizes.iter().flat_map(each).flatten().collect()
    };
    // With its like on the other two sides, where the job has written it as one with it; then alone.
    let twin = twin_of(spec, n);
    let mut sizes = twin.map_or_else(Vec::new, |_| tried(&own_sizes(n), twin));
    for mut change in tried(&own_sizes(n), None) {
        let same = |c: &Change| c.key == change.key && c.by.is_positive() == change.by.is_positive();
        if !sizes.iter().any(same) {
            change.alone = twin.is_some() && rung_of(&change.key).is_some();
            sizes.push(change);
        }
    }
    let dowels = other_count(spec, does);
    // Legs and spreads change every part: only where nothing else will do.
    if sizes.is_empty() && dowels.is_none() {
        sizes = tried(&base_sizes(), None);
    }
    sizes.sort_by_key(|change| change.by.abs());
    sizes.truncate(NAMED);
    Found { sizes, dowels }
}

/// The number of dowels nearest to the one asked for that does; of two as near the larger.
fn other_count(spec: &BaseSpec, does: &dyn Fn(&BaseSpec) -> bool) -> Option<DowelChange> {
    let Joint::Dowels { diameter, length, count: Some(now) } = spec.joint else { return None };
    let mut counts: Vec<u32> = (1..=12).filter(|count| *count != now).collect();
    counts.sort_by_key(|count| (count.abs_diff(now), std::cmp::Reverse(*count)));
    let found = counts.into_iter().find(|to| {
        let joint = Joint::Dowels { diameter, length, count: Some(*to) };
        does(&BaseSpec { joint, ..spec.clone() })
    });
    found.map(|to| DowelChange { to, now })
}

/// The rung that a refusal is about.
fn rung_of(key: &str) -> Option<usize> {
    key.strip_prefix("rungs[")?.split_once(']')?.0.parse().ok()
}

/// The rung that changes with it: that of the same entry, or, where there are no entries, one that is like it in everything but
/// its sides.
fn twin_of(spec: &BaseSpec, n: usize) -> Option<usize> {
    let together = |k: usize| {
        let (own, other) = (spec.rungs[n], spec.rungs[k]);
        match (spec.entries.get(n), spec.entries.get(k)) {
            (Some(entry), Some(others)) => entry == others,
            _ => own.pair != other.pair && own == RungSpec { pair: own.pair, ..other },
        }
    };
    (0..spec.rungs.len()).find(|k| *k != n && together(*k))
}

/// The least that a size must grow, or shrink, in whole steps: the first that does of one step, two, three and on by a half more
/// each, and then the least of those between it and the one before, as far as halving finds it.
fn least(
    spec: &BaseSpec,
    n: usize,
    twin: Option<usize>,
    size: &Size,
    more: bool,
    does: &dyn Fn(&BaseSpec) -> bool,
) -> Option<Change> {
    if !size.ways[usize::from(!more)] {
        return None;
    }
    let step = FINEST.max(spec.shop.mark).ceil_to(spec.shop.mark);
    let changed = |steps: i64| {
        let mut changed = spec.clone();
        let by = if more { step * steps } else { -(step * steps) };
        let length = (size.reach)(&mut changed, n)?;
        *length += by;
        let to = *length;
        let twin = twin.filter(|_| rung_of(&size.key).is_some());
        if let Some(twin) = twin {
            *(size.reach)(&mut changed, twin)? = to;
        }
        let rungs: Vec<usize> = std::iter::once(n).chain(twin).collect();
        let given = given_by(&size.key, &rungs);
        changed.follows.retain(|follows| !given.contains(follows));
        changed.follow();
        does(&changed).then(|| Change { key: size.key.clone(), to, by, alone: false })
    };
    // At most twice the size, or nothing of it: who asked for something else altogether is not helped.
    let size_now = *(size.reach)(&mut spec.clone(), n)?;
    let far = more && (size.key.ends_with("height") || size.key == "joint.length");
    let room = if far { FARTHEST } else { FARTHEST.min(size_now) };
    let farthest = room / step;
    let (mut bad, mut good) = (0, 1.min(farthest));
    let mut found = changed(good);
    while found.is_none() {
        if good >= farthest {
            return None;
        }
        (bad, good) = (good, (good + (good / 2).max(1)).min(farthest));
        found = changed(good);
    }
    while good - bad > 1 {
        let middle = (good + bad) / 2;
        match changed(middle) {
            Some(change) => (good, found) = (middle, Some(change)),
            None => bad = middle,
        }
    }
    found
}
