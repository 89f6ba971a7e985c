//! The packet on disk: written whole or not at all.

use std::path::{Path, PathBuf};

use stripwright_drawing::draft::Show;
use stripwright_drawing::{Options, rip, writer};
use stripwright_plan::Plan;

use crate::failure::Failure;

/// A file of the packet: its name and what is in it.
pub(crate) type File = (String, Vec<u8>);

/// What a command writes to a folder, and so what of an old folder it may replace.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A packet, with its job and its plan.
    Packet,
    /// The rip diagrams alone.
    Rips,
    /// Faces side by side.
    Faces,
}

impl Kind {
    fn name(self) -> &'static str {
        match self {
            Kind::Packet => "a packet",
            Kind::Rips => "a folder of rip diagrams",
            Kind::Faces => "a folder of faces",
        }
    }

    /// Whether a file of this name is one that is written there.
    fn writes(self, name: &str) -> bool {
        const LISTS: [&str; 8] = [
            "job.json",
            ON_HAND,
            PLAN,
            "packet.html",
            "packet.pdf",
            "cut-list.csv",
            "buy.csv",
            "offcuts.json",
        ];
        match self {
            Kind::Packet => LISTS.contains(&name) || is_drawing(name),
            Kind::Rips => name.starts_with("layout-") && is_drawing(name),
            Kind::Faces => name == "faces.svg",
        }
    }
}

/// The plan of a packet.
const PLAN: &str = "plan.json";

/// The offcuts that the job could use; those that are left over are `offcuts.json`.
const ON_HAND: &str = "offcuts-on-hand.json";

/// Whether a word is a whole number, in digits alone.
fn is_number(word: &str) -> bool {
    !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit())
}

/// Whether a drawing of a packet has this name.
fn is_drawing(name: &str) -> bool {
    let Some(name) = name.strip_suffix(".svg") else { return false };
    let mut words: Vec<&str> = name.split('-').collect();
    if let [.., "sheet", last] = words[..]
        && is_number(last)
    {
        words.truncate(words.len() - 2);
    }
    match words[..] {
        ["boards"] => true,
        ["layout", n] | ["top", n, "face" | "outline" | "blank"] => is_number(n),
        ["top", n, "slab" | "bands", m] | ["base", n, "rung" | "bores", m] => is_number(n) && is_number(m),
        ["base", n, "front" | "side" | "plan" | "leg" | "marking" | "underside"] => is_number(n),
        _ => false,
    }
}

/// Refuses a place before any work is done: one where no folder can be, an existing folder that is not to be replaced, and
/// one that holds anything else than what is written there. An empty folder is free.
pub(crate) fn check_free(out: &Path, replace: bool, kind: Kind) -> Result<(), Failure> {
    let out = &behind_link(out)?;
    let (parent, _) = place(out)?;
    if !out.exists() {
        return check_parent(&parent);
    }
    if !out.is_dir() {
        let so = if replace {
            "is not a folder; name another."
        } else {
            "exists already and is kept as it is; name another."
        };
        return Err(Failure::Input(format!("{} {so}", out.display())));
    }
    let mut names = Vec::new();
    for entry in std::fs::read_dir(out).map_err(|error| Failure::file("read", out, &error))? {
        let entry = entry.map_err(|error| Failure::file("read", out, &error))?;
        let plain = entry.file_type().is_ok_and(|kind| kind.is_file());
        names.push((entry.file_name(), plain));
    }
    if names.is_empty() {
        return Ok(());
    }
    if !replace {
        return Err(Failure::Input(format!(
            "{} exists already and is kept as it is; name another folder, or say --replace.",
            out.display()
        )));
    }
    names.sort();
    let strange = names.iter().find(|(name, plain)| !plain || !name.to_str().is_some_and(|n| kind.writes(n)));
    if let Some((name, _)) = strange {
        return Err(Failure::Input(format!(
            "{} holds `{}`, which is nothing of {}, so it is kept as it is; move that elsewhere, or name another folder.",
            out.display(),
            name.to_string_lossy(),
            kind.name()
        )));
    }
    if kind == Kind::Packet && !is_plan(&out.join(PLAN)) {
        return Err(Failure::Input(format!(
            "{} holds no `{PLAN}` that was written here, so it is no packet and is kept as it is; name another folder.",
            out.display()
        )));
    }
    Ok(())
}

/// The folder that a symbolic link stands for, so that what is written is where the link leads.
fn behind_link(out: &Path) -> Result<PathBuf, Failure> {
    // (A slash at the end would have the link itself looked through.)
    let link: PathBuf = out.components().collect();
    if !link.is_symlink() {
        return Ok(link);
    }
    link.canonicalize().map_err(|_| {
        Failure::Input(format!("{} is a link to nothing; remove it, or name another folder.", out.display()))
    })
}

/// Whether folders can be made there: what there is of the path is a folder that may be written to.
fn check_parent(parent: &Path) -> Result<(), Failure> {
    let Some(there) = parent.ancestors().find(|path| path.as_os_str().is_empty() || path.exists()) else {
        return Ok(());
    };
    let there = if there.as_os_str().is_empty() { Path::new(".") } else { there };
    let refused = |what: &str| Err(Failure::Input(format!("{} {what}; name another.", there.display())));
    match there.metadata() {
        Ok(found) if !found.is_dir() => refused("is not a folder, so none can be made in it"),
        Ok(found) if found.permissions().readonly() => refused("may not be written to"),
        _ => Ok(()),
    }
}

/// Whether a file is a plan, of this version or another.
fn is_plan(file: &Path) -> bool {
    let Ok(bytes) = std::fs::read(file) else { return false };
    let plan: serde_json::Value = serde_json::from_slice(&bytes).unwrap_or_default();
    ["format", "buy", "bound"].iter().all(|key| plan.get(key).is_some())
}

/// `plan.json`, to the byte the same for the same plan.
pub(crate) fn plan_json(plan: &Plan) -> Result<String, Failure> {
    serde_json::to_string_pretty(plan)
        .map_err(|error| Failure::Input(format!("the plan could not be written as JSON: {error}.")))
}

/// Everything in the packet: the job, with the text of the offcuts that it names, and what was made of it.
pub(crate) fn files(job: &str, offcuts: Option<&str>, plan: &Plan, both: bool) -> Result<Vec<File>, Failure> {
    let drawn = stripwright_drawing::packet(plan, &Options { both });
    let mut files = match offcuts {
        None => vec![("job.json".to_string(), job.as_bytes().to_vec())],
        // Whoever gets the packet can check and plan it again without the shop's own list.
        Some(offcuts) => vec![
            ("job.json".to_string(), stripwright_plan::with_offcuts(job, ON_HAND).into_bytes()),
            (ON_HAND.to_string(), offcuts.as_bytes().to_vec()),
        ],
    };
    files.push((PLAN.to_string(), (plan_json(plan)? + "\n").into_bytes()));
    files.extend(drawn.map_err(|error| Failure::Input(format!("the packet could not be drawn: {error}")))?);
    Ok(files)
}

/// The drawings of each layout.
pub(crate) fn rip_diagrams(plan: &Plan, both: bool) -> Vec<File> {
    let show = Show::of(plan, both);
    let scenes = (0..plan.layouts.len()).flat_map(|n| rip::plates(plan, n, show));
    scenes.map(|scene| (format!("{}.svg", scene.name), writer::file(&scene).into_bytes())).collect()
}

/// Writes files to a folder beside `out`, then puts it in its place in one step.
pub(crate) fn write(out: &Path, replace: bool, kind: Kind, files: &[File]) -> Result<(), Failure> {
    check_free(out, replace, kind)?;
    let out = &behind_link(out)?;
    let failed = |path: &Path| {
        let path = path.to_path_buf();
        move |error: std::io::Error| Failure::file("written", &path, &error)
    };
    let (parent, name) = place(out)?;
    std::fs::create_dir_all(&parent).map_err(failed(&parent))?;
    let begin = format!(".{name}.new-");
    sweep(&parent, &begin);
    let new = parent.join(format!("{begin}{}", std::process::id()));
    std::fs::create_dir(&new).map_err(failed(out))?;
    let _held = hold(&new);
    let result = fill(&new, files).and_then(|()| exchange(&new, out));
    // What is left under the temporary name is either a half-written folder or the old packet.
    if new.exists() {
        let _ = std::fs::remove_dir_all(&new);
    }
    result.map_err(failed(out))
}

/// Marks a folder as this process's own for as long as the file is open, however the process ends.
fn hold(folder: &Path) -> Option<std::fs::File> {
    // Where a folder cannot be opened or locked, nothing left behind is ever swept up either.
    let file = std::fs::File::open(folder).ok()?;
    file.try_lock().ok()?;
    Some(file)
}

/// What a folder's name ends in while a new one takes its place.
const LAID_ASIDE: &str = "old";

/// Removes what processes that were killed have left behind: folders of that name which nobody holds any more, and which hold
/// nothing but what is written here.
fn sweep(parent: &Path, begin: &str) {
    let Ok(entries) = std::fs::read_dir(parent) else { return };
    for entry in entries.flatten() {
        let ours = entry.file_name().to_str().and_then(|name| name.strip_prefix(begin)).is_some_and(|pid| {
            is_number(pid.strip_suffix(LAID_ASIDE).and_then(|p| p.strip_suffix('.')).unwrap_or(pid))
        });
        let folder = entry.path();
        if ours
            && entry.file_type().is_ok_and(|kind| kind.is_dir())
            && holds_only_ours(&folder)
            && hold(&folder).is_some()
        {
            let _ = std::fs::remove_dir_all(folder);
        }
    }
}

/// Whether all that a folder holds are files that some command writes.
fn holds_only_ours(folder: &Path) -> bool {
    let kinds = [Kind::Packet, Kind::Rips, Kind::Faces];
    let ours = |entry: std::io::Result<std::fs::DirEntry>| {
        entry.is_ok_and(|entry| {
            entry.file_type().is_ok_and(|kind| kind.is_file())
                && entry.file_name().to_str().is_some_and(|name| kinds.iter().any(|kind| kind.writes(name)))
        })
    };
    std::fs::read_dir(folder).is_ok_and(|mut entries| entries.all(ours))
}

/// Characters of a folder's name that its temporary neighbour has too; names have an end, at 255 bytes mostly.
const NAME_KEPT: usize = 40;

fn place(out: &Path) -> Result<(PathBuf, String), Failure> {
    let name = out.file_name().ok_or_else(|| {
        Failure::Input(format!("{} does not name a folder; write for example --out packet.", out.display()))
    })?;
    let parent = match out.parent() {
        Some(parent) if parent != Path::new("") => parent.to_path_buf(),
        _ => PathBuf::from("."),
    };
    Ok((parent, name.to_string_lossy().chars().take(NAME_KEPT).collect()))
}

fn fill(folder: &Path, files: &[File]) -> std::io::Result<()> {
    use std::io::Write;
    for (name, bytes) in files {
        let mut file = std::fs::File::create_new(folder.join(name))?;
        file.write_all(bytes)?;
        // On disk before it takes the old packet's place.
        file.sync_all()?;
    }
    Ok(())
}

/// Puts the new folder where the old one is, or where there is none yet.
fn exchange(new: &Path, out: &Path) -> std::io::Result<()> {
    if !out.exists() {
        return std::fs::rename(new, out);
    }
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        // Both change places at once, so that at no moment there is no packet.
        match renameat_with(CWD, new, CWD, out, RenameFlags::EXCHANGE) {
            Ok(()) => return Ok(()),
            Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => {}
            Err(error) => return Err(error.into()),
        }
    }
    exchange_in_steps(new, out)
}

/// Likewise, where two folders cannot change places at once. What is left of a step that was not finished has a name that
/// [`sweep`] knows.
fn exchange_in_steps(new: &Path, out: &Path) -> std::io::Result<()> {
    let old = new.with_added_extension(LAID_ASIDE);
    std::fs::rename(out, &old)?;
    if let Err(error) = std::fs::rename(new, out) {
        std::fs::rename(&old, out)?;
        return Err(error);
    }
    std::fs::remove_dir_all(&old)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every drawing that a fixture keeps is one that a packet may have; a maker's own files are not.
    #[test]
    #[allow(clippy::disallowed_methods, reason = "reads the names of the fixtures' drawings")]
    fn drawings_are_known_by_their_names() {
        let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
        let mut drawings = 0;
        for folder in std::fs::read_dir(fixtures).unwrap().map(Result::unwrap).filter(|e| e.path().is_dir()) {
            for file in std::fs::read_dir(folder.path()).unwrap() {
                let name = file.unwrap().file_name().into_string().unwrap();
                if name.ends_with(".svg") {
                    drawings += 1;
                    assert!(Kind::Packet.writes(&name), "{name}");
                    assert_eq!(Kind::Rips.writes(&name), name.starts_with("layout-"), "{name}");
                }
            }
        }
        assert!(drawings > 100, "{drawings}");
        for own in ["sketch.svg", "layout-mine.svg", "top-1-face.png", "base-1-.svg", "layout-.svg", ".svg"] {
            assert!(!Kind::Packet.writes(own), "{own}");
        }
        assert!(Kind::Packet.writes("boards-sheet-2.svg") && Kind::Packet.writes("layout-12-sheet-3.svg"));
    }

    #[test]
    #[allow(clippy::disallowed_methods, reason = "a test of what stands on the disk")]
    fn what_was_laid_aside_is_swept_up() {
        let parent = tempfile::tempdir().unwrap();
        let [out, new, gone] =
            ["packet", ".packet.new-7", ".packet.new-6"].map(|name| parent.path().join(name));
        let gone = gone.with_added_extension(LAID_ASIDE);
        for folder in [&out, &new, &gone] {
            std::fs::create_dir(folder).unwrap();
        }
        std::fs::write(new.join("plan.json"), "new").unwrap();
        exchange_in_steps(&new, &out).unwrap();
        assert!(out.join("plan.json").exists() && !new.exists());
        assert!(gone.exists());
        sweep(parent.path(), ".packet.new-");
        assert!(!gone.exists());
        assert_eq!(std::fs::read_dir(parent.path()).unwrap().count(), 1);
    }
}
