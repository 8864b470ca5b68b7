//! A ribbon: the phases of one area over time, with what happened and what is due.

mod flags;

use ratatui::buffer::Buffer;
use ratatui::style::{Modifier, Style};

use super::axis::{cell, visible};
use super::{Columns, Sight};
use crate::app::view::{Axis, MarkKind, Ribbon};
use crate::engine::cure::Phase;
use crate::tui::theme::pattern;

/// One cell of a ribbon.
#[derive(Debug, Clone, Copy)]
struct Spot {
    letter: char,
    style: Style,
    /// Marks and the rule of now: no word may cover them.
    fixed: bool,
    band: Option<Of>,
}

/// What a cell's stretch is; words are set into stretches that are alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Of {
    phase: Phase,
    applying: bool,
    sure: bool,
}

/// In a stretch longer than this the word is repeated.
const REPEAT: usize = 44;

/// Draws a ribbon from a column on. With two rows, the upper one shows what begins below, and when.
pub fn draw(
    sight: &Sight<'_>,
    ribbon: &Ribbon,
    axis: &Axis,
    columns: &Columns,
    (from, y, rows): (u16, u16, u16),
    buf: &mut Buffer,
) {
    let mut spots = vec![BLANK; usize::from(columns.cells)];
    fill(sight, ribbon, axis, columns.cells, &mut spots);
    mark(sight, ribbon, axis, columns.cells, &mut spots);
    let flagged = rows > 1;
    if !flagged {
        call_words(sight, ribbon, axis, columns.cells, &mut spots);
    }
    write_words(sight, &mut spots);
    let y = if flagged { y + 1 } else { y };
    for (x, spot) in (columns.axis..).zip(&spots) {
        if x >= from && buf.area.contains((x, y).into()) {
            buf[(x, y)].set_char(spot.letter).set_style(spot.style);
        }
    }
    if flagged {
        flags::draw(sight, ribbon, axis, columns, y - 1, buf);
    }
}

const BLANK: Spot = Spot { letter: ' ', style: Style::new(), fixed: false, band: None };

fn fill(sight: &Sight<'_>, ribbon: &Ribbon, axis: &Axis, cells: u16, spots: &mut [Spot]) {
    let now = cell(axis, sight.app.view.now, cells);
    let last = i64::from(cells);
    for band in &ribbon.bands {
        let from = cell(axis, band.from, cells).clamp(0, last);
        let mut to = band.to.map_or(last, |to| cell(axis, to, cells)).clamp(0, last);
        // A window that is short on this axis is still a window.
        if from == to && band.phase == Phase::Open && visible(axis, band.from, cells).is_some() {
            to += 1;
        }
        for at in from..to {
            let Some(spot) = usize::try_from(at).ok().and_then(|at| spots.get_mut(at)) else { continue };
            let gap = !band.sure && at % 2 == 1;
            let mut style = sight.theme.phase(band.phase);
            if !band.sure || at < now {
                style = style.remove_modifier(Modifier::BOLD).patch(sight.theme.quiet());
            }
            let of = Of { phase: band.phase, applying: band.applying, sure: band.sure };
            let letter = if gap { ' ' } else { pattern(band.phase, band.applying) };
            *spot = Spot { letter, style, fixed: false, band: Some(of) };
        }
    }
}

fn mark(sight: &Sight<'_>, ribbon: &Ribbon, axis: &Axis, cells: u16, spots: &mut [Spot]) {
    let strong = sight.theme.strong();
    let now = visible(axis, sight.app.view.now, cells);
    let mut set = |at: usize, text: &str, style: Style| {
        for (at, letter) in (at..).zip(text.chars()) {
            if let Some(spot) = spots.get_mut(at) {
                *spot = Spot { letter, style, fixed: true, ..*spot };
            }
        }
    };
    let place = |mark: &&crate::app::view::Mark| visible(axis, mark.at, cells).map(usize::from);
    let marks = |kind: fn(&MarkKind) -> bool| ribbon.marks.iter().filter(move |mark| kind(&mark.kind));
    for step in marks(|kind| matches!(kind, MarkKind::Step(_))) {
        if let (Some(at), MarkKind::Step(step)) = (place(&step), step.kind) {
            set(at, step.letter().encode_utf8(&mut [0; 4]), strong);
        }
    }
    for coat in marks(|kind| matches!(kind, MarkKind::Coat(_))) {
        if let (Some(at), MarkKind::Coat(layer)) = (place(&coat), coat.kind) {
            set(at, &layer.to_string(), strong);
        }
    }
    for call in marks(|kind| matches!(kind, MarkKind::LastCall)) {
        if let Some(at) = place(&call) {
            set(at, "!", sight.theme.call());
        }
    }
    if let Some(now) = now {
        set(usize::from(now), "│", strong);
    }
}

/// "start by 18:25" beside the mark of the last call, inside the open stretch and where that keeps room for
/// its own word.
fn call_words(sight: &Sight<'_>, ribbon: &Ribbon, axis: &Axis, cells: u16, spots: &mut [Spot]) {
    let now = sight.app.view.now;
    let Some(call) = ribbon.marks.iter().find(|mark| mark.kind == MarkKind::LastCall && mark.at > now) else {
        return;
    };
    let Some(at) = visible(axis, call.at, cells).map(usize::from) else { return };
    let free = |spot: &&Spot| !spot.fixed && spot.band.is_some_and(|of| of.phase == Phase::Open && of.sure);
    let before = spots[..at].iter().rev().take_while(free).count();
    let after = spots[at + 1..].iter().take_while(free).count();
    let own = Phase::Open.word().len() + 4;
    for words in [format!("start by {}", sight.civil.when(call.at, now)), "start by".to_owned()] {
        let long = words.chars().count() + 1;
        let (from, words) = if before >= long && before.saturating_sub(long).max(after) >= own {
            (at - long, format!("{words} "))
        } else if after >= long && after.saturating_sub(long).max(before) >= own {
            (at + 1, format!(" {words}"))
        } else {
            continue;
        };
        for (spot, letter) in spots[from..].iter_mut().zip(words.chars()) {
            *spot = Spot { letter, style: sight.theme.strong(), fixed: true, ..*spot };
        }
        return;
    }
}

/// Sets the word of its phase into every stretch that has room for it.
fn write_words(sight: &Sight<'_>, spots: &mut [Spot]) {
    let mut from = 0;
    while from < spots.len() {
        let alike = |spot: &Spot| !spot.fixed && spot.band == spots[from].band;
        let long = spots[from..].iter().take_while(|spot| alike(spot)).count().max(1);
        let to = from + long;
        if let (Some(of), false) = (spots[from].band, spots[from].fixed) {
            stretch(sight, of, &mut spots[from..to]);
        }
        from = to;
    }
}

fn stretch(sight: &Sight<'_>, of: Of, spots: &mut [Spot]) {
    let word = if of.applying { "coating" } else { of.phase.word() };
    let word = if of.sure { word.to_owned() } else { format!("{word}?") };
    let count = (spots.len() / REPEAT).max(1);
    let each = spots.len() / count;
    // Without its pattern at both ends a word would run into its neighbours.
    let word = match each.checked_sub(word.len() + 2) {
        None => return,
        Some(0 | 1) => word,
        Some(_) => format!(" {word} "),
    };
    for piece in spots.chunks_mut(each).take(count) {
        let from = (piece.len() - word.len()) / 2;
        for (spot, letter) in piece[from..].iter_mut().zip(word.chars()) {
            let past = spot.style.add_modifier.contains(Modifier::DIM);
            let style = if past { sight.theme.quiet() } else { sight.theme.strong() };
            *spot = Spot { letter, style, ..*spot };
        }
    }
}
