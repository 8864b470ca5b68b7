//! The picture of the board in the README is drawn by the program itself: the demo's job as it begins.
//! `BLESS=1 cargo test --test library picture` draws it again.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use curewright::app::wording::Words;

use curewright::app::session::{Clock, Session, demo};
use curewright::engine::assess::SurveyOptions;
use curewright::engine::config::Config;
use curewright::engine::profile::Library;
use curewright::engine::units::{Civil, Units};
use curewright::tui::{ColorMode, picture};
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};

const SIZE: (u16, u16) = (100, 30);
const CELL: (f64, f64) = (8.4, 18.0);
const INK: &str = "#24221f";
const PAPER: &str = "#faf8f3";

fn board() -> Buffer {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("demo.db");
    let civil = Civil::utc();
    let begins = demo::build(&job, &civil).unwrap();
    let library = Library::built_in();
    let words = Words { civil: civil.clone(), units: Units::default() };
    let mut session = Session::open(&job, &library, Config::default(), words, Clock::At(begins)).unwrap();
    demo::see_the_past(&mut session, begins).unwrap();
    let survey = session.survey(begins, SurveyOptions::default()).unwrap();
    let view = session.view(&survey, begins).unwrap();
    picture(&view, &civil, SIZE, ColorMode::Auto)
}

fn hue(color: Color) -> &'static str {
    match color {
        Color::Blue | Color::LightBlue => "#1f5fa8",
        Color::Cyan | Color::LightCyan => "#0f6f78",
        Color::Yellow | Color::LightYellow => "#8a6200",
        Color::Magenta | Color::LightMagenta => "#8a3a7d",
        Color::Red | Color::LightRed => "#a8321f",
        Color::Green | Color::LightGreen => "#3f6f1f",
        _ => INK,
    }
}

fn escaped(symbol: &str) -> String {
    symbol.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The cells of a row that look alike, from one column on, with their text.
fn runs(row: &[Cell]) -> Vec<(usize, &Cell, String)> {
    let mut runs: Vec<(usize, &Cell, String)> = Vec::new();
    for (column, cell) in row.iter().enumerate() {
        match runs.last_mut() {
            Some((_, first, text)) if first.style() == cell.style() => text.push_str(cell.symbol()),
            _ => runs.push((column, cell, cell.symbol().to_owned())),
        }
    }
    runs
}

fn svg(buffer: &Buffer) -> String {
    let (columns, rows) = (usize::from(buffer.area.width), usize::from(buffer.area.height));
    let (width, height) = (columns as f64 * CELL.0 + 24.0, rows as f64 * CELL.1 + 24.0);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" role=\"img\" \
         aria-label=\"The board of curewright on the demo's job\" font-family=\"ui-monospace, 'DejaVu Sans Mono', \
         Menlo, Consolas, monospace\" font-size=\"14\">\n<rect width=\"100%\" height=\"100%\" rx=\"6\" \
         fill=\"{PAPER}\"/>\n"
    );
    for (index, row) in buffer.content.chunks(columns).enumerate() {
        let y = 12.0 + index as f64 * CELL.1;
        for (column, cell, text) in runs(row) {
            let reversed = cell.modifier.contains(Modifier::REVERSED);
            let (x, length) = (12.0 + column as f64 * CELL.0, text.chars().count() as f64 * CELL.0);
            if reversed {
                let fill = hue(cell.fg);
                let (w, h) = (length, CELL.1);
                writeln!(
                    svg,
                    "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h}\" fill=\"{fill}\"/>"
                )
                .unwrap();
            }
            if text.trim().is_empty() {
                continue;
            }
            let fill = if reversed { PAPER } else { hue(cell.fg) };
            let bold = if cell.modifier.contains(Modifier::BOLD) { " font-weight=\"bold\"" } else { "" };
            let dim = if cell.modifier.contains(Modifier::DIM) { " fill-opacity=\"0.65\"" } else { "" };
            let baseline = y + 13.5;
            writeln!(
                svg,
                "<text x=\"{x:.1}\" y=\"{baseline:.1}\" textLength=\"{length:.1}\" xml:space=\"preserve\" \
                 fill=\"{fill}\"{bold}{dim}>{}</text>",
                escaped(&text)
            )
            .unwrap();
        }
    }
    svg + "</svg>\n"
}

#[test]
fn the_picture_in_the_readme_is_the_board_as_it_is() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/board.svg");
    let drawn = svg(&board());
    if option_env!("BLESS").is_some() {
        fs::write(&file, &drawn).unwrap();
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    assert!(
        kept == drawn,
        "docs/board.svg is not the board any more: BLESS=1 cargo test --test library picture"
    );
}
