//! What went wrong, how it is told, and the exit code that goes with it.

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use stripwright_plan::{Fault, Sort};

/// Why a command did not finish.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Faults of a job, with the name of its file.
    Job(String, Vec<Fault>),
    /// What cannot be made: a whole sentence.
    Unmet(String),
    /// A plan that does not hold.
    Audit(Vec<String>),
    /// A file that cannot be read or written, or an argument that cannot be used: a whole sentence.
    Input(String),
    /// Standard output was closed by its reader, who wants no more.
    Closed,
}

impl Failure {
    /// A file that cannot be read or written.
    pub(crate) fn file(doing: &str, path: &Path, error: &std::io::Error) -> Failure {
        Failure::Input(format!("{} could not be {doing}: {error}.", path.display()))
    }

    /// Tells it on standard error and gives the exit code.
    pub(crate) fn report(self) -> ExitCode {
        let (last, code) = match &self {
            Failure::Job(_, faults) if faults.iter().any(|fault| fault.sort == Sort::Input) => ("", 2),
            Failure::Job(..) => ("The job cannot be met.", 1),
            Failure::Unmet(_) => ("", 1),
            Failure::Audit(_) => ("The plan does not hold.", 1),
            Failure::Input(_) => ("", 2),
            Failure::Closed => ("", 0),
        };
        let mut out = std::io::stderr().lock();
        for line in [self.to_string().as_str(), last].into_iter().filter(|line| !line.is_empty()) {
            // Nobody is left to tell when standard error is closed too.
            let _ = writeln!(out, "{}", harmless(line));
        }
        ExitCode::from(code)
    }
}

/// Every line that [`Failure::report`] tells.
impl std::fmt::Display for Failure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let lines = match self {
            Failure::Job(file, faults) => faults.iter().map(|fault| format!("{file}: {fault}")).collect(),
            Failure::Audit(objections) => objections.clone(),
            Failure::Unmet(text) | Failure::Input(text) => vec![text.clone()],
            Failure::Closed => Vec::new(),
        };
        f.write_str(&lines.join("\n"))
    }
}

/// Writes to standard output; a reader that has gone away is no error.
pub(crate) fn say(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Err(Failure::Closed),
        Err(error) => Err(Failure::Input(format!("standard output could not be written: {error}."))),
    }
}

/// Writes words to standard error.
pub(crate) fn note(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{}", harmless(text));
}

/// Text as a terminal may have it: what a job or a file name has to command it with is shown and not obeyed.
fn harmless(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if stripwright_plan::wording::commands(c) && !matches!(c, '\n' | '\t') {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn a_terminal_is_not_commanded() {
        assert_eq!(harmless("a\u{1b}[31mb\u{7}\n\tc\u{202e}d"), "a\\u{1b}[31mb\\u{7}\n\tc\\u{202e}d");
        assert_eq!(harmless("Küche, 東 – ½ in"), "Küche, 東 – ½ in");
    }
}
