//! The hour that a clock shows twice in autumn, in a file without offsets: told apart by the order of the rows.
//!
//! Where the rows of a place show the hour once and then, without a row of another hour between, once more, the
//! first rows are of the first hour and the others of the second. Where they show it only once nothing tells
//! which one it is: the rows are asked about.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::NaiveDateTime;

use crate::engine::units::Moment;

/// A time that the clock showed twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::io::sources) struct Doubled {
    /// What it showed.
    pub shown: NaiveDateTime,
    pub first: Moment,
    pub second: Moment,
}

/// The doubled rows of one place, as they follow one another in the file.
#[derive(Debug, Default)]
pub(super) struct DoubledHours {
    /// By place: the row of the file, and its time.
    open: HashMap<Arc<str>, Vec<(usize, Doubled)>>,
    settled: Vec<(usize, Option<Moment>)>,
}

impl DoubledHours {
    /// Takes in a row of a place whose time the clock showed twice.
    pub fn doubled(&mut self, place: &Arc<str>, row: usize, time: Doubled) {
        self.open.entry(Arc::clone(place)).or_default().push((row, time));
    }

    /// Takes in that a row of another hour follows.
    pub fn other(&mut self, place: &Arc<str>) {
        if let Some(rows) = self.open.remove(place) {
            settle(&rows, &mut self.settled);
        }
    }

    /// The rows with their moments; None for one that has to be asked about.
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
