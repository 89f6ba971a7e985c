//! The least change to one size that would do, found by trying: what is said to do has been done.

use stripwright_units::Length;

use crate::spec::{BaseSpec, Change, Joint, Refusal, RungSpec};

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
            [false, true],
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
    ]
}

/// Adds to what is refused of rungs the smallest changes of one size each that would do: with any of them `refused` says no
/// more of that rung, and nothing new of others.
pub(crate) fn added(
    spec: &BaseSpec,
    mut refusals: Vec<Refusal>,
    refused: impl Fn(&BaseSpec) -> Vec<Refusal>,
) -> Vec<Refusal> {
    let rungs: Vec<Option<usize>> = refusals.iter().map(|refusal| rung_of(&refusal.key)).collect();
    for (i, n) in rungs.iter().enumerate().take(MOST) {
        let Some(n) = *n else { continue };
        let others = rungs.iter().filter(|other| **other != Some(n)).count();
        let does = |changed: &BaseSpec| {
            let left = refused(changed);
            left.len() <= others && left.iter().all(|refusal| rung_of(&refusal.key) != Some(n))
        };
        let tried = |sizes: &[Size], with: Option<usize>| -> Vec<Change> {
            let each = |size: &Size| [true, false].map(|more| least(spec, n, with, size, more, &does));
            sizes.iter().flat_map(each).flatten().collect()
        };
        // With its like on the other two sides, which the job may have written as one with it; then alone.
        let twin = twin_of(spec, n);
        let mut changes = twin.map_or_else(Vec::new, |_| tried(&own_sizes(n), twin));
        for mut change in tried(&own_sizes(n), None) {
            let same = |c: &Change| c.key == change.key && c.by.is_positive() == change.by.is_positive();
            if !changes.iter().any(same) {
                change.alone = twin.is_some() && rung_of(&change.key).is_some();
                changes.push(change);
            }
        }
        // Legs and spreads change every part: only where nothing else will do.
        if changes.is_empty() {
            changes = tried(&base_sizes(), None);
        }
        changes.sort_by_key(|change| change.by.abs());
        changes.truncate(NAMED);
        refusals[i].changes = Some(changes);
    }
    refusals
}

/// The rung that a refusal is about.
fn rung_of(key: &str) -> Option<usize> {
    key.strip_prefix("rungs[")?.split_once(']')?.0.parse().ok()
}

/// The rung that is like it in everything but its sides, if there is one.
fn twin_of(spec: &BaseSpec, n: usize) -> Option<usize> {
    let like = |k: usize| {
        let (own, other) = (spec.rungs[n], spec.rungs[k]);
        own.pair != other.pair && own == RungSpec { pair: own.pair, ..other }
    };
    (0..spec.rungs.len()).find(|k| like(*k))
}

/// The least that a size must grow, or shrink, in whole steps: the first that does of one step, two, four and so on, and then
/// the least of those between it and the one before, as far as halving finds it.
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
        if let Some(twin) = twin.filter(|_| rung_of(&size.key).is_some()) {
            *(size.reach)(&mut changed, twin)? = to;
        }
        does(&changed).then(|| Change { key: size.key.clone(), to, by, alone: false })
    };
    // At most twice the size, or nothing of it: who asked for something else altogether is not helped.
    let size_now = *(size.reach)(&mut spec.clone(), n)?;
    let room = if more && size.key.ends_with("height") { FARTHEST } else { FARTHEST.min(size_now) };
    let farthest = room / step;
    let (mut bad, mut good) = (0, 1.min(farthest));
    let mut found = changed(good);
    while found.is_none() {
        if good >= farthest {
            return None;
        }
        (bad, good) = (good, (good * 2).min(farthest));
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
