//! Every command of the README and of the guide works, in the order of the pages.

use std::fs;
use std::iter;
use std::path::Path;
use std::process::Command;

const README: &str = include_str!("../../README.md");

/// The README, then the pages of the guide in the order in which it links them.
fn pages() -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let links = README.split("](docs/guide/").skip(1).filter_map(|rest| rest.split(')').next());
    let guide = links.map(|page| fs::read_to_string(root.join("docs/guide").join(page)).unwrap());
    iter::once(README.to_owned()).chain(guide).collect()
}

/// The lines of the shell blocks, without what follows a `#`.
fn commands(text: &str) -> Vec<&str> {
    let blocks = text.split("```sh\n").skip(1).filter_map(|rest| rest.split("```").next());
    let lines = blocks.flat_map(str::lines);
    lines.map(|line| line.split(" #").next().unwrap_or(line).trim()).filter(|line| !line.is_empty()).collect()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for file in fs::read_dir(from).unwrap().map(Result::unwrap) {
        fs::copy(file.path(), to.join(file.file_name())).unwrap();
    }
}

#[test]
fn every_command_of_the_readme_and_the_guide_works() {
    let home = tempfile::tempdir().unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    copy(&root.join("demo"), &home.path().join("demo"));
    let mut ran = 0;
    let pages = pages();
    for line in commands(&pages).into_iter().filter(|line| line.starts_with("curewright")) {
        let output = Command::new("sh")
            .args(["-c", &line.replacen("curewright", env!("CARGO_BIN_EXE_curewright"), 1)])
            .current_dir(home.path())
            .env_clear()
            .envs([("HOME", home.path()), ("PATH", Path::new("/usr/bin:/bin"))])
            .output()
            .unwrap();
        let errors = String::from_utf8_lossy(&output.stderr);
        // No desktop is there to be told; all else is quiet.
        let unexpected = errors.lines().any(|line| !line.contains("desktop"));
        // A check that says no has answered.
        let answered = output.status.success() || line.contains(" check ") && output.status.code() == Some(1);
        assert!(answered && !unexpected, "{line}: {}\n{errors}", output.status);
        ran += 1;
    }
    assert!(ran >= 40, "only {ran} commands were found");
}

#[test]
fn every_page_of_the_guide_is_linked_from_the_readme() {
    for page in
        fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/guide")).unwrap().map(Result::unwrap)
    {
        let name = page.file_name().into_string().unwrap();
        assert!(README.contains(&format!("](docs/guide/{name})")), "{name}");
    }
}

#[test]
fn the_two_commands_at_the_top_are_the_ones_that_ci_runs() {
    let ci = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(".ci/run")).unwrap();
    let cargo: Vec<&str> = commands(README).into_iter().filter(|line| line.starts_with("cargo")).collect();
    assert_eq!(cargo, ["cargo run --release -- demo", "cargo test"]);
    for command in cargo {
        assert!(ci.lines().any(|line| line.trim() == command), "{command} is not in .ci/run");
    }
}
