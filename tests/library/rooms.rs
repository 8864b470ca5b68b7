//! The order of the rooms: a room uses only rooms that stand above it in the table of DEVELOPERS.md.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

const GUIDE: &str = include_str!("../../DEVELOPERS.md");

/// The rooms in the order of the guide's table, as paths below `src`.
fn rooms() -> Vec<String> {
    let table =
        GUIDE.split("## The house").nth(1).unwrap().split("\n\n").find(|part| part.contains("| floor |"));
    let mut floor = String::new();
    let mut rooms = Vec::new();
    for line in table.unwrap().lines().skip_while(|line| !line.contains("`engine`")) {
        let cells: Vec<&str> = line.split('|').map(|cell| cell.trim().trim_matches('`')).collect();
        if !cells[1].is_empty() {
            floor = cells[1].to_owned();
        }
        rooms.push(if cells[2].is_empty() { floor.clone() } else { format!("{floor}/{}", cells[2]) });
    }
    rooms
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        if entry.path().is_dir() {
            sources(&entry.path(), found);
        } else if entry.path().extension().is_some_and(|extension| extension == "rs") {
            found.push(entry.path());
        }
    }
}

/// What stays of a file without its tests and comments.
fn code(text: &str) -> String {
    let without_tests = text.split("#[cfg(test)]\nmod tests").next().unwrap_or(text);
    let lines = without_tests.lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// Files that exist for tests only: `#[cfg(test)] mod name;` in their parent.
fn only_for_tests(files: &[PathBuf]) -> BTreeSet<PathBuf> {
    let mut found = BTreeSet::new();
    for file in files {
        let text = fs::read_to_string(file).unwrap();
        let folder = if file.ends_with("lib.rs") { file.with_file_name("") } else { file.with_extension("") };
        for (line, next) in text.lines().zip(text.lines().skip(1)) {
            let name = next.trim_start_matches("pub ").trim_start_matches("pub(crate) ").strip_prefix("mod ");
            if let (true, Some(name)) =
                (line.trim() == "#[cfg(test)]", name.and_then(|name| name.strip_suffix(';')))
            {
                found.insert(folder.join(name));
            }
        }
    }
    found
}

/// The rooms that a text uses: `crate::engine::units`, also in braces.
fn used(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for rest in text.split("crate::").skip(1) {
        let name =
            |text: &str| text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
        let floor = name(rest);
        match rest[floor.len()..].strip_prefix("::") {
            Some(inner) if inner.starts_with('{') => {
                let braces = inner[1..].split('}').next().unwrap_or_default();
                found.extend(braces.split(',').map(|part| format!("{floor}/{}", name(part.trim()))));
            }
            Some(inner) => _ = found.insert(format!("{floor}/{}", name(inner))),
            None => _ = found.insert(floor),
        }
    }
    found
}

#[test]
fn a_room_uses_only_rooms_above_it() {
    let rooms = rooms();
    let rank: BTreeMap<&str, usize> =
        rooms.iter().enumerate().map(|(at, room)| (room.as_str(), at)).collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    let testing = only_for_tests(&files);
    let room_of = |path: &str| {
        rooms.iter().find(|room| {
            path == *room || path.starts_with(&format!("{room}/")) || path == format!("{room}.rs")
        })
    };
    let mut faults = Vec::new();
    let mut seen = BTreeSet::new();
    for file in &files {
        if testing.iter().any(|module| file.with_extension("") == *module || file.starts_with(module)) {
            continue;
        }
        let path = file.strip_prefix(&root).unwrap().to_string_lossy().into_owned();
        let Some(room) = room_of(&path) else { continue };
        seen.insert(room.clone());
        for other in used(&code(&fs::read_to_string(file).unwrap())) {
            if let Some(other) = room_of(&other).filter(|other| rank[other.as_str()] > rank[room.as_str()]) {
                faults.push(format!("{path} uses {other}, which stands below {room}"));
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
    assert_eq!(seen.len(), rooms.len(), "the table names rooms that are not there: {rooms:?}, {seen:?}");
}

#[test]
fn every_folder_of_the_house_is_in_the_table() {
    let rooms: BTreeSet<String> = rooms().into_iter().collect();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut missing = Vec::new();
    for floor in ["engine", "io", "app"] {
        for entry in fs::read_dir(root.join(floor)).unwrap().map(Result::unwrap) {
            let name = format!("{floor}/{}", entry.path().file_stem().unwrap().to_string_lossy());
            if !rooms.contains(&name) {
                missing.push(name);
            }
        }
    }
    assert_eq!(missing, Vec::<String>::new(), "add a row to the table of DEVELOPERS.md");
}
