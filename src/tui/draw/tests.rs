//! Whole screens.

use super::*;
use crate::tui::samples::*;

#[test]
fn look() {
    for keys in [
        "c",
        "c<Tab>",
        "cro",
        "cBench",
        "cFloor<Enter>",
        "t",
        "t17,5<Tab>101<Enter>",
        "f",
        "s",
        "ss",
        "u",
        "?",
        "<Enter>",
        "b",
        "bc",
        "l",
    ] {
        let mut app = App::showing(alarmed());
        press(&mut app, keys);
        println!("---- {keys}\n{}", text(&drawn(&app, 80, 24, ColorMode::Auto)));
        if ["c", "t", "b", "?"].contains(&keys) {
            println!("---- {keys}\n{}", text(&drawn(&app, 40, 12, ColorMode::Auto)));
            println!("---- {keys}\n{}", text(&drawn(&app, 20, 6, ColorMode::Auto)));
        }
    }
}
