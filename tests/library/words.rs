//! The words of DEVELOPERS.md: what people read is in plain technical English.

use std::fs;
use std::path::{Path, PathBuf};

const GUIDE: &str = include_str!("../../DEVELOPERS.md");

/// Files and folders that people read, or that hold what they read.
const READ: [&str; 6] = ["README.md", "docs/guide", "src/app/view", "src/app/wording", "src/cli", "src/tui"];

/// A key of the JSON of `learned`: a contract, and older than the table.
const KEY: &str = "\"foreseen\":";

/// The wrong words: those in code format in the column "not".
fn wrong_words() -> Vec<&'static str> {
    let table =
        GUIDE.split("## Words").nth(1).unwrap().split("\n\n").find(|part| part.contains("| say | not |"));
    let not = table.unwrap().lines().filter_map(|line| line.split('|').nth(2));
    not.flat_map(|cell| cell.split('`').skip(1).step_by(2)).collect()
}

fn files(path: &Path, found: &mut Vec<PathBuf>) {
    if path.is_dir() {
        fs::read_dir(path).unwrap().for_each(|entry| files(&entry.unwrap().path(), found));
    } else if path.extension().is_some_and(|extension| extension == "rs" || extension == "md") {
        found.push(path.to_owned());
    }
}

/// Whether a line has the word, with any ending.
fn has(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| !line[..at].ends_with(|c: char| c.is_alphanumeric()))
}

#[test]
fn a_word_is_found_with_any_ending_but_not_inside_another() {
    assert!(has("the errors stray", "stray") && has("it strays", "stray"));
    assert!(!has("an astray paste", "stray") && !has("straight", "stray"));
}

#[test]
fn people_read_plain_words_only() {
    let wrong = wrong_words();
    assert!(wrong.contains(&"reckon") && wrong.contains(&"so many"), "the table has changed: {wrong:?}");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    READ.iter().for_each(|path| files(&root.join(path), &mut found));
    let mut faults = Vec::new();
    for file in &found {
        for (number, line) in fs::read_to_string(file).unwrap().lines().enumerate() {
            let text = line.replace(KEY, "").to_lowercase();
            for word in wrong.iter().filter(|word| has(&text, word)) {
                faults.push(format!("{}:{}: {word}", file.strip_prefix(root).unwrap().display(), number + 1));
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new(), "say it with the words of DEVELOPERS.md");
}
