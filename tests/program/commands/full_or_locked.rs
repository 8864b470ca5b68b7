//! A disk that is full or read-only, and a job that another program holds: said so, and nothing is lost.

use std::process::{Command, Output};

use crate::common::{Hut, Ran};

/// What runs a script where it may mount: in a mount table of its own. None where this system lets nobody.
fn where_mounting_is_allowed() -> Option<&'static [&'static str]> {
    const WAYS: [&[&str]; 2] = [&["--mount"], &["--user", "--map-root-user", "--mount"]];
    WAYS.into_iter().find(|way| {
        let probe = ["sh", "-c", "mount -t tmpfs -o size=64k none /mnt"];
        Command::new("unshare").args(*way).args(probe).output().is_ok_and(|output| output.status.success())
    })
}

/// Runs a script in a mount table of its own, with the program as its first argument.
fn in_own_mounts(hut: &Hut, way: &[&str], script: &str) -> Output {
    let mut command = hut.any_command("unshare");
    command.args(way).args(["sh", "-euc", script, "sh", env!("CARGO_BIN_EXE_curewright")]);
    command.env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin").output().unwrap()
}

fn entries(ran: &Ran) -> usize {
    ran.clone().well().out.lines().count()
}

#[test]
fn a_full_disk_is_reported_and_the_record_stays() {
    let hut = Hut::new();
    hut.at("2026-05-01 10:00", "reading 15 --job hut.job").well();
    // Elsewhere the next test stands in for it.
    let Some(way) = where_mounting_is_allowed() else { return };
    let script = r#"
        mkdir disk
        mount -t tmpfs -o size=1m none disk
        cp hut.job disk/
        dd if=/dev/zero of=disk/ballast bs=1k 2>/dev/null || true
        "$1" --job disk/hut.job --at "2026-05-01 11:00" reading 16 && exit 99 || echo "status $?"
        "$1" --job disk/new.job --at "2026-05-01 11:00" reading 16 && exit 99 || echo "status $?"
        "$1" --job disk/hut.job record
        rm disk/ballast
        "$1" --job disk/hut.job --at "2026-05-01 11:00" reading 16
        "$1" --job disk/hut.job record
    "#;
    let ran = hut.ran("…", &in_own_mounts(&hut, way, script));
    insta::assert_snapshot!(ran, @r"
    $ …
    status 3
    status 3
        1  2026-05-01 10:00  shop: 15.0 °C
    Shop: 16.0 °C.
        1  2026-05-01 10:00  shop: 15.0 °C
        2  2026-05-01 11:00  shop: 16.0 °C
    2> curewright: the disk that holds [hut]/bench/disk/hut.job is full, and nothing is written; free some space and try again
    2> curewright: the disk that holds [hut]/bench/disk/new.job is full, and nothing is written; free some space and try again
    ");
}

#[test]
fn a_file_that_may_not_grow() {
    let hut = Hut::new();
    hut.at("2026-05-01 10:00", "reading 15").well();
    let before = hut.record();
    let limited = |line: &str| {
        let mut command = hut.any_command("sh");
        command.args([
            "-c",
            "trap '' XFSZ; ulimit -f 0; exec \"$@\"",
            "sh",
            env!("CARGO_BIN_EXE_curewright"),
        ]);
        hut.ran(line, &command.args(crate::common::words(line)).output().unwrap())
    };
    let ran = limited(r#"--at "2026-05-01 11:00" reading 16"#);
    assert_eq!((ran.status, ran.out.as_str()), (Some(3), ""), "{ran}");
    assert!(ran.err.contains("job.db"), "{ran}");
    assert_eq!(hut.record(), before);
    assert_eq!(entries(&limited("record")), 1);
    hut.at("2026-05-01 11:00", "reading 16").well();
    assert_eq!(entries(&hut.run("record")), 2);
}

#[test]
fn a_read_only_disk_is_reported_and_the_job_on_it_can_still_be_read() {
    let hut = Hut::new();
    hut.at("2026-05-01 10:00", "reading 15 --job disk/hut.job").well();
    let Some(way) = where_mounting_is_allowed() else { return in_a_folder_without_rights(&hut) };
    let script = r#"
        mount --bind disk disk
        mount -o remount,bind,ro disk
        "$1" --job disk/hut.job --at "2026-05-01 11:00" reading 16 && exit 99 || echo "status $?"
        "$1" --job disk/new.job --at "2026-05-01 11:00" reading 16 && exit 99 || echo "status $?"
        "$1" --job disk/hut.job record
        "$1" --job disk/hut.job --at "2026-05-01 10:05" status > status
    "#;
    let ran = hut.ran("…", &in_own_mounts(&hut, way, script));
    insta::assert_snapshot!(ran, @r"
    $ …
    status 3
    status 3
        1  2026-05-01 10:00  shop: 15.0 °C
    2> curewright: [hut]/bench/disk/hut.job cannot be written: the file, its folder or its disk is read-only; copy the job to a folder where you can write
    2> curewright: disk/new.job cannot be written: the file, its folder or its disk is read-only; copy the job to a folder where you can write
    ");
    let status = std::fs::read_to_string(hut.path("status")).unwrap();
    assert!(status.contains("shop: 15.0 °C, reading 5 min old"), "{status}");
    hut.at("2026-05-01 11:00", "reading 16 --job disk/hut.job").well();
}

/// Where nobody may mount, nobody is root, and the rights of a folder count.
fn in_a_folder_without_rights(hut: &Hut) {
    use std::os::unix::fs::PermissionsExt;
    let may = |mode| std::fs::set_permissions(hut.path("disk"), PermissionsExt::from_mode(mode)).unwrap();
    may(0o500);
    let ran = hut.at("2026-05-01 11:00", "reading 16 --job disk/new.job");
    let read = hut.run("record --job disk/hut.job");
    may(0o700);
    assert_eq!((ran.status, ran.out.as_str()), (Some(3), ""), "{ran}");
    assert!(ran.err.contains("read-only"), "{ran}");
    assert_eq!(entries(&read), 1);
}

#[test]
fn a_job_that_another_program_holds_is_read_but_not_written() {
    let hut = Hut::new();
    hut.at("2026-05-01 10:00", "reading 15").well();
    let other = rusqlite::Connection::open(hut.job()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let ran = hut.at("2026-05-01 11:00", "reading 16");
    assert_eq!((ran.status, ran.out.as_str()), (Some(3), ""), "{ran}");
    assert!(ran.err.contains("another program is still writing to"), "{ran}");
    assert_eq!(entries(&hut.run("record")), 1);
    other.execute_batch("ROLLBACK").unwrap();
    hut.at("2026-05-01 11:00", "reading 16").well();
}
