//! The help: every key of the table, and how a ribbon is read.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;
use ratatui::text::{Line, Span};

use super::{Drawn, Sight, pages};
use crate::app::view::PotPhase;
use crate::engine::cure::Phase;
use crate::tui::keys::{Binding, Scene, bindings};
use crate::tui::text::{width, wrap};
use crate::tui::theme::{pattern, pot_pattern};

const PHASES: [(Phase, bool, &str); 6] = [
    (Phase::Wet, true, "coating: between first and last stroke"),
    (Phase::Wet, false, "wet: leave it alone"),
    (Phase::Open, false, "open: the next coat may go on as it is"),
    (Phase::Shut, false, "shut: too late for a coat, too soft to sand"),
    (Phase::Sandable, false, "sandable: sand, then coat"),
    (Phase::Cured, false, "cured: full cure; sand before a coat"),
];

const POTS: [(PotPhase, &str); 3] = [
    (PotPhase::Induction, "a batch: induction time, do not use it yet"),
    (PotPhase::Usable, "a batch: can be spread"),
    (PotPhase::Over, "a batch: pot life is over"),
];

const MARKS: [(&str, &str); 3] = [
    ("1 2 3", "a coat's first stroke"),
    ("swtpo", "sanded, washed, tape on, off, coat off"),
    ("!", "the last moment to start the next coat"),
];

/// How a ribbon is read, in lines.
fn signs(sight: &Sight<'_>) -> Vec<Line<'static>> {
    let theme = sight.theme;
    let line = |sample: String, style, text: &str| {
        Line::from(vec![Span::styled(format!("{sample:<9}"), style), Span::raw(text.to_owned())])
    };
    let mut lines: Vec<Line<'static>> = PHASES
        .iter()
        .map(|(phase, applying, text)| {
            line(pattern(*phase, *applying).to_string().repeat(7), theme.phase(*phase), text)
        })
        .collect();
    let unsure = theme.phase(Phase::Wet).patch(theme.quiet());
    lines.push(line("~ ~ ~ ~".into(), unsure, "thinned out: not sure yet"));
    lines.push(line("│".into(), theme.strong(), "now"));
    lines.extend(
        POTS.iter().map(|(phase, text)| line(pot_pattern(*phase).to_string().repeat(7), theme.plain(), text)),
    );
    lines.extend(MARKS.iter().map(|(sample, text)| line((*sample).into(), theme.strong(), text)));
    lines
}

/// How a ribbon is read, where the board has no ribbon yet.
pub fn legend(sight: &Sight<'_>, (x, y, columns): (u16, u16, u16), bottom: u16, buf: &mut Buffer) {
    for (y, line) in (y..bottom).zip(signs(sight)) {
        buf.set_line(x, y, &line, columns);
    }
}

/// The keys of a scene, in lines; what goes for every scene is told with the board.
fn keys(sight: &Sight<'_>, scene: Scene, columns: u16) -> Vec<Line<'static>> {
    let told = |binding: &&Binding| scene != Scene::Board && binding.scenes.contains(&Scene::Board);
    let wanted = |binding: &&Binding| !binding.long.is_empty() && !told(binding);
    let lines = |binding: &Binding| {
        let gap = " ".repeat(usize::from(KEY.saturating_sub(width(binding.name))));
        let texts = wrap(binding.long, columns.saturating_sub(KEY).max(16));
        let line = |(row, text): (usize, String)| match row {
            0 => Line::from(vec![
                Span::styled(binding.name, sight.theme.key()),
                Span::raw(format!("{gap}{text}")),
            ]),
            _ => Line::from(format!("{}{text}", " ".repeat(usize::from(KEY)))),
        };
        texts.into_iter().enumerate().map(line).collect::<Vec<_>>()
    };
    bindings(scene).filter(wanted).flat_map(lines).collect()
}

/// The room of a key's name.
const KEY: u16 = 11;
/// The column of the signs where they stand beside the keys.
const BESIDE: u16 = 66;

/// Draws the help; where the screen is wide, the signs stand beside the keys.
pub fn page(sight: &Sight<'_>, scroll: u16, area: Rect, buf: &mut Buffer) -> Drawn {
    let head = |text: &'static str| {
        Line::from(Span::styled(text, sight.theme.strong().add_modifier(Modifier::UNDERLINED)))
    };
    let mut left = vec![head("On the board")];
    let beside = area.width >= BESIDE + 54;
    let columns = if beside { BESIDE - 2 } else { area.width.saturating_sub(2) };
    left.extend(keys(sight, Scene::Board, columns));
    let mut right = vec![head("A ribbon")];
    right.extend(signs(sight));
    right.push(Line::default());
    right.push(head("In a form"));
    right.extend(keys(sight, Scene::Form, if beside { area.width - BESIDE - 2 } else { columns }));
    if !beside {
        left.push(Line::default());
        left.append(&mut right);
    }
    let drawn = pages::lines(sight, &left, scroll, 0, area, buf);
    if beside {
        for (y, line) in (0..area.height - 1).zip(&right) {
            buf.set_line(BESIDE, y, line, area.width - BESIDE - 1);
        }
    }
    drawn
}
