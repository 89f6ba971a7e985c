//! `stripwright bench`.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use stripwright_bench::Folder;
use stripwright_plan::{Plan, keys};

use crate::arguments;
use crate::commands::start::STARTER;
use crate::failure::{Failure, note, say};
use crate::{input, packet};

pub(crate) fn run(arguments: &arguments::Bench) -> Result<(), Failure> {
    let places = Places::new(arguments)?;
    let listening = stripwright_bench::listen(arguments.port).map_err(|error| {
        Failure::Input(format!("port {} cannot be listened on: {error}; name another.", arguments.port))
    })?;
    let url = listening.url();
    say(&format!("{url}\n"))?;
    note("The bench is at that address, for this machine only. Ctrl-C ends it.");
    if !arguments.no_open
        && let Err(error) = open::that_detached(&url)
    {
        note(&format!("No browser could be opened ({error}); open the address yourself."));
    }
    listening
        .serve(Arc::new(places))
        .map_err(|error| Failure::Input(format!("the bench had to end: {error}.")))
}

/// The only files that the bench touches.
struct Places {
    job: Option<PathBuf>,
    out: Option<PathBuf>,
}

impl Places {
    fn new(arguments: &arguments::Bench) -> Result<Places, Failure> {
        let out = arguments.out.clone();
        if let Some(out) = &out {
            std::fs::create_dir_all(out).map_err(|error| Failure::file("made", out, &error))?;
        }
        let job = arguments.job.clone().or_else(|| out.as_ref().map(|out| out.join("job.json")));
        let places = Places { job, out };
        // A job that cannot be read at all is told before a browser opens.
        places.text().map_err(Failure::Input)?;
        Ok(places)
    }

    fn text(&self) -> Result<Option<String>, String> {
        match &self.job {
            Some(job) if job.exists() => input::text(job, keys::MOST_BYTES)
                .map(|(_, text)| Some(text))
                .map_err(|failure| failure.to_string()),
            _ => Ok(None),
        }
    }
}

/// The sentence for a place that the user did not name.
const NO_PLACE: &str =
    "The bench was started without a place to write to; start it with a job file or --out.";

impl Folder for Places {
    fn starter(&self) -> String {
        STARTER.to_string()
    }

    fn read_job(&self) -> Result<Option<String>, String> {
        self.text()
    }

    fn read_offcuts(&self, name: &str) -> Result<String, String> {
        // A page may name a file beside the job, and no other.
        if Path::new(name).file_name() != Some(name.as_ref()) {
            return Err(format!(
                "`{name}` is not beside the job file; the bench reads offcuts from there only."
            ));
        }
        let folder = self.job.as_deref().and_then(Path::parent).ok_or(NO_PLACE)?;
        input::text(&folder.join(name), keys::MOST_BYTES)
            .map(|(_, text)| text)
            .map_err(|failure| failure.to_string())
    }

    fn job_place(&self) -> Option<String> {
        self.job.as_ref().map(|job| job.display().to_string())
    }

    fn packet_place(&self) -> Option<String> {
        self.out.as_ref().map(|out| out.join("packet").display().to_string())
    }

    fn save_job(&self, text: &str) -> Result<(), String> {
        let job = self.job.as_ref().ok_or(NO_PLACE)?;
        write_whole(job, text.as_bytes())
            .map_err(|error| format!("{} could not be saved: {error}.", job.display()))
    }

    fn write_packet(&self, job: &str, plan: &Plan) -> Result<String, String> {
        let out = self.out.as_ref().ok_or(NO_PLACE)?.join("packet");
        let files = packet::files(job, plan, false).map_err(|failure| failure.to_string())?;
        packet::write(&out, true, &files).map_err(|failure| failure.to_string())?;
        Ok(format!("Wrote {} files to {}.", files.len(), out.display()))
    }
}

/// Writes a file beside `path` and renames it into place, so that a reader sees the old text or the new.
fn write_whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let new = path.with_file_name(format!(".{name}.new-{}", std::process::id()));
    let written = std::fs::File::create_new(&new).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    let renamed = written.and_then(|()| std::fs::rename(&new, path));
    if renamed.is_err() {
        let _ = std::fs::remove_file(&new);
    }
    renamed
}
