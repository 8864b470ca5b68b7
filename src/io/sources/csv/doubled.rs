//! The repeated hour of an autumn clock change in a file without offsets, resolved by row order.
//!
//! If the rows of a place pass through the hour twice without a row of another hour in between, the first rows
//! belong to the first pass and the others to the second. If they pass through it once the hour is ambiguous,
//! and the program asks.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::NaiveDateTime;

use crate::engine::units::Moment;

/// A repeated local time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::io::sources) struct Doubled {
    /// The local time.
    pub shown: NaiveDateTime,
    pub first: Moment,
    pub second: Moment,
}

/// The consecutive repeated rows of one place.
#[derive(Debug, Default)]
pub(super) struct DoubledHours {
    /// By place: row of the file and its time.
    open: HashMap<Arc<str>, Vec<(usize, Doubled)>>,
    settled: Vec<(usize, Option<Moment>)>,
}

impl DoubledHours {
    /// Adds a row with a repeated time.
    pub fn doubled(&mut self, place: &Arc<str>, row: usize, time: Doubled) {
        self.open.entry(Arc::clone(place)).or_default().push((row, time));
    }

    /// A row of another hour follows.
    pub fn other(&mut self, place: &Arc<str>) {
        if let Some(rows) = self.open.remove(place) {
            settle(&rows, &mut self.settled);
        }
    }

    /// The rows with their moments; None for an ambiguous one.
    pub fn settled(mut self) -> Vec<(usize, Option<Moment>)> {
        self.open.values().for_each(|rows| settle(rows, &mut self.settled));
        self.settled
    }
}

fn settle(rows: &[(usize, Doubled)], settled: &mut Vec<(usize, Option<Moment>)>) {
    let back = |pair: &[(usize, Doubled)]| pair[1].1.shown <= pair[0].1.shown;
    let turns: Vec<usize> =
        rows.windows(2).enumerate().filter(|(_, pair)| back(pair)).map(|(at, _)| at).collect();
    let moment = |index: usize, time: &Doubled| match turns[..] {
        [turn] => Some(if index <= turn { time.first } else { time.second }),
        _ => None,
    };
    settled.extend(rows.iter().enumerate().map(|(index, (row, time))| (*row, moment(index, time))));
}
