//! Filtered standard output and error: no control characters reach the terminal.

use std::io::{self, Write};

use crate::engine::units::drives_a_terminal;

/// A writer that drops control characters. Line ends and tabs pass.
pub struct Shown<W> {
    out: W,
    /// The start of an incomplete character.
    begun: Vec<u8>,
}

impl<W: Write> Shown<W> {
    pub const fn new(out: W) -> Self {
        Self { out, begun: Vec::new() }
    }

    fn show(&mut self, bytes: &[u8]) -> io::Result<()> {
        for chunk in bytes.utf8_chunks() {
            let passes = |c: &char| matches!(c, '\n' | '\r' | '\t') || !drives_a_terminal(*c);
            let shown: String = chunk.valid().chars().filter(passes).collect();
            self.out.write_all(shown.as_bytes())?;
            if !chunk.invalid().is_empty() {
                self.out.write_all("\u{fffd}".as_bytes())?;
            }
        }
        Ok(())
    }
}

impl<W: Write> Write for Shown<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        // The usual case takes one check.
        let plain = |byte: &u8| (b' '..=b'~').contains(byte) || matches!(byte, b'\n' | b'\r' | b'\t');
        if self.begun.is_empty() && bytes.iter().all(plain) {
            self.out.write_all(bytes)?;
            return Ok(bytes.len());
        }
        let mut all = std::mem::take(&mut self.begun);
        all.extend_from_slice(bytes);
        let whole = match std::str::from_utf8(&all) {
            Err(error) if error.error_len().is_none() => error.valid_up_to(),
            _ => all.len(),
        };
        self.begun = all.split_off(whole);
        self.show(&all)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::engine::units::clean;

    fn shown(parts: &[&[u8]]) -> String {
        let mut out = Vec::new();
        let mut shown = Shown::new(&mut out);
        parts.iter().for_each(|part| shown.write_all(part).unwrap());
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn letters_lines_and_tabs_pass_and_control_characters_do_not() {
        assert_eq!(shown(&["roof: 17.5 °C\n\tdry\r\n".as_bytes()]), "roof: 17.5 °C\n\tdry\r\n");
        assert_eq!(shown(&["a\u{1b}[2Jb\u{7}\u{9b}c\u{202e}d\u{7f}".as_bytes()]), "a[2Jbcd");
        assert_eq!(shown(&[b"a\xff\xfeb"]), "a\u{fffd}\u{fffd}b");
    }

    proptest! {
        #[test]
        fn where_a_text_is_cut_makes_no_difference(text in any::<String>(), cut in any::<prop::sample::Index>()) {
            let bytes = text.as_bytes();
            let (before, after) = bytes.split_at(cut.index(bytes.len() + 1));
            let whole = shown(&[bytes]);
            prop_assert_eq!(&shown(&[before, after]), &whole);
            let line = whole.replace(['\n', '\r', '\t'], "");
            prop_assert_eq!(clean(&line), line);
        }
    }
}
