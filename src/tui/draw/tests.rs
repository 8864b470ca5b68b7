//! Whole screens.

use super::*;
use crate::tui::samples::*;

#[test]
fn look() {
    for (w, h) in [(80, 24), (120, 40), (40, 12), (200, 50)] {
        println!("{w}x{h}\n{}", text(&drawn(&App::showing(hut()), w, h, ColorMode::Auto)));
    }
    println!("{}", text(&drawn(&App::showing(fleet()), 80, 24, ColorMode::Auto)));
    println!("{}", text(&drawn(&App::showing(empty()), 80, 24, ColorMode::Auto)));
    println!("{}", text(&drawn(&App::showing(alarmed()), 80, 24, ColorMode::Auto)));
}
