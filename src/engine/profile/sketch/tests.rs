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
fn a_window_shows_when_it_opens_and_closes_and_what_comes_after() {
    let sheet = shown(&format!("{GLUE}{WINDOW}"), 80);
    assert!(sheet.contains("Recoat with epoxy; after it closes, wash before sanding"));
    assert_eq!(line(&sheet, "closes").split("  ").last(), Some("~2 h 05"));
    let open_ended = shown(&format!("{GLUE}{}", WINDOW.replace("close", "#")), 80);
    assert!(open_ended.contains("  does not close: no upper limit"));
}

#[test]
fn a_sheet_says_what_a_film_must_have_reached_and_what_it_must_never_carry() {
    let rules = "[[recoat]]\nnext = [\"alkyd\"]\nafter = \"full_cure\"\nsand = true\n\
                 [[never]]\nnext = [\"*\"]\nover = [\"oil\"]\nbecause = \"it lifts\"\n";
    let sheet = shown(&format!("{GLUE}{rules}"), 80);
    assert!(sheet.contains("Recoat with alkyd, once fully cured; sand first"));
    assert!(sheet.contains("Never below anything else: it lifts"));
    assert!(sheet.contains("Never on oil: it lifts"));
    assert!(!sheet.contains("does not close"));
}

#[test]
fn a_range_of_the_data_sheet_is_shown_and_counts_on_the_safe_side() {
    let window =
        WINDOW.replace("\"2 h\"", "\"1 to 2 h\"").replace("20, time = \"4 h\"", "20, time = \"4 h to 1 d\"");
    let sheet = shown(&format!("{GLUE}{window}"), 80);
    assert!(sheet.contains("opens at 20 °C: 60 min to 2 h, counted as 2 h"), "{sheet}");
    assert!(sheet.contains("closes at 20 °C: 4 h to 24 h, counted as 4 h"), "{sheet}");
}

#[test]
fn a_profile_that_is_silent_on_the_next_coat_says_so() {
    assert!(shown(GLUE, 80).contains("The profile says nothing about the next coat"));
}

#[test]
fn the_product_s_own_papers_come_first_on_every_sheet() {
    for product in Library::built_in().iter() {
        let sheet = sheet(product, &Units::default(), 100).replace('\n', " ");
        assert!(sheet.trim_end().ends_with(COMES_FIRST), "{}", product.id);
    }
}
