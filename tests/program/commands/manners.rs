//! How the program behaves among other programs: standard input, quiet, colours, its settings, its completions.

use std::io::Write;
use std::process::Stdio;

use crate::common::{Hut, Ran};

/// Runs a line with a text on its standard input.
fn fed(hut: &Hut, words: &[&str], text: &str) -> Ran {
    let mut command = hut.command();
    command.args(words).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    hut.ran(&words.join(" "), &child.wait_with_output().unwrap())
}

const LOG: &str = "time,temperature\n2026-05-01T08:00:00Z,18\n2026-05-01T09:00:00Z,19\n";

#[test]
fn a_dash_is_standard_input_wherever_a_file_is_read() {
    let hut = Hut::new().with_varnish();
    let told = fed(&hut, &["import", "-"], LOG).well();
    assert!(told.out.starts_with("2 readings imported from standard input."), "{told}");
    let wrong = fed(&hut, &["import", "-"], "nothing that is a table\n");
    assert!(wrong.status == Some(2) && wrong.err.contains("standard input"), "{wrong}");
    let scheme = "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsteps = [{ coat = \"hut-varnish\" }]\n";
    fed(&hut, &["scheme", "-"], scheme).well();
    assert!(hut.run("scheme").well().out.contains("roof: hut-varnish"));
    let forecast = "time,temperature,humidity\n2026-05-01T12:00:00Z,12,70\n2026-05-01T13:00:00Z,13,70\n";
    fed(&hut, &["--at", "2026-05-01 10:00", "forecast", "-"], forecast).well();
    let profile = crate::common::VARNISH;
    assert!(
        fed(&hut, &["profile", "check", "-"], profile)
            .well()
            .out
            .starts_with("standard input is a valid profile")
    );
    let whole = hut.run("record --export -").well().out;
    fed(&hut, &["--job", "other.db", "record", "--import", "-"], &whole).well();
    assert_eq!(hut.run("--job other.db record --json").json(), hut.record());
}

#[test]
fn quiet_leaves_out_what_confirms_and_keeps_what_warns() {
    let hut = Hut::new().with_varnish();
    assert_eq!(hut.at("2026-05-01 08:00", "--quiet reading 18").well().out, "");
    let coat = hut.at("2026-05-01 09:00", "coat roof hut-varnish --done -q").well();
    assert!(coat.out.lines().all(|line| line.starts_with("! ")), "{coat}");
    let caution = hut.at("2026-05-01 09:10", "reading 18 --place attic --quiet").well();
    assert!(caution.out.starts_with("! There is no area at \"attic\""), "{caution}");
    assert!(hut.refused(2, "--quiet reading warm").err.contains("warm"));
    assert!(
        !hut.at("2026-05-01 09:30", "status --quiet").well().out.is_empty(),
        "an answer is no confirmation"
    );
}

#[test]
fn a_job_that_is_not_there_is_said_where_one_only_reads() {
    let hut = Hut::new();
    for line in
        ["status", "record", "alerts", "report", "learned", "plan", "free", "check roof", "scheme", "stock"]
    {
        let told = hut.run(&format!("--job hutt.db {line}"));
        assert_eq!((told.status, told.out.as_str()), (Some(1), ""), "{told}");
        assert!(told.err.contains("there is no job at hutt.db; check the path"), "{told}");
    }
    assert!(!hut.path("hutt.db").exists());
    hut.run("--job hutt.db reading 18").well();
    hut.run("--job hutt.db status").well();
    // Nobody has to name a job to ask what is there.
    Hut::new().run("status").well();
}

#[test]
fn a_report_that_would_be_a_document_of_another_program_is_refused_with_the_way() {
    let hut = Hut::new();
    let told = hut.refused(2, "report hut.pdf");
    assert_eq!(
        told.err,
        "curewright: a report is not written as .pdf: write hut.html, and open it in a browser and print it to a file\n"
    );
    assert!(
        hut.refused(2, "report hut.DOCX").err.contains("write hut.html, and open it in a word processor")
    );
    assert!(hut.refused(2, "report hut.xlsx").err.contains(".csv"));
    assert!(hut.refused(2, "demo --report hut.pdf").err.contains("hut.html"));
    assert!(!hut.path("hut.pdf").exists());
}

#[test]
fn settings_are_begun_and_edited() {
    let hut = Hut::new();
    let told = hut.run("config --init").well();
    assert_eq!(told.out, "Wrote [hut]/config/curewright/config.toml.\n");
    assert!(hut.run("config").well().out.contains("#: repeat = \"10 min\""));
    let again = hut.run("config --init");
    assert!(again.status == Some(2) && again.err.contains("exists and stays as it is"), "{again}");
    assert!(hut.run("config --edit").err.contains("set VISUAL or EDITOR"));
    let edited = |script: &str| {
        hut.write("editor", script);
        let mut command = hut.command();
        command.args(["config", "--edit"]).env("EDITOR", "/bin/sh editor");
        hut.ran(script, &command.output().unwrap())
    };
    let good = edited("echo 'clock = \"12h\"' > \"$1\"").well();
    assert_eq!(good.out, "[hut]/config/curewright/config.toml is valid.\n");
    // With a fault in it, it can still be edited.
    for _ in 0..2 {
        let bad = edited("echo 'clock = \"13h\"' > \"$1\"");
        assert!(bad.status == Some(2) && bad.err.contains("config.toml: line 1"), "{bad}");
    }
    edited("echo > \"$1\"").well();
    let failed = edited("exit 3");
    assert!(failed.status == Some(2) && failed.err.contains("failed"), "{failed}");
}

#[test]
fn an_alert_is_put_off_by_its_number() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat roof hut-varnish --done").well();
    hut.at("2026-05-01 10:01", "watch --once --no-desktop").well();
    let told = hut.at("2026-05-01 10:02", "alerts --later 1").well();
    assert_eq!(told.out, "Alert 1 comes again at 10:17.\n");
    assert!(hut.at("2026-05-01 10:05", "alerts").well().out.contains("(Put off until 10:17.)"));
    assert_eq!(hut.at("2026-05-01 10:10", "watch --once --no-desktop").well().out, "");
    let again = hut.at("2026-05-01 10:18", "watch --once --no-desktop").well();
    assert!(again.out.contains("roof"), "{again}");
    hut.at("2026-05-01 10:20", "alerts --ack 1").well();
    assert_eq!(
        hut.at("2026-05-01 10:20", "alerts --later 1").well().out,
        "Alert 1 was already marked as seen.\n"
    );
    assert!(hut.refused(2, "alerts --later 99").err.contains("there is no alert 99"));
}

#[test]
fn what_a_shell_asks_for_is_printed_and_nothing_is_made() {
    let hut = Hut::new().with_varnish();
    let offered = |words: &[&str]| {
        let mut all = vec!["complete", "--"];
        all.extend(words);
        // A tab stands before what a word is.
        String::from_utf8(hut.command().args(all).output().unwrap().stdout).unwrap()
    };
    assert_eq!(offered(&["coat", ""]), "");
    assert!(!hut.job().exists());
    hut.at("2026-05-01 08:00", "coat roof hut-varnish --done").well();
    hut.at("2026-05-01 08:30", "coat \"door, outside\" hut-varnish --done").well();
    let text = |offered: String| -> Vec<String> {
        offered.lines().map(|line| line.split('\t').next().unwrap().to_owned()).collect()
    };
    assert_eq!(text(offered(&["coat", ""])), ["roof", "door, outside"]);
    assert_eq!(text(offered(&["done", "\"door"])), ["door, outside"]);
    assert_eq!(text(offered(&["undo", ""])), ["2", "1"]);
    assert_eq!(text(offered(&["check", "roof", "hut-"])), ["hut-varnish"]);
    assert_eq!(offered(&["--job", "none.db", "coat", ""]), "");
    assert!(offered(&["undo", "1"]).contains("\t"), "with what it is");
}

#[test]
fn every_manual_page_has_all_its_sections() {
    let hut = Hut::new();
    hut.run("man --all pages").well();
    let pages: Vec<_> = std::fs::read_dir(hut.path("pages")).unwrap().map(Result::unwrap).collect();
    assert!(pages.len() > 30);
    for page in pages {
        let text = std::fs::read_to_string(page.path()).unwrap();
        for section in ["NAME", "\"EXIT STATUS\"", "FILES", "ENVIRONMENT", "EXAMPLES"] {
            assert_eq!(
                text.matches(&format!(".SH {section}\n")).count(),
                1,
                "{:?}: {section}",
                page.file_name()
            );
        }
    }
}
