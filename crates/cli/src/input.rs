//! Reads jobs and plans from files or standard input.

use std::io::Read;
use std::path::Path;

use stripwright_plan::{Job, Plan, keys};

use crate::failure::Failure;

/// A job's text as it was written, that of the offcuts it names, and the job.
pub(crate) struct Given {
    pub(crate) name: String,
    pub(crate) text: String,
    pub(crate) offcuts: Option<String>,
    pub(crate) job: Job,
}

/// Reads a job and the offcuts it names.
pub(crate) fn job(path: &Path) -> Result<Given, Failure> {
    let (name, text) = text(path, keys::MOST_BYTES)?;
    let mut job = Job::read(&text).map_err(|faults| Failure::Job(name.clone(), faults))?;
    let offcuts = add_offcuts(&mut job, path)?;
    Ok(Given { name, text, offcuts, job })
}

/// Adds the offcuts that a job names, from their file beside the job's, and gives their text.
pub(crate) fn add_offcuts(job: &mut Job, path: &Path) -> Result<Option<String>, Failure> {
    let Some(offcuts) = job.offcuts.clone() else { return Ok(None) };
    let beside = path.parent().unwrap_or(Path::new("")).join(&offcuts);
    let (name, text) = file_text(&beside, keys::MOST_BYTES)?;
    job.add_offcuts(&text).map_err(|faults| Failure::Job(name, faults))?;
    Ok(Some(text))
}

/// The most bytes of a plan that are read: a plan holds every cut, so it is larger than its job.
const MOST_PLAN_BYTES: usize = 512 << 20;

/// Reads a plan; a folder stands for the plan.json in it. Gives the job beside it, too, where there is one.
pub(crate) fn plan(path: &Path) -> Result<(Plan, Option<Given>), Failure> {
    let folder = path.is_dir();
    let file = if folder { path.join("plan.json") } else { path.to_path_buf() };
    let (name, text) = text(&file, MOST_PLAN_BYTES)?;
    let plan = serde_json::from_str(&text).map_err(|error| {
        Failure::Input(format!("{name} is not a plan: {error}; write one with `stripwright plan`."))
    })?;
    let beside = path.join("job.json");
    let given = if folder && beside.is_file() { Some(job(&beside)?) } else { None };
    Ok((plan, given))
}

/// Reads text; `-` is standard input.
pub(crate) fn text(path: &Path, most: usize) -> Result<(String, String), Failure> {
    if path == Path::new("-") {
        return read("standard input".to_string(), std::io::stdin().lock(), most);
    }
    file_text(path, most)
}

/// Reads a file; one called `-` is a file here, for what a job names is never standard input.
pub(crate) fn file_text(path: &Path, most: usize) -> Result<(String, String), Failure> {
    let file = std::fs::File::open(path).map_err(|error| Failure::file("read", path, &error))?;
    read(path.display().to_string(), file, most)
}

/// One byte more than allowed is read, so that a fault can say it is too long.
fn read(name: String, from: impl Read, most: usize) -> Result<(String, String), Failure> {
    let mut bytes = Vec::new();
    from.take(most as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| Failure::Input(format!("{name} could not be read: {error}.")))?;
    if bytes.len() > most {
        return Err(Failure::Input(too_long(&name, most)));
    }
    let text = decode(&name, bytes)?;
    Ok((name, text))
}

/// The sentence for something longer than is read.
pub(crate) fn too_long(name: &str, most: usize) -> String {
    format!("{name} is longer than {most} bytes, the most that is read; split it.")
}

/// Text from bytes.
pub(crate) fn decode(name: &str, bytes: Vec<u8>) -> Result<String, Failure> {
    match String::from_utf8(bytes) {
        // An editor's byte order mark is not part of the job.
        Ok(text) => Ok(text.strip_prefix('\u{feff}').map(str::to_string).unwrap_or(text)),
        Err(error) => Err(Failure::Input(format!(
            "{name} is not UTF-8 text (from byte {} on); save it as UTF-8.",
            error.utf8_error().valid_up_to()
        ))),
    }
}
