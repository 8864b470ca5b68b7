//! How a typed text is edited. The place of the cursor is kept as the number of characters after it.

use crate::engine::units::clean;

/// What a key does to a typed text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edit {
    /// The cursor moves one character back.
    Left,
    /// One character on.
    Right,
    /// To the beginning.
    Home,
    /// To the end.
    End,
    /// The character after the cursor goes.
    Delete,
    /// All after the cursor goes.
    CutRight,
    /// All before the cursor goes.
    CutLeft,
    /// The word before the cursor goes.
    CutWord,
}

/// No answer is longer: a paste that went astray does no harm.
pub(super) const LONGEST: usize = 120;

/// The byte at which the cursor is.
pub(super) fn cursor(text: &str, after: usize) -> usize {
    let before = text.chars().count().saturating_sub(after);
    text.char_indices().nth(before).map_or(text.len(), |(at, _)| at)
}

/// Puts a letter in, where it can be shown and there is room for it.
pub(super) fn insert(text: &mut String, after: usize, letter: char) {
    if text.chars().count() < LONGEST && !clean(letter.encode_utf8(&mut [0; 4])).is_empty() {
        text.insert(cursor(text, after), letter);
    }
}

/// The character before the cursor goes; false where there is none.
pub(super) fn erase(text: &mut String, after: usize) -> bool {
    let at = cursor(text, after);
    let before = text[..at].char_indices().next_back().map(|(at, _)| at);
    before.map(|before| text.remove(before)).is_some()
}

/// Edits a text; true where that changed it.
pub(super) fn edit(text: &mut String, after: &mut usize, edit: Edit) -> bool {
    let (count, long) = (text.chars().count(), text.len());
    let at = cursor(text, *after);
    match edit {
        Edit::Left => *after = (*after + 1).min(count),
        Edit::Right => *after = after.saturating_sub(1),
        Edit::Home => *after = count,
        Edit::End => *after = 0,
        Edit::Delete if at < text.len() => {
            text.remove(at);
            *after -= 1;
        }
        Edit::Delete => {}
        Edit::CutRight => {
            text.truncate(at);
            *after = 0;
        }
        Edit::CutLeft => drop(text.drain(..at)),
        Edit::CutWord => {
            let word = text[..at].trim_end();
            let from = word.rfind(char::is_whitespace).map_or(0, |space| space + 1);
            text.drain(from..at);
        }
    }
    text.len() != long
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(text: &str, after: usize, keys: Edit) -> (String, usize) {
        let (mut text, mut after) = (text.to_owned(), after);
        edit(&mut text, &mut after, keys);
        (text, after)
    }

    #[test]
    fn a_text_is_edited_in_its_middle() {
        assert_eq!(after("größe", 3, Edit::Left), ("größe".into(), 4));
        assert_eq!(after("größe", 5, Edit::Left), ("größe".into(), 5));
        assert_eq!(after("größe", 0, Edit::Right), ("größe".into(), 0));
        assert_eq!(after("größe", 3, Edit::Delete), ("grße".into(), 2));
        assert_eq!(after("größe", 0, Edit::Delete), ("größe".into(), 0));
        assert_eq!(after("größe", 3, Edit::CutRight), ("gr".into(), 0));
        assert_eq!(after("größe", 3, Edit::CutLeft), ("öße".into(), 3));
        assert_eq!(after("thin at the eaves ", 0, Edit::CutWord), ("thin at the ".into(), 0));
        assert_eq!(after("", 0, Edit::CutWord), (String::new(), 0));
        let mut text = "rof".to_owned();
        insert(&mut text, 1, 'o');
        assert_eq!(text, "roof");
        assert!(erase(&mut text, 1) && text == "rof");
        assert!(!erase(&mut text, 3), "nothing is before the cursor");
    }
}
