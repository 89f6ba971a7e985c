//! `stripwright batch`.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};

use serde_json::{Value, json};
use stripwright_plan::{Budget, Fault, Job, Options, Sort, keys};

use crate::arguments::Batch;
use crate::failure::{Failure, note};
use crate::in_order::{Ended, Line, answer_in_order};
use crate::input;

pub(crate) fn run(arguments: &Batch) -> Result<(), Failure> {
    let path = &arguments.jobs;
    let jobs: Box<dyn BufRead> = if path == Path::new("-") {
        Box::new(std::io::stdin().lock())
    } else {
        Box::new(BufReader::new(
            std::fs::File::open(path).map_err(|error| Failure::file("read", path, &error))?,
        ))
    };
    let threads = arguments
        .threads
        .map_or_else(|| std::thread::available_parallelism().map_or(1, usize::from), usize::from);
    let (all, failed) = (AtomicU64::new(0), AtomicU64::new(0));
    let budget = Budget { work: u64::from(arguments.work) * 1_000_000 };
    let number = |line: &Line| u64::from(arguments.first_line) + (line.number - 1);
    let work = |line: &Line| {
        all.fetch_add(1, Ordering::Relaxed);
        planned(line, path, budget).unwrap_or_else(|failure| {
            failed.fetch_add(1, Ordering::Relaxed);
            told(number(line), &failure)
        })
    };
    let broken = |line: &Line| {
        failed.fetch_add(1, Ordering::Relaxed);
        error(number(line), "mistake", vec![json!({ "text": MISTAKE })])
    };
    let ended = answer_in_order(jobs, std::io::stdout(), threads, keys::MOST_BYTES, work, broken);
    match ended {
        Ok(()) => {}
        Err(Ended::Writing(error)) if error.kind() == std::io::ErrorKind::BrokenPipe => {
            return Err(Failure::Closed);
        }
        Err(Ended::Writing(error)) => {
            return Err(Failure::Input(format!("standard output could not be written: {error}.")));
        }
        Err(Ended::Reading(error)) => return Err(Failure::file("read", path, &error)),
    }
    let failed = failed.into_inner();
    if failed > 0 {
        note(&format!("{failed} of {} lines have no plan; their lines hold `faults`.", all.into_inner()));
    }
    Ok(())
}

/// Where a panic in a job's planning is told: a job never ends the others.
const MISTAKE: &str = "the program made a mistake of its own on this job; please report the job";

/// The plan of one line, as JSON on one line: what `stripwright plan --json` prints.
fn planned(line: &Line, path: &Path, budget: Budget) -> Result<String, Failure> {
    if line.cut_off {
        return Err(Failure::Input(input::too_long("the line", keys::MOST_BYTES)));
    }
    let text = input::decode("the line", line.bytes.clone())?;
    let of_job = |faults| Failure::Job(String::new(), faults);
    let mut job = Job::read(&text).map_err(of_job)?;
    // Many jobs come from many hands: none of them may have any file of this machine opened.
    if let Some(offcuts) = &job.offcuts
        && Path::new(offcuts).file_name() != Some(offcuts.as_ref())
    {
        let text =
            "this is not the name of a file beside the jobs, and a batch reads offcuts from there only";
        return Err(of_job(vec![Fault::input(None, "offcuts", text)]));
    }
    input::add_offcuts(&mut job, path)?;
    // No clock: it would make plans depend on how many threads there are. The budget of work alone ends a search.
    let mut options = Options { budget, progress: &mut |_| true, compare_slabs: true };
    let plan = stripwright_plan::plan(&job, &mut options).map_err(of_job)?;
    serde_json::to_string(&plan)
        .map_err(|error| Failure::Input(format!("the plan could not be written as JSON: {error}.")))
}

/// Why a line has no plan: the sentences of `stripwright plan`, each with its key and place.
fn told(number: u64, failure: &Failure) -> String {
    match failure {
        Failure::Job(file, faults) => {
            let cause = if faults.iter().any(|f| f.sort == Sort::Input) { "input" } else { "impossible" };
            let one = |fault: &Fault| {
                // A job on one line has no other line; a file that it names has lines of its own.
                let line = |own: u32| if file.is_empty() { number } else { u64::from(own) };
                let mut value = json!({
                    "key": fault.key,
                    "line": fault.place.map(|place| line(place.line)),
                    "column": fault.place.map(|place| place.column),
                    "text": fault.text,
                });
                if !file.is_empty() {
                    value["file"] = Value::from(file.as_str());
                }
                value
            };
            error(number, cause, faults.iter().map(one).collect())
        }
        other => error(number, "input", vec![json!({ "text": other.to_string() })]),
    }
}

fn error(number: u64, cause: &str, faults: Vec<Value>) -> String {
    json!({ "line": number, "cause": cause, "faults": faults }).to_string()
}
