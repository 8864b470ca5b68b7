//! The table `[free]` of the settings and of a scheme.

use serde::Deserialize;
use toml::Spanned;

use super::{FreeHours, text};
use crate::engine::units::clean;

/// A line of the table that cannot be read, with its position.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct HoursError(String);

/// The table as written.
#[derive(Debug, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct RawFree {
    hours: Option<Vec<Spanned<String>>>,
    #[serde(default)]
    except: Vec<Spanned<String>>,
    #[serde(default)]
    busy: Vec<Spanned<String>>,
}

impl RawFree {
    /// Checks the table of a file with this text.
    ///
    /// # Errors
    /// [`HoursError`] with line, column and the expected form.
    pub fn check(self, text: &str) -> Result<FreeHours, HoursError> {
        let wrong = |key: &str, line: &Spanned<String>, what: &str| {
            let (row, column) = place_in(text, line.span().start);
            let line = clean(line.get_ref());
            HoursError(format!("line {row}, column {column}: free.{key}: \"{line}\": {}", clean(what)))
        };
        let mut weekly = self.hours.as_ref().map(|_| Vec::new());
        for line in self.hours.iter().flatten() {
            let read = text::weekly(line.get_ref()).map_err(|what| wrong("hours", line, &what))?;
            weekly.get_or_insert_default().extend(read);
        }
        let mut except: Vec<super::Exception> = Vec::with_capacity(self.except.len());
        for line in &self.except {
            let read = text::exception(line.get_ref()).map_err(|what| wrong("except", line, &what))?;
            if let Some(same) = except.iter().find(|same| (same.from, same.to) == (read.from, read.to)) {
                let what = format!(
                    "\"{}\" gives other hours for the same day; put all hours in one line",
                    same.said
                );
                return Err(wrong("except", line, &what));
            }
            except.push(read);
        }
        for file in &self.busy {
            let path = file.get_ref().trim();
            if !is_whole_path(path) {
                return Err(wrong(
                    "busy",
                    file,
                    "write the full path of a calendar file, or one that starts with ~/",
                ));
            }
        }
        let busy = self.busy.iter().map(|file| file.get_ref().trim().to_owned()).collect();
        Ok(FreeHours { weekly, except, busy })
    }
}

/// Whether a path in the settings is absolute or relative to the home directory.
pub(crate) fn is_whole_path(path: &str) -> bool {
    (path.starts_with('/') || path.starts_with("~/")) && !path.contains('\0')
}

/// Line and column of an offset, from 1.
pub(crate) fn place_in(text: &str, offset: usize) -> (usize, usize) {
    let before = text.get(..offset).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    (line, before.rsplit('\n').next().unwrap_or_default().chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Deserialize)]
    struct File {
        free: RawFree,
    }

    fn read(text: &str) -> Result<FreeHours, HoursError> {
        toml::from_str::<File>(text).unwrap().free.check(text)
    }

    #[test]
    fn the_table_holds_hours_exceptions_and_calendars() {
        let text = "[free]\nhours = [\"Mon-Fri 19:00-22:00\", \"Sat 9-17\"]\nexcept = [\"2026-05-09 none\"]\nbusy = [\"~/calendar.ics\"]\n";
        let free = read(text).unwrap();
        assert_eq!(free.weekly.as_ref().map(Vec::len), Some(2));
        assert_eq!((free.except.len(), free.busy.as_slice()), (1, &["~/calendar.ics".to_owned()][..]));
        assert!(free.names_hours());
        assert_eq!(read("[free]"), Ok(FreeHours::default()));
        assert!(!read("[free]\nexcept = [\"2026-05-09 none\"]").unwrap().names_hours());
        assert!(read("[free]\nexcept = [\"2026-05-09 9-17\"]").unwrap().names_hours());
    }

    #[test]
    fn an_error_has_its_line_and_column() {
        for (text, shown) in [
            (
                "[free]\nhours = [\n  \"Mon-Fri 19-22\",\n  \"Sat 9\",\n]",
                "line 4, column 3: free.hours: \"Sat 9\": ",
            ),
            (
                "[free]\nexcept = [\"soon none\"]",
                "line 2, column 11: free.except: \"soon none\": start with the date",
            ),
            (
                "[free]\nbusy = [\"calendar.ics\"]",
                "line 2, column 9: free.busy: \"calendar.ics\": write the full path",
            ),
            (
                "[free]\nexcept = [\"2026-05-09 none\", \"2026-05-09 9-12\"]",
                "column 30: free.except: \"2026-05-09 9-12\": \"2026-05-09 none\" gives other hours",
            ),
        ] {
            let error = read(text).unwrap_err().to_string();
            assert!(error.contains(shown), "{error}");
        }
    }

    #[test]
    fn a_scheme_s_hours_count_instead_and_its_exceptions_too() {
        let own = read("[free]\nhours = [\"Sat 9-17\"]\nexcept = [\"2026-05-09 none\"]\nbusy = [\"/a.ics\"]")
            .unwrap();
        let scheme = read(
            "[free]\nhours = [\"Sun 9-17\"]\nexcept = [\"2026-05-09 9-12\"]\nbusy = [\"/a.ics\", \"/b.ics\"]",
        )
        .unwrap();
        let both = own.clone().under(&scheme);
        assert_eq!(both.weekly, scheme.weekly);
        assert_eq!(both.busy, ["/a.ics", "/b.ics"]);
        let day = "2026-05-09".parse().unwrap();
        assert_eq!(both.on(day).0.len(), 1);
        assert_eq!(own.clone().under(&FreeHours::default()), own);
        assert!(own.on(day).0.is_empty());
    }
}
