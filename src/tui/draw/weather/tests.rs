//! Whole screens of the weather.

use insta::assert_snapshot;
use ratatui::style::Color;

use crate::app::view::View;
use crate::tui::app::App;
use crate::tui::samples::*;
use crate::tui::theme::ColorMode;

fn shown(view: View, keys: &str) -> App {
    let mut app = App::showing(view);
    // The driver knows it once the page was drawn.
    app.set_page_lines(100);
    press(&mut app, keys);
    app
}

fn see(view: View, keys: &str, width: u16, height: u16) -> String {
    text(&drawn(&shown(view, keys), width, height, ColorMode::Auto))
}

#[test]
fn a_night_that_is_unfit_and_a_morning_that_is_fit() {
    assert_snapshot!("weather_80x24", see(hut_weather(), "w", 80, 24));
    assert_snapshot!("weather_120x40", see(hut_weather(), "w", 120, 40));
    assert_snapshot!("weather_200x50", see(hut_weather(), "w", 200, 50));
    assert_snapshot!("weather_40x12", see(hut_weather(), "w", 40, 12));
    assert_snapshot!("weather_40x12_down", see(hut_weather(), &format!("w{}", "j".repeat(9)), 40, 12));
}

#[test]
fn as_a_table_and_of_another_place() {
    assert_snapshot!("weather_table_80x24", see(hut_weather(), "wv", 80, 24));
    assert_snapshot!("weather_other_80x24", see(hut_weather(), "w<Right>", 80, 24));
    assert_eq!(see(hut_weather(), "w<Right><Right>", 80, 24), see(hut_weather(), "w", 80, 24));
    assert_eq!(see(hut_weather(), "w<Left>", 80, 24), see(hut_weather(), "w<Right>", 80, 24));
    assert_eq!(see(hut_weather(), "wvv", 80, 24), see(hut_weather(), "w", 80, 24));
}

#[test]
fn what_is_not_known_is_said() {
    assert_snapshot!("weather_no_forecast_80x24", see(hut_without_forecast(), "w", 80, 24));
    assert_snapshot!("weather_unread_80x24", see(hut_unread(), "w", 80, 24));
    assert_snapshot!("weather_unread_40x12", see(hut_unread(), "w", 40, 12));
    assert!(see(hut(), "w", 80, 24).contains("There is no place yet"));
}

#[test]
fn every_key_that_closes_it_closes_it() {
    for key in ["<Esc>", "w", "q"] {
        assert_eq!(see(hut_weather(), &format!("w{key}"), 80, 24), see(hut_weather(), "", 80, 24), "{key}");
    }
    assert_eq!(see(hut_weather(), "bw<Esc>", 80, 24), see(hut_weather(), "b", 80, 24));
}

#[test]
fn without_colour_it_says_the_same() {
    for (width, height) in [(80, 24), (200, 50), (40, 12)] {
        let app = shown(hut_weather(), "w");
        let plain = drawn(&app, width, height, ColorMode::None);
        assert_eq!(text(&plain), text(&drawn(&app, width, height, ColorMode::Auto)));
        assert!(plain.content.iter().all(|cell| (cell.fg, cell.bg) == (Color::Reset, Color::Reset)));
    }
}
