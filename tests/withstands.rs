//! What the command withstands: being killed, folders that cannot be written, a full disk, a closed output, strange
//! names. An old packet is never harmed, and a new one is whole or not there.

#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a test of the whole program reads and writes files"
)]

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

#[path = "support/command.rs"]
mod program;
use program::{command, fed, run, said};

/// A plank that is a part: the smallest job there is.
fn job(title: &str) -> String {
    format!(
        r#"{{"title":"{title}","sheets":[{{"name":"board","length":1000,"width":500,"price":10}}],
        "parts":[{{"name":"panel","length":400,"width":200,"count":5}}]}}"#
    )
}

/// Everything in a folder: names and bytes.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries.map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap())).collect()
}

/// Numbers that look random and are the same every time (SplitMix64; Steele, Lea and Flood 2014).
struct Seeded(u64);

impl Seeded {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
}

const KILLS: usize = 200;

#[test]
fn a_packet_is_the_old_one_or_the_new_one_whenever_the_program_is_killed() {
    let folder = tempfile::tempdir().unwrap();
    let mut whole = Vec::new();
    let mut longest = Duration::ZERO;
    for title in ["first", "second"] {
        fs::write(folder.path().join(format!("{title}.json")), job(title)).unwrap();
        let begun = Instant::now();
        let out = run(folder.path(), &["plan", &format!("{title}.json"), "--out", title]);
        longest = longest.max(begun.elapsed());
        assert!(out.status.success(), "{}", said(&out));
        whole.push(contents(&folder.path().join(title)));
        fs::remove_dir_all(folder.path().join(title)).unwrap();
    }
    assert_ne!(whole[0], whole[1]);
    let packet = folder.path().join("packet");
    assert!(run(folder.path(), &["plan", "first.json", "--out", "packet"]).status.success());
    let (mut random, mut now) = (Seeded(8), 0);
    let (mut old, mut new, mut half_written) = (0, 0, 0);
    for n in 0..KILLS {
        let other = 1 - now;
        let title = ["first", "second"][other];
        let mut child = command(folder.path())
            .args(["plan", &format!("{title}.json"), "--out", "packet", "--replace"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // At any moment from the first to a little after the last.
        let moment = longest.as_micros() as u64 * 11 / 10;
        std::thread::sleep(Duration::from_micros(random.next() % moment.max(1)));
        child.kill().unwrap();
        child.wait().unwrap();
        let found = contents(&packet);
        if found == whole[other] {
            now = other;
            new += 1;
        } else {
            assert!(found == whole[now], "after kill {n} the packet is neither the old one nor the new one");
            old += 1;
        }
        // What a killed run leaves is swept up by the next one that comes as far as writing, so it never piles up.
        let left = fs::read_dir(folder.path()).unwrap().count() - 3;
        assert!(left <= 1, "{left} temporary folders");
        half_written += left;
    }
    println!(
        "{KILLS} kills: {old} left the old packet, {new} the new one; {half_written} a temporary folder beside"
    );
    assert!(old > 0 && new > 0, "{old} old, {new} new");
    assert!(run(folder.path(), &["plan", "first.json", "--out", "packet", "--replace"]).status.success());
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3, "something is left behind");
}

#[test]
fn folders_of_others_and_of_running_programs_are_not_swept_up() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.json"), job("a")).unwrap();
    for name in [".packet.new-mine", ".packet.new-12.bak", ".other.new-12", ".packet.new-77"] {
        fs::create_dir(folder.path().join(name)).unwrap();
    }
    let held = fs::File::open(folder.path().join(".packet.new-77")).unwrap();
    held.lock().unwrap();
    fs::create_dir(folder.path().join(".packet.new-78")).unwrap();
    assert!(run(folder.path(), &["plan", "job.json", "--out", "packet"]).status.success());
    let names: Vec<String> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with('.'))
        .collect();
    assert_eq!(names.len(), 4, "{names:?}");
    assert!(!names.contains(&".packet.new-78".to_string()));
}

#[test]
fn what_cannot_be_written_is_told_and_harms_nothing() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.json"), job("a")).unwrap();
    for out in ["job.json/packet", "job.json", "/proc/packet", "/dev/null", "..", "/"] {
        let ran = run(folder.path(), &["plan", "job.json", "--out", out]);
        assert_eq!(ran.status.code(), Some(2), "{out}: {}", said(&ran));
        assert_eq!(said(&ran).lines().count(), 1, "{}", said(&ran));
        let replaced = run(folder.path(), &["rip", "job.json", "--replace", "--out", out]);
        // `..` and `/` are folders, but not ones that a packet may take the place of.
        assert_eq!(replaced.status.code(), Some(2), "{out}: {}", said(&replaced));
    }
    assert_eq!(fs::read_to_string(folder.path().join("job.json")).unwrap(), job("a"));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    // A job that is no file, and one that never ends.
    for job in [".", "missing.json", "/dev/zero"] {
        let ran = run(folder.path(), &["buy", job]);
        assert_eq!(ran.status.code(), Some(2), "{}", said(&ran));
    }
}

/// A file system of its own, where this machine lets one be mounted.
#[cfg(target_os = "linux")]
fn mounted(folder: &Path, options: &str) -> bool {
    let mut mount = Command::new("mount");
    mount.args(["-t", "tmpfs", "-o", options, "tmpfs"]).arg(folder).stderr(Stdio::null());
    let done = mount.status().is_ok_and(|status| status.success());
    if !done {
        println!("not tried on a file system of its own: this machine lets none be mounted");
    }
    done
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_and_one_to_read_only_keep_the_old_packet() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.json"), job("a")).unwrap();
    // Standard output to a full device, everywhere.
    for arguments in
        [&["buy", "job.json"][..], &["plan", "job.json", "--json"], &["schema"], &["batch", "job.json"]]
    {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let ran = command(folder.path()).args(arguments).stdout(full).output().unwrap();
        assert_eq!(ran.status.code(), Some(2), "{arguments:?}: {}", said(&ran));
        assert!(said(&ran).contains("standard output could not be written"), "{}", said(&ran));
    }
    let disk = folder.path().join("disk");
    fs::create_dir(&disk).unwrap();
    if !mounted(&disk, "size=2m") {
        return;
    }
    let packet = disk.join("packet");
    let plan =
        |more: &[&str]| run(folder.path(), &[&["plan", "job.json", "--out", "disk/packet"], more].concat());
    let first = plan(&[]);
    let whole = first.status.success().then(|| contents(&packet));
    // All but a little of what is left is taken.
    let stone = fs::write(disk.join("stone"), vec![0; 8 << 20]);
    let full = plan(&["--replace"]);
    let kept = whole.as_ref().map(|whole| *whole == contents(&packet));
    let entries = fs::read_dir(&disk).unwrap().count();
    let _ = fs::remove_file(disk.join("stone"));
    let remounted = Command::new("mount")
        .args(["-o", "remount,ro"])
        .arg(&disk)
        .status()
        .is_ok_and(|status| status.success());
    let read_only = plan(&["--replace"]);
    let kept_too = whole.as_ref().map(|whole| *whole == contents(&packet));
    // Taken away before anything is judged, so that it is gone whatever was found.
    assert!(Command::new("umount").arg(&disk).status().unwrap().success());
    assert!(first.status.success(), "{}", said(&first));
    assert!(stone.is_err() && remounted);
    assert_eq!(full.status.code(), Some(2), "{}", said(&full));
    assert!(said(&full).contains("could not be written"), "{}", said(&full));
    assert_eq!((kept, entries), (Some(true), 2));
    assert_eq!(read_only.status.code(), Some(2), "{}", said(&read_only));
    assert_eq!(kept_too, Some(true));
}

#[test]
fn a_reader_that_has_gone_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("job.json"), job("a")).unwrap();
    for arguments in [
        &["plan", "job.json"][..],
        &["plan", "job.json", "--json"],
        &["buy", "job.json"],
        &["schema"],
        &["manual"],
        &["completions", "zsh"],
        &["batch", "job.json"],
    ] {
        let mut child = command(folder.path())
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let ended = child.wait_with_output().unwrap();
        assert_eq!(ended.status.code(), Some(0), "{arguments:?}: {}", said(&ended));
        assert!(!said(&ended).contains("panicked"));
    }
}

#[cfg(unix)]
#[test]
fn names_may_be_strange() {
    use std::os::unix::ffi::{OsStrExt, OsStringExt};
    let folder = tempfile::tempdir().unwrap();
    let long = "ä".repeat(125);
    let names: [&[u8]; 8] = [
        b"with spaces in it",
        b"a\nline break",
        b"\xff\xfe\x80 not UTF-8",
        "Tischplatte für Ölß \u{1F332}".as_bytes(),
        b"'quotes\" and $HOME; * ? [x] \\",
        long.as_bytes(),
        b"...",
        b"~",
    ];
    for name in names {
        let given = |end: &[u8]| std::ffi::OsString::from_vec([name, end].concat());
        let file = given(b".json");
        fs::write(folder.path().join(&file), job("strange")).unwrap();
        let packet = given(b"");
        for more in [&[][..], &[OsStr::new("--replace")]] {
            let arguments = [&[OsStr::new("plan"), &file, OsStr::new("--out"), &packet], more].concat();
            let ran = run(folder.path(), &arguments);
            assert!(ran.status.success(), "{packet:?}: {}", said(&ran));
        }
        assert!(run(folder.path(), &[OsStr::new("audit"), &packet]).status.success());
        fs::remove_dir_all(folder.path().join(&packet)).unwrap();
        fs::remove_file(folder.path().join(&file)).unwrap();
    }
    // A dash in front is an option, unless it is said that none follow.
    fs::write(folder.path().join("-job.json"), job("strange")).unwrap();
    assert_eq!(run(folder.path(), &["buy", "-job.json"]).status.code(), Some(2));
    assert!(run(folder.path(), &["buy", "--", "-job.json"]).status.success());
    assert!(run(folder.path(), &["plan", "--out=-out", "--", "-job.json"]).status.success());
    assert!(folder.path().join("-out/plan.json").is_file());
    // A name that no file system takes.
    let endless = OsStr::from_bytes(&[b'x'; 5000]).to_owned();
    let ran = run(
        folder.path(),
        &[OsStr::new("plan"), OsStr::new("--out"), &endless, OsStr::new("--"), OsStr::new("-job.json")],
    );
    assert_eq!(ran.status.code(), Some(2), "{}", said(&ran));
}

#[test]
fn a_dash_is_standard_input_for_every_command_that_reads() {
    let folder = tempfile::tempdir().unwrap();
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    let demo = fs::read(fixtures.join("chevron-round/job.json")).unwrap();
    let stand = r#"{"lumber":[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}],
        "bases":[{"name":"frame","height":"700 mm","front_lean":6,"side_lean":6,"leg":"32 mm",
        "top_spread":"260 mm","rungs":["140 mm"]}]}"#;
    let plan = fed(folder.path(), &["plan", "-", "--json"], &demo);
    for (arguments, input) in [
        (&["plan", "-"][..], demo.as_slice()),
        (&["buy", "-"], &demo),
        (&["rip", "-", "--out", "rips"], &demo),
        (&["compare", "-", "--patterns", "straight"], &demo),
        (&["base", "-"], stand.as_bytes()),
        (&["audit", "-"], &plan.stdout),
        (&["batch", "-"], b"{}"),
    ] {
        let ran = fed(folder.path(), arguments, input);
        assert_eq!(ran.status.code(), Some(0), "{arguments:?}: {}", said(&ran));
    }
    // Nothing at all, and what is no text.
    for input in [&b""[..], b"\xff\xff\xff"] {
        for name in ["plan", "buy", "base", "audit", "compare"] {
            let ran = fed(folder.path(), &[name, "-"], input);
            assert_eq!(ran.status.code(), Some(2), "{name}: {}", said(&ran));
        }
    }
}

#[test]
fn no_colour_where_none_is_wanted() {
    let folder = tempfile::tempdir().unwrap();
    for arguments in [&["--help"][..], &["plan", "--help"], &["plan"], &["plan", "missing.json"], &["plam"]] {
        let ran = command(folder.path())
            .args(arguments)
            .envs([("NO_COLOR", "1"), ("CLICOLOR_FORCE", "1")])
            .output()
            .unwrap();
        let all = [ran.stdout, ran.stderr].concat();
        assert!(!all.is_empty() && !all.contains(&0x1b), "{}", String::from_utf8_lossy(&all));
    }
}

#[test]
fn every_command_has_a_page_of_help_with_examples_and_of_the_manual() {
    let folder = tempfile::tempdir().unwrap();
    let schema = run(folder.path(), &["--help"]);
    let help = String::from_utf8(schema.stdout).unwrap();
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert!(commands.len() >= 12, "{commands:?}");
    for name in commands {
        let help = String::from_utf8(run(folder.path(), &[name, "--help"]).stdout).unwrap();
        assert!(help.contains(&format!("Examples:\n  stripwright {name} ")), "{help}");
        let page = run(folder.path(), &["manual", name]);
        let page = String::from_utf8(page.stdout).unwrap();
        assert!(page.contains(&format!(".TH stripwright-{name} 1")), "{page}");
    }
    let first = String::from_utf8(run(folder.path(), &["manual"]).stdout).unwrap();
    assert!(first.contains(".TH stripwright 1") && first.contains("stripwright\\-batch(1)"), "{first}");
    assert_eq!(run(folder.path(), &["manual", "nothing"]).status.code(), Some(2));
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = String::from_utf8(run(folder.path(), &["completions", shell]).stdout).unwrap();
        assert!(script.contains("patience") && script.contains("first-line"), "{shell}");
    }
}

/// Letters come from the program itself: without a font anywhere, and without a setting of the system's, the packet is
/// the same to the byte.
#[cfg(target_os = "linux")]
#[test]
fn no_font_of_the_system_is_missed() {
    let folder = tempfile::tempdir().unwrap();
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures");
    fs::copy(fixtures.join("two-counters/job.json"), folder.path().join("job.json")).unwrap();
    assert!(run(folder.path(), &["plan", "job.json", "--out", "with"]).status.success());
    let mut bare = command(folder.path());
    bare.env_clear().envs([("FONTCONFIG_FILE", "/dev/null"), ("FONTCONFIG_PATH", "/dev/null")]);
    let ran = bare.args(["plan", "job.json", "--out", "without"]).output().unwrap();
    assert!(ran.status.success(), "{}", said(&ran));
    let with = contents(&folder.path().join("with"));
    assert!(with == contents(&folder.path().join("without")), "without settings the packet is another");
    assert!(with["packet.pdf"].windows(10).any(|bytes| bytes == b"/FontFile2" || bytes == b"/FontFile3"));
    assert!(with["packet.html"].windows(10).any(|bytes| bytes == b"@font-face"));

    // Where this machine lets a process see folders of its own, with every folder of fonts empty.
    let script = "for d in /usr/share/fonts /usr/local/share/fonts /etc/fonts; do \
                  if [ -d $d ]; then mount -t tmpfs none $d || exit 77; fi; done; exec \"$@\"";
    let ran = Command::new("unshare")
        .current_dir(folder.path())
        .args(["--mount", "--map-root-user", "sh", "-c", script, "sh"])
        .args([env!("CARGO_BIN_EXE_stripwright"), "plan", "job.json", "--out", "hidden"])
        .output();
    match ran {
        Ok(ran) if ran.status.success() => {
            assert!(with == contents(&folder.path().join("hidden")), "without fonts the packet is another");
        }
        _ => println!("fonts were not hidden: this machine lets no process have folders of its own"),
    }
}
