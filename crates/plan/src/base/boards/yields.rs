//! How many sticks of a section a board yields, as a plan tells it.

use stripwright_splay as splay;
use stripwright_splay::{Section, board_yield};
use stripwright_units::Length;

use super::SectionYield;
use crate::job::{Job, Lumber};
use crate::words::{Words, join};

/// What the sections of the lumber yield of each sawn section that the bases need, in the order of lumber and sticks.
pub(super) fn yields(job: &Job, bases: &[splay::Base]) -> Vec<SectionYield> {
    // What is sawn from which lumber, with which squaring cut, and what that yields.
    let mut all: Vec<((usize, Section, Length), SectionYield)> = Vec::new();
    for (wanted, base) in job.bases.iter().zip(bases) {
        let shop = &wanted.spec.shop;
        for (stick, &n) in base.sticks.iter().flat_map(|s| wanted.lumber.iter().map(move |n| (s, n))) {
            let Some([width, thickness]) = job.lumber[n].section else { continue };
            let (part, key) = (called(base, stick), (n, stick.sawn, shop.edge_squaring));
            if let Some((_, known)) = all.iter_mut().find(|(other, _)| *other == key) {
                known.parts.push(part);
                continue;
            }
            let found = board_yield(Section { width, thickness }, stick.sawn, shop);
            let found = SectionYield {
                lumber: job.lumber[n].name.clone(),
                parts: vec![part],
                sawn: [stick.sawn.width.into(), stick.sawn.thickness.into()],
                across: found.map_or(0, |found| found.across),
                layers: found.map_or(0, |found| found.layers),
                left_over: found.map_or(width, |found| found.left_over).into(),
                sentence: String::new(),
            };
            all.push((key, found));
        }
    }
    all.sort_by_key(|((lumber, ..), _)| *lumber);
    let said = |((n, ..), mut found): ((usize, Section, Length), SectionYield)| {
        found.sentence = sentence(Words { system: job.system }, &job.lumber[n], &found);
        found
    };
    all.into_iter().map(said).collect()
}

/// What the plan calls a stick of a base.
pub(super) fn called(base: &splay::Base, stick: &splay::Stick) -> String {
    if base.name.is_empty() { stick.name.clone() } else { format!("{} {}", base.name, stick.name) }
}

/// How many sticks a board's section yields, in a sentence.
fn sentence(words: Words, lumber: &Lumber, found: &SectionYield) -> String {
    let size =
        |[width, thickness]: [Length; 2]| format!("{} by {}", words.length(width), words.length(thickness));
    let board = lumber.section.map_or_else(String::new, |section| format!(", {}", size(section)));
    let (sawn, parts) = (size(found.sawn.map(|mm| *mm)), join(&found.parts));
    let layers = match found.layers {
        0 => return format!("A board of {}{board}, yields no stick of {sawn} ({parts}).", lumber.name),
        1 => String::new(),
        layers => format!(", resawn into {layers} layers"),
    };
    format!(
        "A board of {}{board}, yields {} of {sawn} ({parts}): {} side by side{layers}, {} of the width left.",
        lumber.name,
        crate::wording::count(found.across * found.layers, "stick", "sticks"),
        found.across,
        words.length(*found.left_over),
    )
}

/// What those yields allow for, in a sentence.
pub(super) fn reckoned(job: &Job) -> Vec<String> {
    let words = Words { system: job.system };
    let mut all = Vec::new();
    for base in &job.bases {
        let shop = &base.spec.shop;
        let said = format!(
            "That is with {} taken off to square an edge, a kerf of {} beside each stick, and {} to plane off each of its faces.",
            words.length(shop.edge_squaring),
            words.length(shop.kerf),
            words.length(shop.planing)
        );
        if !all.contains(&said) {
            all.push(said);
        }
    }
    all
}
