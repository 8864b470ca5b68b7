//! What packagers need: help, the manual page and completions name every command.

use std::process::Command;

use crate::common::{Hut, same};

/// The commands, as the help lists them.
fn commands(hut: &Hut) -> Vec<String> {
    let help = hut.run("--help").well().out;
    let listed = help.split("Commands:").nth(1).unwrap().split("Options:").next().unwrap();
    let named = |line: &str| {
        let indent = line.len() - line.trim_start().len();
        (indent == 2).then(|| line.split_whitespace().next().map(str::to_owned)).flatten()
    };
    listed.lines().filter_map(named).filter(|name| name != "help").collect()
}

#[test]
fn the_help_lists_every_command_and_option() {
    let hut = Hut::new();
    same("help", &hut.run("--help").well().out);
    let named = commands(&hut);
    for name in ["demo", "coat", "done", "step", "reading", "import", "status", "watch", "alerts", "undo"] {
        assert!(named.iter().any(|known| known == name), "{name}");
    }
    for name in named {
        let help = hut.run(&format!("{name} --help")).well().out;
        assert!(help.contains(&format!("Usage: curewright {name}")), "{help}");
    }
}

#[test]
fn the_version_is_that_of_the_package() {
    let version = Hut::new().run("--version").well().out;
    assert_eq!(version, concat!("curewright ", env!("CARGO_PKG_VERSION"), "\n"));
}

#[test]
fn the_manual_page_has_a_chapter_for_every_command() {
    let hut = Hut::new();
    let man = hut.run("man").well().out;
    let chapters: Vec<&str> = man.lines().filter_map(|line| line.strip_prefix(".SH ")).collect();
    for name in commands(&hut) {
        let chapter = format!("\"curewright {name}\"");
        assert_eq!(chapters.iter().filter(|known| **known == chapter).count(), 1, "{name}");
    }
    same("chapters_of_the_manual", &chapters.join("\n"));
}

#[test]
fn the_completions_of_every_shell_name_every_command_and_its_options() {
    let hut = Hut::new();
    for shell in ["bash", "zsh", "fish"] {
        let script = hut.command().args(["completions", shell]).output().unwrap();
        assert!(script.status.success() && script.stderr.is_empty());
        let script = String::from_utf8(script.stdout).unwrap();
        for name in commands(&hut) {
            let offered = match shell {
                "bash" => script.contains(&format!("curewright,{name})")),
                "zsh" => script.contains(&format!("'{name}:")),
                _ => script.contains(&format!("-a \"{name}\"")),
            };
            assert!(offered, "{shell}: {name}");
        }
        let option = if shell == "fish" { "-l no-desktop" } else { "--no-desktop" };
        assert!(script.contains(option), "{shell}");
    }
}

#[test]
fn bash_completes_a_partial_word() {
    let hut = Hut::new();
    let script = hut.command().args(["completions", "bash"]).output().unwrap().stdout;
    hut.write("completions", script);
    let complete = |typed: &str| {
        let words = format!("curewright {typed}");
        let ask = r#"
            source completions
            COMP_WORDS=($1)
            [ "${1: -1}" = " " ] && COMP_WORDS+=("")
            COMP_CWORD=$((${#COMP_WORDS[@]} - 1))
            _curewright_own curewright "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD-1]}"
            printf '%s\n' "${COMPREPLY[@]}"
        "#;
        let mut bash = hut.any_command("bash");
        bash.args(["--norc", "-c", ask, "bash", &words]).env("PATH", "/usr/bin:/bin");
        hut.ran(typed, &bash.output().unwrap()).well().out
    };
    assert_eq!(complete("st"), "step\nstatus\nstock\n");
    assert_eq!(complete("step roof t"), "tape-on\ntape-off\n");
    assert_eq!(complete("watch --no"), "--no-desktop\n");
    let first = complete(" ");
    for name in commands(&hut) {
        assert!(first.lines().any(|offered| offered == name), "{name}: {first}");
    }
}

#[test]
fn the_manual_page_is_one_that_a_formatter_takes() {
    let hut = Hut::new();
    let page = hut.write("curewright.1", hut.command().arg("man").output().unwrap().stdout);
    // Not on every machine; where it is, it must have nothing to complain of.
    let Ok(checked) = Command::new("groff").args(["-man", "-Tutf8", "-ww", "-z"]).arg(page).output() else {
        return;
    };
    assert_eq!((checked.status.code(), String::from_utf8_lossy(&checked.stderr).as_ref()), (Some(0), ""));
}
