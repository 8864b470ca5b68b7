//! JSON without characters that control a terminal: they are escaped.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};

use crate::engine::units::drives_a_terminal;

/// Writes a value on several lines.
///
/// # Errors
/// Errors of the writer, and of a value without a JSON form.
pub fn write_pretty<T: Serialize>(out: &mut dyn Write, value: &T) -> serde_json::Result<()> {
    value.serialize(&mut Serializer::with_formatter(out, Plain(PrettyFormatter::new())))
}

/// Writes a value on one line.
///
/// # Errors
/// Errors of the writer, and of a value without a JSON form.
pub fn write_line<T: Serialize>(out: &mut dyn Write, value: &T) -> serde_json::Result<()> {
    value.serialize(&mut Serializer::with_formatter(out, Plain(CompactFormatter)))
}

struct Plain<F>(F);

macro_rules! as_before {
    ($($name:ident($($argument:ident: $kind:ty),*);)*) => {$(
        fn $name<W: ?Sized + Write>(&mut self, out: &mut W $(, $argument: $kind)*) -> io::Result<()> {
            self.0.$name(out $(, $argument)*)
        }
    )*};
}

impl<F: Formatter> Formatter for Plain<F> {
    // The formatter gets the text between the characters that JSON itself escapes.
    fn write_string_fragment<W: ?Sized + Write>(&mut self, out: &mut W, text: &str) -> io::Result<()> {
        let mut rest = text;
        while let Some(at) = rest.find(drives_a_terminal) {
            let (before, from) = rest.split_at(at);
            out.write_all(before.as_bytes())?;
            let mut letters = from.chars();
            let units = letters.next().map(u32::from).unwrap_or_default();
            // All of them are in the basic plane.
            write!(out, "\\u{units:04x}")?;
            rest = letters.as_str();
        }
        out.write_all(rest.as_bytes())
    }

    as_before! {
        begin_array();
        end_array();
        begin_array_value(first: bool);
        end_array_value();
        begin_object();
        end_object();
        begin_object_key(first: bool);
        end_object_key();
        begin_object_value();
        end_object_value();
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::engine::units::clean;

    proptest! {
        #[test]
        fn every_text_comes_back_and_none_drives_a_terminal(text in any::<String>(), evil in "[\\p{Cc}\\p{Cf}]{0,8}") {
            let value = [text + &evil];
            for write in [write_pretty as fn(&mut dyn Write, &_) -> _, write_line] {
                let mut out = Vec::new();
                write(&mut out, &value).unwrap();
                let out = String::from_utf8(out).unwrap();
                prop_assert_eq!(clean(&out.replace('\n', "")), out.replace('\n', ""));
                prop_assert_eq!(&serde_json::from_str::<[String; 1]>(&out).unwrap(), &value);
            }
        }
    }

    #[test]
    fn it_is_laid_out_as_ever() {
        let value = serde_json::json!({ "a": [1, 2], "b": {}, "c": [], "d": "ü\n" });
        let mut out = Vec::new();
        write_pretty(&mut out, &value).unwrap();
        assert_eq!(String::from_utf8(out).unwrap(), serde_json::to_string_pretty(&value).unwrap());
    }
}
