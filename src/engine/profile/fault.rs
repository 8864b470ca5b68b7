//! A fault in a profile: where it stands, what is wrong and what would be right.
//!
//! This file knows texts and places in them, but not what a profile means.

use std::cell::RefCell;
use std::fmt::{self, Write as _};
use std::ops::Range;
use std::path::Path;

use unicode_width::UnicodeWidthStr;

use crate::engine::units::clean;

/// How much of a long line an excerpt shows, in columns.
const EXCERPT: usize = 90;

/// One thing that is wrong in a profile, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The file, as it is shown.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub what: String,
    /// What would be right.
    pub mend: String,
    /// How many characters of the line it covers; at least 1.
    width: usize,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}; {}", self.file, self.line, self.column, self.what, self.mend)
    }
}

impl Fault {
    /// A fault of a file as a whole, at its beginning.
    pub fn of_file(file: &Path, what: String, mend: String) -> Self {
        let file = clean(&file.to_string_lossy());
        Self { file, line: 1, column: 1, what, mend, width: 1 }
    }

    /// The line of the text that the fault is in, with carets below the place. Two lines, or nothing
    /// where the text has no such line.
    pub fn excerpt(&self, text: &str) -> String {
        let Some(line) = without_mark(text).split('\n').nth(self.line - 1) else {
            return String::new();
        };
        let at = self.column - 1;
        let part = |from: usize, count: usize| -> String {
            clean(&line.chars().skip(from).take(count).collect::<String>())
        };
        let skipped = at.saturating_sub(EXCERPT / 2);
        let skipped = if line.chars().count() > EXCERPT { skipped } else { 0 };
        let ellipsis = if skipped > 0 { "…" } else { "" };
        let shown = part(skipped, EXCERPT);
        let margin = self.line.to_string();
        let before = ellipsis.width() + part(skipped, at - skipped).width();
        let room = (ellipsis.width() + shown.trim_end().width()).saturating_sub(before).max(1);
        let under = part(at, self.width).width().clamp(1, room);
        let line = format!("  {margin} | {ellipsis}{}", shown.trim_end());
        let carets = format!("  {:len$} | {:before$}{}", "", "", "^".repeat(under), len = margin.len());
        format!("{}\n{carets}\n", line.trim_end())
    }
}

/// The report of the faults of one file: each with its excerpt, then how many there are.
pub fn fault_report(faults: &[Fault], text: &str) -> String {
    counted_report(faults, text, ("fault", "faults"))
}

/// The same for what may be meant so, but seldom is.
pub fn warning_report(warnings: &[Fault], text: &str) -> String {
    counted_report(warnings, text, ("warning", "warnings"))
}

fn counted_report(faults: &[Fault], text: &str, (one, many): (&str, &str)) -> String {
    let mut report = String::new();
    for fault in faults {
        // Writing to a String cannot fail.
        let _ = write!(report, "{fault}\n{}\n", fault.excerpt(text));
    }
    if let Some(first) = faults.first() {
        let count = faults.len();
        let noun = if count == 1 { one } else { many };
        let _ = writeln!(report, "{count} {noun} in {}.", first.file);
    }
    report
}

/// The text of a file, or the place where it stops being text.
///
/// # Errors
/// A [`Fault`] at the first byte that is not UTF-8.
pub fn text_of(bytes: Vec<u8>, file: &Path) -> Result<String, Fault> {
    String::from_utf8(bytes).map_err(|error| {
        let sound = error.utf8_error().valid_up_to();
        let start = String::from_utf8_lossy(&error.as_bytes()[..sound]).into_owned();
        let faults = Faults::new(clean(&file.to_string_lossy()), &start);
        faults.make(&(sound..sound), "this byte is not UTF-8 text".into(), "save the file as UTF-8".into())
    })
}

/// The text after a byte order mark, where there is one.
pub(super) fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// A piece of a file as a sentence can hold it: without control characters and not too long.
pub(super) fn shown(text: &str) -> String {
    let text = clean(text);
    match text.char_indices().nth(40) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text,
    }
}

/// The faults of one file, as they are found.
pub(super) struct Faults<'t> {
    file: String,
    text: &'t str,
    line_starts: Vec<usize>,
    found: RefCell<Vec<Fault>>,
}

impl<'t> Faults<'t> {
    /// None found yet.
    pub(super) fn new(file: String, text: &'t str) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n');
        let line_starts = std::iter::once(0).chain(ends.map(|(at, _)| at + 1)).collect();
        Self { file, text, line_starts, found: RefCell::default() }
    }

    /// One more, at a range of bytes.
    pub(super) fn add(&self, span: &Range<usize>, what: impl Into<String>, mend: impl Into<String>) {
        let fault = self.make(span, what.into(), mend.into());
        self.found.borrow_mut().push(fault);
    }

    /// The line of a byte, from 1.
    pub(super) fn line_of(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|start| *start <= byte)
    }

    /// Everything found, in the order of the file.
    pub(super) fn into_sorted(self) -> Vec<Fault> {
        let mut found = self.found.into_inner();
        found.sort_by_key(|fault| (fault.line, fault.column));
        found
    }

    fn make(&self, span: &Range<usize>, what: String, mend: String) -> Fault {
        let line = self.line_of(span.start);
        let start = self.line_starts[line - 1];
        let line_end = self.line_starts.get(line).map_or(self.text.len(), |next| next - 1);
        let characters = |range: Range<usize>| self.text.get(range).map_or(0, |part| part.chars().count());
        let width = characters(span.start..span.end.min(line_end)).max(1);
        Fault { file: self.file.clone(), line, column: characters(start..span.start) + 1, what, mend, width }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str, span: Range<usize>) -> Fault {
        let faults = Faults::new("a.toml".into(), text);
        faults.add(&span, "wrong", "right");
        faults.into_sorted().remove(0)
    }

    #[test]
    fn a_fault_names_file_line_and_column_in_characters() {
        let text = "a = 1\nname = \"Öl\" # x\n";
        let at = text.find('#').unwrap();
        let fault = one(text, at..at + 1);
        assert_eq!(fault.to_string(), "a.toml:2:13: wrong; right");
        assert_eq!(fault.excerpt(text), "  2 | name = \"Öl\" # x\n    |             ^\n");
    }

    #[test]
    fn the_carets_stay_within_the_line() {
        let text = "times = [\n  1,\n]\n";
        let fault = one(text, 8..text.len() - 1);
        assert_eq!(fault.excerpt(text), "  1 | times = [\n    |         ^\n");
    }

    #[test]
    fn the_end_of_a_text_is_a_place_too() {
        let fault = one("a =", 3..3);
        assert_eq!((fault.line, fault.column), (1, 4));
        assert_eq!(fault.excerpt("a ="), "  1 | a =\n    |    ^\n");
        assert_eq!(one("", 0..0).excerpt(""), "  1 |\n    | ^\n");
    }

    #[test]
    fn a_long_line_is_cut_around_the_fault() {
        let text = format!("{}wrong{}", "x".repeat(300), "y".repeat(300));
        let excerpt = one(&text, 300..305).excerpt(&text);
        assert!(excerpt.lines().all(|line| line.width() < 100), "{excerpt}");
        let lines: Vec<&str> = excerpt.lines().collect();
        let caret = lines[1].chars().position(|c| c == '^').unwrap();
        assert_eq!(lines[0].chars().skip(caret).take(5).collect::<String>(), "wrong");
    }

    #[test]
    fn an_excerpt_never_drives_the_terminal() {
        let text = "a\tb \u{1b}[2J = 1\r\n";
        let excerpt = one(text, 2..3).excerpt(text);
        assert_eq!(excerpt, "  1 | a b [2J = 1\n    |   ^\n");
    }

    #[test]
    fn bytes_that_are_no_text_are_a_fault_at_their_place() {
        let fault = text_of(b"a = 1\nb = \xff\n".to_vec(), Path::new("x.toml")).unwrap_err();
        assert_eq!((fault.line, fault.column), (2, 5));
        assert!(text_of(b"a = 1".to_vec(), Path::new("x.toml")).is_ok());
    }
}
