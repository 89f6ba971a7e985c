//! The built program, run in a folder.

#![allow(dead_code)] // each harness that includes this file uses its own part of it

use std::ffi::OsStr;
use std::io::Write;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

/// The program in a folder, with nothing to read.
pub(crate) fn command(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_stripwright"));
    command.current_dir(folder).stdin(Stdio::null());
    command
}

/// Runs it to its end.
pub(crate) fn run<S: AsRef<OsStr>>(folder: &Path, arguments: &[S]) -> Output {
    command(folder).args(arguments).output().unwrap()
}

/// Starts it with all its ends held.
pub(crate) fn begun<S: AsRef<OsStr>>(folder: &Path, arguments: &[S]) -> Child {
    command(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// Runs it to its end on this standard input.
pub(crate) fn fed<S: AsRef<OsStr>>(folder: &Path, arguments: &[S], input: &[u8]) -> Output {
    let mut child = begun(folder, arguments);
    let mut stdin = child.stdin.take().unwrap();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            // A command that refuses its arguments may not read at all.
            let _ = stdin.write_all(input);
        });
        child.wait_with_output().unwrap()
    })
}

/// What it said on standard error.
pub(crate) fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}
