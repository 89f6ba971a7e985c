//! Whether a layout fits its sheet and the saw, and where it has room for another piece.

use crate::layout::{panel_extents, strip_extent, takes_whole_sheet};
use crate::normalise::{Job, Lie, View};
use crate::pricing::{Pattern, Strip};

/// A layout with how wide its panels are cut, as [`crate::layout::layout`] takes both.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Laid {
    pub(crate) pattern: Pattern,
    pub(crate) cut_at: Vec<i64>,
}

impl Laid {
    /// The pattern in a fixed order, its panels as wide as they have to be.
    pub(crate) fn plain(mut pattern: Pattern) -> Laid {
        tidied(&mut pattern);
        Laid { pattern, cut_at: Vec::new() }
    }
}

/// Brings a pattern into a fixed order: what lies on it is the same, whatever order it was found in.
fn tidied(pattern: &mut Pattern) {
    for panel in &mut pattern.panels {
        for strip in panel.iter_mut() {
            strip.sort_unstable();
            strip.dedup_by(|next, kept| {
                next.0 == kept.0 && {
                    kept.1 += next.1;
                    true
                }
            });
        }
        panel.sort_unstable();
    }
    crate::plan::tidy(pattern);
    pattern.panels.sort_unstable();
}

fn strip_width(job: &Job, view: View, strip: &Strip) -> i64 {
    strip.iter().map(|&(lie, _)| view.turn(job.extents(lie)).1).max().unwrap_or(0)
}

/// What a row of extents takes, with the kerfs between them.
fn row(extents: impl Iterator<Item = i64>, kerf: i64) -> i64 {
    extents.map(|extent| extent + kerf).sum::<i64>() - kerf
}

/// Whether the layout fits its sheet and respects the saw's limits.
pub(crate) fn fits(job: &Job, laid: &Laid) -> bool {
    let Laid { pattern, cut_at } = laid;
    let Pattern { stock, view, panels } = pattern;
    let sheet = &job.sheets[*stock];
    let (u, v) = view.turn((sheet.length, sheet.width));
    let (u_kerf, v_kerf) = job.kerfs(*view);
    let lies = panels.iter().flatten().flatten();
    if panels.is_empty() || !job.views().contains(view) || !lies.clone().all(|l| job.may_lie(*stock, l.0)) {
        return false;
    }
    if panels.iter().any(|strips| row(strips.iter().map(|s| strip_width(job, *view, s)), v_kerf) > v) {
        return false;
    }
    let needed = panel_extents(job, pattern);
    if panels.len() == 1 && cut_at.is_empty() && takes_whole_sheet(job, pattern) {
        return needed[0] <= u;
    }
    let extents = if cut_at.is_empty() { &needed } else { cut_at };
    let cut = |&extent: &i64| match view {
        View::Across => job.rip_allowed(*stock, extent),
        View::Along => job.ripping_allowed(extent),
    };
    job.stages == 3
        && (*view == View::Along || job.ripping_allowed(sheet.length))
        && extents.len() == panels.len()
        && extents.iter().zip(&needed).all(|(have, need)| have >= need)
        && extents.iter().all(cut)
        && row(extents.iter().copied(), u_kerf) <= u
}

/// The layout with one piece more, where there is room: in the strip that it fits most closely, in a strip of its own,
/// or in a panel of its own.
pub(crate) fn with_piece(job: &Job, pattern: &Pattern, lie: Lie, work: &mut u64) -> Option<Laid> {
    let view = pattern.view;
    let (_, v) = view.turn(job.extents(lie));
    let mut strips: Vec<(i64, i64, usize, usize)> = Vec::new();
    for (p, panel) in pattern.panels.iter().enumerate() {
        for (s, strip) in panel.iter().enumerate() {
            let over = strip_width(job, view, strip) - v;
            if over >= 0 {
                strips.push((over, -strip_extent(job, view, strip), p, s));
            }
        }
    }
    strips.sort_unstable();
    *work += 100 * (strips.len() as u64 + 1);
    let mut attempt = |change: &dyn Fn(&mut Pattern)| {
        let mut pattern = pattern.clone();
        change(&mut pattern);
        let laid = Laid::plain(pattern);
        *work += 50 * laid.pattern.panels.iter().flatten().count() as u64;
        fits(job, &laid).then_some(laid)
    };
    let within =
        strips.iter().find_map(|&(_, _, p, s)| attempt(&|pattern| pattern.panels[p][s].push((lie, 1))));
    if within.is_some() {
        return within;
    }
    let beside =
        (0..pattern.panels.len()).find_map(|p| attempt(&|pattern| pattern.panels[p].push(vec![(lie, 1)])));
    if beside.is_some() {
        return beside;
    }
    attempt(&|pattern| pattern.panels.push(vec![vec![(lie, 1)]]))
}

/// The layout without the pieces that lie so.
pub(crate) fn without(pattern: &Pattern, lie: Lie) -> Laid {
    let mut pattern = pattern.clone();
    for strip in pattern.panels.iter_mut().flatten() {
        strip.retain(|&(other, _)| other != lie);
    }
    Laid::plain(pattern)
}

/// Other ways to cut the same panels: a single panel cut off first, and, where panels are ripped, panels as wide as
/// other settings of the fence or as what is left of the sheet. `widths` is what the fence is set to anyway, ascending.
pub(crate) fn shapes(job: &Job, laid: &Laid, widths: &[i64]) -> Vec<Laid> {
    let pattern = &laid.pattern;
    let mut shapes = vec![Laid { pattern: pattern.clone(), cut_at: Vec::new() }];
    if job.stages < 3 || pattern.panels.is_empty() {
        return shapes;
    }
    let needed = panel_extents(job, pattern);
    let mut take = |cut_at: Vec<i64>| {
        let shape = Laid { pattern: pattern.clone(), cut_at };
        if fits(job, &shape) && !shapes.contains(&shape) {
            shapes.push(shape);
        }
    };
    let sheet = &job.sheets[pattern.stock];
    let whole = pattern.view.turn((sheet.length, sheet.width)).0;
    let kerf = job.kerfs(pattern.view).0;
    if let [only] = needed[..]
        && only < whole
    {
        take(vec![only]);
    }
    if pattern.view == View::Across && needed.len() > 1 {
        let free = |cut_at: &[i64]| whole - row(cut_at.iter().copied(), kerf);
        // Those that miss a setting by least are widened first.
        let mut widen: Vec<(i64, usize)> = Vec::new();
        for (at, &extent) in needed.iter().enumerate() {
            let wider = widths.iter().find(|&&w| w >= extent && job.rip_allowed(pattern.stock, w));
            widen.extend(wider.map(|width| (width - extent, at)));
        }
        widen.sort_unstable();
        let mut aligned = needed.clone();
        for (more, at) in widen {
            if more <= free(&aligned) {
                aligned[at] += more;
            }
        }
        // The narrowest lies last: where it takes all that is left, it needs no rip.
        let flush = |mut cut_at: Vec<i64>| {
            let last = (0..cut_at.len()).min_by_key(|&at| cut_at[at])?;
            cut_at[last] += free(&cut_at);
            cut_at.iter().all(|&width| width >= cut_at[last]).then_some(cut_at)
        };
        let candidates = [flush(needed.clone()), flush(aligned.clone()), Some(aligned)];
        candidates.into_iter().flatten().for_each(take);
    }
    shapes
}
