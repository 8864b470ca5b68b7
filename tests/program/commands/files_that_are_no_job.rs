//! A file that is no job is recognised and left as it is.

use std::fs;
use std::path::Path;

use crate::common::{Hut, as_it_lies, same};

/// Commands that look, and commands that write.
const COMMANDS: [&str; 6] = [
    "status",
    "record",
    "watch --once --no-desktop",
    "--at -1h reading 17",
    "--at -1h coat roof epoxy-sealer",
    "undo",
];

/// Runs every command on a file and gives back what was said, each sentence once.
fn told_of(hut: &Hut, file: &str) -> String {
    let path = hut.path(file);
    let before = as_it_lies(&path);
    let mut told: Vec<String> = Vec::new();
    for command in COMMANDS {
        let ran = hut.run(&format!("--job {file} {command}"));
        assert_eq!((ran.status, ran.out.as_str()), (Some(3), ""), "{ran}");
        assert_eq!(as_it_lies(&path), before, "{file} was touched: {ran}");
        if !told.contains(&ran.err) {
            told.push(ran.err);
        }
    }
    told.concat()
}

#[test]
fn a_file_that_is_something_else_is_left_as_it_is() {
    let hut = Hut::new();
    hut.write("letter.txt", "Dear shepherd,\n");
    hut.write(
        "picture.png",
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x06\0\0\0\x1f\x15\xc4\x89",
    );
    let other = rusqlite::Connection::open(hut.path("flock.db")).unwrap();
    other.execute_batch("CREATE TABLE sheep (name TEXT); INSERT INTO sheep VALUES ('Flora')").unwrap();
    drop(other);
    let told: String = ["letter.txt", "picture.png", "flock.db"].map(|file| told_of(&hut, file)).concat();
    same("files_that_are_no_job", &told);
}

#[test]
fn a_folder_is_no_job() {
    let hut = Hut::new();
    fs::create_dir(hut.path("folder")).unwrap();
    let told = told_of(&hut, "folder");
    assert!(told.contains("[hut]/bench/folder"), "{told}");
    assert!(fs::read_dir(hut.path("folder")).unwrap().next().is_none());
}

#[test]
fn a_job_of_a_newer_version_is_not_touched() {
    let hut = Hut::new();
    hut.run("--job hut.job --at -1h reading 17").well();
    let connection = rusqlite::Connection::open(hut.path("hut.job")).unwrap();
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    drop(connection);
    same("a_job_of_a_newer_version", &told_of(&hut, "hut.job"));
    let connection = rusqlite::Connection::open(hut.path("hut.job")).unwrap();
    connection.pragma_update(None, "user_version", version).unwrap();
    drop(connection);
    assert!(hut.run("--job hut.job record").well().out.contains("shop: 17.0 °C"));
}

#[test]
fn a_job_that_is_cut_short_is_called_damaged() {
    let hut = Hut::new();
    hut.run("--job hut.job --at -1h reading 17").well();
    let whole = fs::read(hut.path("hut.job")).unwrap();
    hut.write("hut.job", &whole[..whole.len() / 2]);
    assert!(told_of(&hut, "hut.job").contains("is damaged"));
}

#[test]
fn a_path_that_leads_nowhere_is_reported() {
    let hut = Hut::new();
    hut.write("letter.txt", "Dear shepherd,\n");
    let told = hut.run("--job letter.txt/hut.job --at -1h reading 17");
    assert_eq!((told.status, told.out.as_str()), (Some(3), ""), "{told}");
    assert!(told.err.contains("letter.txt/hut.job cannot be opened (Not a directory"), "{told}");
}

#[test]
fn a_job_is_made_with_its_first_entry_private_to_its_owner() {
    use std::os::unix::fs::PermissionsExt;
    let hut = Hut::new();
    hut.run("status").well();
    hut.run("record").well();
    hut.run("watch --once --no-desktop").well();
    assert!(!hut.job().exists(), "looking has made a job");
    hut.run("--at -1h reading 17").well();
    let rights = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(rights(&hut.job()), 0o600);
    assert_eq!(rights(hut.job().parent().unwrap()), 0o700);
}
