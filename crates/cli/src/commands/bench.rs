//! `stripwright bench`.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use stripwright_bench::{Folder, Listening};
use stripwright_plan::{Plan, keys};

use crate::arguments;
use crate::commands::start::STARTER;
use crate::failure::{Failure, note, say};
use crate::{input, packet};

pub(crate) fn run(arguments: &arguments::Bench) -> Result<(), Failure> {
    let places = Places::new(arguments)?;
    let listening = listen(arguments.port, places.job.as_deref())?;
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

/// Listens on the port that was named; else on the job file's own, so that the browser finds the drafts it kept for that
/// address; else, where another program has it, on any that is free.
fn listen(named: Option<u16>, job: Option<&Path>) -> Result<Listening, Failure> {
    let refused = |port: u16, error: std::io::Error| {
        Failure::Input(format!("port {port} cannot be listened on: {error}; name another."))
    };
    if let Some(port) = named {
        return stripwright_bench::listen(port).map_err(|error| refused(port, error));
    }
    let own = job.and_then(|job| std::path::absolute(job).ok()).map(|job| own_port(&job));
    match own.map(stripwright_bench::listen) {
        Some(Ok(listening)) => Ok(listening),
        _ => stripwright_bench::listen(0).map_err(|error| refused(0, error)),
    }
}

/// A port for a path, always the same, among those that are nobody's by rule (RFC 6335: 49152 to 65535), by the hash FNV-1a.
fn own_port(path: &Path) -> u16 {
    let hash = path
        .as_os_str()
        .as_encoded_bytes()
        .iter()
        .fold(0x811c_9dc5_u32, |hash, byte| (hash ^ u32::from(*byte)).wrapping_mul(0x0100_0193));
    // Both halves take part; fourteen bits choose among 16 384 ports.
    49_152 + ((hash ^ (hash >> 16)) & 0x3fff) as u16
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
        input::file_text(&folder.join(name), keys::MOST_BYTES)
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

    fn write_packet(&self, job: &str, offcuts: Option<&str>, plan: &Plan) -> Result<String, String> {
        let out = self.out.as_ref().ok_or(NO_PLACE)?.join("packet");
        let files = packet::files(job, offcuts, plan, false).map_err(|failure| failure.to_string())?;
        packet::write(&out, true, packet::Kind::Packet, &files).map_err(|failure| failure.to_string())?;
        Ok(format!("Wrote {} files to {}.", files.len(), out.display()))
    }
}

/// Writes a file beside `path` and renames it into place, so that a reader sees the old text or the new. What a link leads to
/// is written, and who may read it stays as it was.
fn write_whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let path = &if path.is_symlink() { path.canonicalize()? } else { path.to_path_buf() };
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let new = path.with_file_name(format!(".{name}.new-{}", std::process::id()));
    let written = std::fs::File::create_new(&new).and_then(|mut file| {
        // Before there is anything to read.
        if let Ok(before) = path.metadata() {
            file.set_permissions(before.permissions())?;
        }
        file.write_all(bytes)?;
        file.sync_all()
    });
    let renamed = written.and_then(|()| std::fs::rename(&new, path));
    if renamed.is_err() {
        let _ = std::fs::remove_file(&new);
    }
    renamed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    #[allow(clippy::disallowed_methods, reason = "a test of what stands on the disk")]
    fn what_is_saved_stays_where_it_was_and_as_private() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real.json"), folder.path().join("job.json"));
        std::fs::write(&real, "old").unwrap();
        std::fs::set_permissions(&real, std::fs::Permissions::from_mode(0o600)).unwrap();
        std::os::unix::fs::symlink("real.json", &link).unwrap();
        write_whole(&link, b"new").unwrap();
        assert!(link.is_symlink());
        assert_eq!(std::fs::read_to_string(&real).unwrap(), "new");
        assert_eq!(std::fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o600);
        let nowhere = folder.path().join("nowhere.json");
        std::os::unix::fs::symlink("gone.json", &nowhere).unwrap();
        assert!(write_whole(&nowhere, b"new").is_err() && nowhere.is_symlink());
        let fresh = folder.path().join("fresh.json");
        write_whole(&fresh, b"first").unwrap();
        assert_eq!(std::fs::read_to_string(&fresh).unwrap(), "first");
    }

    #[test]
    fn a_job_has_its_own_port_and_gives_way_where_it_is_taken() {
        let job = Path::new("/shop/stool/job.json");
        let port = own_port(job);
        assert!((49_152..=65_535).contains(&port));
        assert_eq!(own_port(job), port);
        assert_ne!(own_port(Path::new("/shop/table/job.json")), port);
        let first = listen(None, Some(job)).unwrap().url();
        let second = listen(None, Some(job)).unwrap();
        assert_eq!(first.split('/').nth(2).map(str::len), second.url().split('/').nth(2).map(str::len));
        // The key is fresh every time, whatever the port.
        assert_ne!(first, second.url());
    }
}
