//! The reader of the output may close it early.

use crate::common::{Hut, words};

#[test]
fn output_that_is_not_read_to_its_end_is_not_an_error() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let sheet = hut.write("sheet.toml", crate::common::VARNISH);
    let check = format!("profile check {}", sheet.display());
    for line in [
        "status",
        "status --json",
        "record",
        "record --json",
        "alerts",
        "config",
        "scheme",
        "demo",
        "demo --json",
        "profile list",
        "profile list --json",
        "profile show epoxy-sealer",
        "profile new",
        &check,
        "man",
        "completions bash",
        "--help",
        "--version",
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = hut.command().args(words(line)).stdout(writer).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), said.as_str()), (Some(0), ""), "{line}");
    }
}

#[test]
fn an_entry_is_recorded_even_if_the_output_is_closed() {
    let hut = Hut::new();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let mut command = hut.command();
    command.args(["--at", "2026-05-01 08:00", "reading", "20"]).stdout(writer);
    assert_eq!(command.output().unwrap().status.code(), Some(0));
    assert_eq!(hut.record()[0]["entry"]["air"], 20.0);
}

#[test]
fn an_answer_that_cannot_be_written_is_status_3() {
    let Ok(full) = std::fs::File::create("/dev/full") else { return };
    let hut = Hut::new();
    for line in ["status", "profile list", "man", "completions bash", "demo"] {
        let full = full.try_clone().unwrap();
        let ran = hut.ran(line, &hut.command().args(words(line)).stdout(full).output().unwrap());
        assert_eq!(ran.status, Some(3), "{ran}");
        assert!(ran.err.starts_with("curewright: cannot write the answer: No space left"), "{ran}");
    }
}
