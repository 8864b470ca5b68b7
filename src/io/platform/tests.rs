use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use super::*;

fn sources(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.path().is_dir() {
            sources(&entry.path(), found);
        } else {
            found.push(entry.path());
        }
    }
}

#[test]
fn only_this_room_asks_which_system_it_runs_on() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let mut found = Vec::new();
    for file in files {
        let path = file.strip_prefix(&root).unwrap().to_string_lossy().replace('\\', "/");
        let text = fs::read_to_string(&file).unwrap();
        let code = text.split("#[cfg(test)]\nmod tests").next().unwrap();
        let asks =
            ["cfg(unix", "cfg(windows", "cfg(target_", "cfg(not(", "std::os::", "rustix::", "signal_hook::"];
        if !path.starts_with("io/platform")
            && !path.ends_with("tests.rs")
            && asks.iter().any(|ask| code.contains(ask))
        {
            found.push(path);
        }
    }
    assert_eq!(found, Vec::<String>::new());
}

#[test]
#[cfg(unix)]
fn a_program_is_killed_with_all_that_it_has_started() {
    let folder = tempfile::tempdir().unwrap();
    let note = folder.path().join("number");
    // The grandchild is in a session of its own: its group is not that of the program.
    let script =
        format!("setsid sh -c 'echo $$ > {0}.new; mv {0}.new {0}; exec sleep 60' & wait", note.display());
    let mut command = Command::new("sh");
    command.args(["-c", &script]).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let (mut child, family) = Family::start(&mut command).unwrap();
    let end = Instant::now() + Duration::from_secs(20);
    let number = loop {
        if let Ok(number) = fs::read_to_string(&note) {
            break number.trim().to_owned();
        }
        assert!(Instant::now() < end, "the grandchild did not start");
        thread::sleep(Duration::from_millis(10));
    };
    family.kill();
    child.wait().unwrap();
    // Dead, or a zombie of its new parent.
    let lives = || {
        let status = fs::read_to_string(format!("/proc/{number}/stat")).unwrap_or_default();
        !status.is_empty() && !status.contains(") Z ")
    };
    while lives() {
        assert!(Instant::now() < end, "the grandchild lives on");
        thread::sleep(Duration::from_millis(10));
    }
}

#[test]
#[cfg(unix)]
fn a_path_is_an_address_whatever_its_letters() {
    assert_eq!(address_of(Path::new("/shop/hut 1?#ä.db")), "file:/shop/hut%201%3F%23%C3%A4.db");
}
