//! Every command in the README does what the README shows.
//!
//! Commands stand in `sh` blocks, one a line. Those that begin with `cargo run --release --` or `stripwright` are run
//! with the binary under test in a scratch folder that has the fixtures; a `text` block right after shows lines that
//! must come out. The commands that set up, and those that run one test, are run where they are meant to be, in this
//! folder; the tests as a whole cannot run themselves from within. All of these are lines of `.ci/run` too, or one test
//! of those that `cargo test --workspace` runs there, and this test sees that they are.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::path::Path;
use std::process::Command;
use std::{env, fs};

struct Block {
    language: String,
    text: String,
}

fn blocks(markdown: &str) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut lines = markdown.lines();
    while let Some(line) = lines.next() {
        if let Some(language) = line.strip_prefix("```") {
            let text: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            blocks.push(Block { language: language.to_string(), text: text.join("\n") });
        }
    }
    blocks
}

#[test]
fn every_command_works_as_shown() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap();
    let readme = fs::read_to_string(root.join("README.md")).unwrap();
    let continuous = fs::read_to_string(root.join(".ci/run")).unwrap();
    let manifest = fs::read_to_string(root.join("crates/cli/Cargo.toml")).unwrap();
    let of_the_workspace = |line: &str| {
        let test = line.strip_prefix("cargo test -p stripwright-cli --test ");
        test.is_some_and(|test| manifest.contains(&format!("[[test]]\nname = \"{test}\"\n")))
    };
    let scratch = tempfile::tempdir().unwrap();
    copy(&root.join("fixtures"), &scratch.path().join("fixtures"));
    let blocks = blocks(&readme);
    let mut run = 0;
    for (n, block) in blocks.iter().enumerate().filter(|(_, block)| block.language == "sh") {
        let mut output = String::new();
        for line in block.text.lines().filter(|line| !line.is_empty() && !line.starts_with('#')) {
            let ours =
                ["cargo run --release -- ", "stripwright "].iter().find_map(|start| line.strip_prefix(start));
            let Some(arguments) = ours else {
                assert!(
                    line.starts_with("cargo ")
                        && (continuous.lines().any(|own| own.trim() == line) || of_the_workspace(line)),
                    "the README has a command that nothing runs: {line}"
                );
                // Setting up is done by now and costs next to nothing again; all tests cannot run themselves.
                if line != "cargo test --workspace" {
                    let arguments = line.split_whitespace().skip(1);
                    let ran =
                        Command::new(env!("CARGO")).current_dir(&root).args(arguments).output().unwrap();
                    assert!(ran.status.success(), "{line}\n{}", String::from_utf8_lossy(&ran.stderr));
                }
                continue;
            };
            let found = Command::new(env!("CARGO_BIN_EXE_stripwright"))
                .current_dir(scratch.path())
                .args(arguments.split_whitespace())
                .output()
                .unwrap();
            let said = String::from_utf8_lossy(&found.stderr);
            assert!(found.status.success(), "{line}\n{said}");
            output += &String::from_utf8_lossy(&found.stdout);
            output += &said;
            run += 1;
        }
        if let Some(shown) = blocks.get(n + 1).filter(|next| next.language == "text") {
            for line in shown.text.lines().filter(|line| *line != "...") {
                assert!(output.lines().any(|own| own.trim_end() == line), "not printed: {line}\n{output}");
            }
        }
    }
    assert!(run >= 3, "only {run} commands were found in the README");
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}
