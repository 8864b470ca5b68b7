//! A check below the form of a coat: the verdict first, then every reason, then the slots.

use crate::app::wording::Check;
use crate::engine::units::capital;
use crate::tui::text::{width, wrap_to};

/// How many lines each part may take, from as many as it likes down to what must be seen.
#[derive(Clone, Copy)]
struct Share {
    says: usize,
    reason: usize,
    reasons: usize,
    slots: usize,
    notes: bool,
}

const SHARES: [Share; 4] = [
    Share { says: 3, reason: 3, reasons: usize::MAX, slots: 4, notes: true },
    Share { says: 2, reason: 2, reasons: usize::MAX, slots: 2, notes: true },
    Share { says: 1, reason: 1, reasons: usize::MAX, slots: 1, notes: true },
    LEAST,
];
const LEAST: Share = Share { says: 1, reason: 1, reasons: usize::MAX, slots: 1, notes: false };

/// The lines in at most the given rows, and whether each is the verdict. Lines are dropped from the notes up;
/// that there are more reasons is shown.
pub fn lines(check: &Check, columns: u16, rows: usize) -> Vec<(String, bool)> {
    let shares = SHARES.into_iter().map(|share| shared(check, columns, share));
    if let Some(all) = shares.into_iter().find(|all| all.len() <= rows) {
        return all;
    }
    let around = shared(check, columns, Share { reasons: 0, ..LEAST }).len();
    let mut all = shared(check, columns, Share { reasons: rows.saturating_sub(around).max(1), ..LEAST });
    all.truncate(rows);
    all
}

fn shared(check: &Check, columns: u16, share: Share) -> Vec<(String, bool)> {
    let mut lines: Vec<(String, bool)> = Vec::new();
    let plain = |line: String| (line, false);
    lines.extend(wrap_to(&check.says, columns, share.says).into_iter().map(|line| (line, true)));
    let hidden = check.why.len().saturating_sub(share.reasons);
    for (index, reason) in check.why.iter().take(share.reasons).enumerate() {
        let last = index + 1 == share.reasons;
        let more = if last && hidden > 0 { format!(" (+{hidden} more)") } else { String::new() };
        let room = columns.saturating_sub(2 + width(&more));
        let mut wrapped = wrap_to(reason, room, share.reason);
        if let Some(end) = wrapped.last_mut() {
            end.push_str(&more);
        }
        let signs = ["- "].into_iter().chain(std::iter::repeat("  "));
        lines.extend(signs.zip(wrapped).map(|(sign, line)| plain(format!("{sign}{line}"))));
    }
    let (now, sanded) = check.slots_by_ground();
    let parts = [("Start and finish: ", now), ("once sanded: ", sanded)]
        .into_iter()
        .filter(|(_, slots)| !slots.is_empty());
    let slots: Vec<String> = parts.map(|(title, slots)| format!("{title}{}", slots.join(", "))).collect();
    if !slots.is_empty() {
        let slots = capital(&slots.join("; "));
        lines.extend(wrap_to(&slots, columns, share.slots).into_iter().map(plain));
    }
    let note = check.unforecast.iter().filter(|_| share.notes);
    lines.extend(note.flat_map(|note| wrap_to(note, columns, 2)).map(plain));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::samples::check;

    fn told(columns: u16, rows: usize) -> Vec<String> {
        let check = check("Roof", "primer-two-part").unwrap();
        lines(&check, columns, rows).into_iter().map(|(line, _)| line).collect()
    }

    #[test]
    fn with_few_rows_the_verdict_and_the_slots_stay() {
        for columns in [30, 78] {
            for rows in 2..20 {
                let told = told(columns, rows);
                assert!(told.len() <= rows, "{rows} rows: {told:?}");
                assert!(told[0].starts_with("WAIT until Sun 10:30"), "{told:?}");
                assert_eq!(
                    told.iter().any(|line| line.starts_with("Start and finish: ")),
                    rows > 2,
                    "{told:?}"
                );
            }
        }
        assert_eq!(told(78, 5).len(), 5);
        assert!(told(78, 4)[2].starts_with("- Dew from 22:10: ") && told(78, 4)[2].ends_with("(+1 more)"));
    }

    #[test]
    fn without_a_row_nothing_is_shown() {
        assert_eq!(told(78, 0), Vec::<String>::new());
    }
}
