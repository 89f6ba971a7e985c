//! What must hold for any bytes at all, tried on the fuzz targets' corpora and on changes of them.
//!
//! `tests/fuzz` has the same properties as fuzz targets, which look much further; this runs with every test.
//! `STRIPWRIGHT_TIMES=100` looks a hundred times as long.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test ends where it cannot go on, and reads files"
)]

#[path = "fuzz/properties.rs"]
mod properties;

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// The committed beginnings of a target, in order of their names.
fn corpus(target: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/fuzz/corpus").join(target);
    let mut files: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files.iter().map(|file| fs::read(file).unwrap()).collect()
}

/// One change to bytes: where, how many are taken away, what is put there instead.
type Change = (prop::sample::Index, usize, Vec<u8>);

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let words = ["0", "-1", "1e9", "\"", "{", "}", "[", "]", ",", "null", "\u{bd}", "/", ".", "99999999999"];
    let instead = prop_oneof![
        prop::collection::vec(any::<u8>(), 0..4),
        prop::sample::select(words.to_vec()).prop_map(|word| word.as_bytes().to_vec()),
    ];
    prop::collection::vec((any::<prop::sample::Index>(), 0..4_usize, instead), 1..5)
}

/// The property on every beginning, then on changed ones.
fn holds(target: &str, cases: u32, property: fn(&[u8])) {
    let corpus = corpus(target);
    corpus.iter().for_each(|bytes| property(bytes));
    let times = std::env::var("STRIPWRIGHT_TIMES").map_or(1, |times| times.parse().unwrap());
    let config = Config { failure_persistence: None, ..Config::with_cases(cases * times) };
    let mut runner = TestRunner::new(config);
    runner
        .run(&(prop::sample::select(corpus), changes()), |(mut bytes, changes)| {
            for (at, gone, instead) in changes {
                let from = at.index(bytes.len() + 1);
                let to = (from + gone).min(bytes.len());
                bytes.splice(from..to, instead);
            }
            property(&bytes);
            Ok(())
        })
        .unwrap();
}

#[test]
fn lengths() {
    holds("lengths", 20_000, properties::lengths);
}

#[test]
fn jobs() {
    holds("jobs", 1_000, properties::jobs);
}

#[test]
fn certificates() {
    holds("certificates", 2_000, properties::certificates);
}

#[test]
fn requests() {
    holds("requests", 200, properties::requests);
}
