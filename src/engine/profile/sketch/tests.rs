//! What a sheet shows.

use unicode_width::UnicodeWidthStr;

use super::*;
use crate::engine::profile::{Library, Origin, read_profile};

const GLUE: &str = r#"
schema = 1
id = "glue"
name = "Glue"
family = "epoxy"
cure = "reaction"
basis = "its data sheet"
[application]
air = [12, 30]
stall_below = 7
[stages]
sandable = [{ at = 10, time = "20 h" }, { at = 20, time = "10 h" }]
full_cure = [{ at = 20, time = "7 d" }]
"#;

const WINDOW: &str = r#"
[[recoat]]
next = ["epoxy"]
open = [{ at = 10, time = "4 h" }, { at = 20, time = "2 h" }]
close = [{ at = 10, time = "8 h" }, { at = 20, time = "4 h" }]
wash = true
"#;

fn shown(profile: &str, width: u16) -> String {
    let product = read_profile(profile, Origin::BuiltIn).unwrap();
    sheet(&product, &Units::default(), width)
}

fn line<'s>(sheet: &'s str, start: &str) -> &'s str {
    let found = sheet.lines().find(|line| line.trim_start().starts_with(start));
    found.unwrap_or_else(|| panic!("no line {start} in\n{sheet}"))
}

#[test]
fn no_sheet_is_wider_than_the_terminal() {
    let fahrenheit =
        Units { temperature: TemperatureUnit::Fahrenheit, mass: MassUnit::Ounces, ..Units::default() };
    for product in Library::built_in().iter() {
        for width in 40..=101 {
            for units in [Units::default(), fahrenheit] {
                for line in sheet(product, &units, width).lines() {
                    assert!(line.width() <= usize::from(width), "{} at {width}: {line}", product.id);
                }
            }
        }
    }
}

#[test]
fn an_estimate_beyond_the_data_sheet_is_marked_and_the_mark_is_explained() {
    let sheet = shown(GLUE, 80);
    let figures = ["stalls", "20 h", "14 h 05", "10 h", "~7 h 10", "~5 h 15"];
    let row = line(&sheet, "Sandable");
    assert_eq!(row.split("  ").map(str::trim).filter(|f| !f.is_empty()).skip(1).collect::<Vec<_>>(), figures);
    assert!(line(&sheet, "~ ").contains("estimate of this program"));
    let measured = GLUE.replace("{ at = 10, time = \"20 h\" }", "{ at = 5, time = \"30 h\" }");
    let measured = measured.replace("time = \"10 h\" }", "time = \"10 h\" }, { at = 30, time = \"5 h\" }");
    assert!(!shown(&measured.replace("full_cure", "#"), 80).contains('~'));
}

#[test]
fn a_pot_sets_in_the_cold_too() {
    let pot = "[pot_life]\nmass = \"1 kg\"\ntimes = [{ at = 20, time = \"40 min\" }]\n";
    let sheet = shown(&format!("{GLUE}{pot}"), 80);
    assert!(!line(&sheet, "Pot life, 1 kg").contains("stalls"));
}

#[test]
fn a_ribbon_shows_wet_open_shut_sandable_and_cured_in_this_order() {
    let sheet = shown(&format!("{GLUE}{WINDOW}"), 100);
    let ribbon = sheet.lines().find(|line| line.contains("20 °C") && line.contains('╞')).unwrap();
    let places: Vec<_> = ["wet", "open", "shut", "sandable", "cured"].map(|word| ribbon.find(word)).into();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{ribbon}");
    assert!(line(&sheet, "5 °C  stalls").contains("too cold"));
    assert!(sheet.contains("once shut, wash before sanding"));
}

#[test]
fn without_an_upper_limit_the_window_stays_open_until_full_cure() {
    let entry = WINDOW.replace("close", "#");
    let sheet = shown(&format!("{GLUE}{entry}"), 90);
    let ribbon = sheet.lines().find(|line| line.contains("20 °C") && line.contains('╞')).unwrap();
    assert!(!ribbon.contains("shut") && !ribbon.contains("sandable") && ribbon.contains("cured"), "{ribbon}");
    assert!(sheet.contains("  closes never: no upper limit"));
}

#[test]
fn a_profile_that_is_silent_on_the_next_coat_says_so() {
    assert!(shown(GLUE, 80).contains("The profile is silent on the next coat"));
}

#[test]
fn the_product_s_own_papers_come_first_on_every_sheet() {
    for product in Library::built_in().iter() {
        let sheet = sheet(product, &Units::default(), 100).replace('\n', " ");
        assert!(sheet.trim_end().ends_with(COMES_FIRST), "{}", product.id);
    }
}
