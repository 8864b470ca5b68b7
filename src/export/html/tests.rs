//! The page: well-formed, closed to the outside, readable by those who cannot see it and by those who see badly.

use std::collections::{BTreeMap, BTreeSet};

use scraper::{ElementRef, Html, Selector};

use super::*;
use crate::job::{EntryKind, StepKind};
use crate::profile::Library;
use crate::testing::{Bench, words};

const HOSTILE: &str = "\"><script>alert(1)</script><img src=x onerror=alert(1)>&amp;'`=1+1 日本語";

/// A job with everything in it, its names as bad as names can be.
fn hostile() -> String {
    let note = EntryKind::Note {
        area: Some(HOSTILE.into()),
        entry: None,
        text: HOSTILE.into(),
        photo: Some(format!("/{HOSTILE}")),
    };
    let bench = Bench::steady(9.0, 3000)
        .damp_reading(15, 20.0, 0.97)
        .step(HOSTILE, StepKind::Sand, -20)
        .coat(HOSTILE, "varnish-two-part", 0, 30)
        .coat(HOSTILE, "varnish-two-part", 60, 90)
        .coat("no such product", HOSTILE, 60, 90)
        .entry(95, note)
        .entry(99, EntryKind::WetFilm { area: HOSTILE.into(), micrometres: Vec::new() });
    page(&bench)
}

fn page(bench: &Bench) -> String {
    html(&bench.report(&Library::built_in(), 3000), &words(), "curewright")
}

fn plain() -> String {
    let scheme = "name = \"Hut\"\n[[area]]\nname = \"roof\"\nsteps = [{ coat = \"varnish-two-part\" }, { coat = \
                  \"varnish-two-part\" }, { coat = \"varnish-two-part\" }]\n";
    let bench = Bench::steady(20.0, 900).scheme(scheme).coat("roof", "varnish-two-part", 0, 30);
    page(&bench.coat("roof", "varnish-two-part", 240, 270))
}

fn all<'p>(page: &'p Html, selector: &str) -> Vec<ElementRef<'p>> {
    page.select(&Selector::parse(selector).unwrap()).collect()
}

#[test]
fn a_conforming_parser_finds_no_fault() {
    for page in [plain(), hostile(), self::page(&Bench::default())] {
        let parsed = Html::parse_document(&page);
        assert_eq!(parsed.errors, Vec::<std::borrow::Cow<'_, str>>::new());
        assert_eq!(all(&parsed, "html[lang], head > title, meta[charset], meta[name=viewport]").len(), 4);
    }
}

#[test]
fn what_people_typed_is_text_and_nothing_else() {
    let page = hostile();
    let parsed = Html::parse_document(&page);
    assert!(all(&parsed, "script, img, iframe, object, link, [onerror], [onload], [src]").is_empty());
    let said = all(&parsed, "body")[0].text().collect::<String>();
    assert!(said.contains("<script>alert(1)</script>"), "it is shown as it was typed");
}

#[test]
fn nothing_is_asked_of_anywhere() {
    for page in [plain(), hostile()] {
        let parsed = Html::parse_document(&page);
        for link in all(&parsed, "[href]") {
            assert!(link.value().attr("href").unwrap().starts_with('#'));
        }
        assert!(!STYLE.contains("url(") && !STYLE.contains("@import"));
        assert!(all(&parsed, "meta[http-equiv=Content-Security-Policy]").len() == 1);
    }
}

#[test]
fn every_link_leads_somewhere_and_no_name_is_given_twice() {
    for page in [plain(), hostile()] {
        let parsed = Html::parse_document(&page);
        let ids: Vec<&str> = all(&parsed, "[id]").iter().map(|e| e.value().attr("id").unwrap()).collect();
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(unique.len(), ids.len(), "{ids:?}");
        for link in all(&parsed, "[href]") {
            let target = link.value().attr("href").unwrap().trim_start_matches('#');
            assert!(unique.contains(target), "{target}");
        }
        for named in all(&parsed, "[aria-labelledby]") {
            let names = named.value().attr("aria-labelledby").unwrap();
            assert!(names.split_whitespace().all(|name| unique.contains(name)), "{names}");
        }
    }
}

#[test]
fn drawings_and_tables_can_be_read_without_being_seen() {
    let page = plain();
    let parsed = Html::parse_document(&page);
    let drawings = all(&parsed, "svg");
    assert_eq!(drawings.len(), 3, "a stack and two plots");
    for svg in drawings {
        assert_eq!(svg.value().attr("role"), Some("img"));
        for part in ["title", "desc"] {
            let text =
                svg.select(&Selector::parse(part).unwrap()).next().map(|e| e.text().collect::<String>());
            assert!(text.is_some_and(|text| text.len() > 12), "{part}");
        }
    }
    for table in all(&parsed, "table") {
        let of = |what: &str| table.select(&Selector::parse(what).unwrap()).count();
        assert_eq!((of("caption"), of("thead tr")), (1, 1));
        assert_eq!(of("thead th[scope=col]"), of("thead th"));
        assert_eq!(of("tbody tr"), of("tbody th[scope=row]"));
    }
    let levels = |selector: &str| all(&parsed, selector).len();
    assert_eq!(levels("h1"), 1);
    assert!(levels("h2") > 4 && levels("h3") == 2);
    assert_eq!(levels("main"), 1);
}

/// The custom properties of the style sheet: for the light screen, the dark one, and paper.
fn palettes() -> [BTreeMap<&'static str, &'static str>; 3] {
    let dark = STYLE.find("@media (prefers-color-scheme: dark)").unwrap();
    let paper = STYLE.find("@media print").unwrap();
    [&STYLE[..dark], &STYLE[dark..paper], &STYLE[paper..]].map(|part| {
        let block = &part[part.find(":root {").unwrap()..];
        let block = &block[..block.find('}').unwrap()];
        block
            .lines()
            .filter_map(|line| line.trim().strip_prefix("--")?.strip_suffix(';')?.split_once(": "))
            .collect()
    })
}

/// Relative luminance and contrast ratio as WCAG 2.2 defines them (w3.org/TR/WCAG22, "relative luminance",
/// "contrast ratio").
fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |colour: &str| {
        let part = |at: usize| f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
        let linear = |c: f64| if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(part(1)) + 0.7152 * linear(part(3)) + 0.0722 * linear(part(5))
    };
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn the_ratio_is_that_of_wcag() {
    assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    // The grey that is commonly given as the lightest that passes on white.
    assert!((contrast("#767676", "#ffffff") - 4.54).abs() < 0.005);
}

#[test]
fn text_and_lines_stand_out_as_wcag_aa_asks() {
    let text = [
        ("ink", "paper"),
        ("ink", "card"),
        ("ink", "alarm-card"),
        ("quiet", "paper"),
        ("quiet", "card"),
        ("accent", "paper"),
        ("accent", "alarm-card"),
        ("alarm", "card"),
        ("ink", "wood"),
    ];
    let on_bands = ["applying", "wet", "open", "shut", "sandable", "cured"];
    let on_layers = ["layer-1", "layer-2", "layer-3", "layer-4", "layer-5", "layer-6"];
    let lines = ["air", "surface", "dew", "humidity", "near", "rule", "alarm"];
    for palette in palettes() {
        assert_eq!(palette.len(), 28);
        let of = |ink: &str, ground: &str| contrast(palette[ink], palette[ground]);
        for (ink, ground) in text {
            assert!(of(ink, ground) >= 4.5, "{ink} on {ground}: {:.2}", of(ink, ground));
        }
        for ground in on_bands.into_iter().chain(on_layers) {
            assert!(of("ink", ground) >= 4.5, "ink on {ground}: {:.2}", of("ink", ground));
        }
        for line in lines {
            assert!(of(line, "card") >= 3.0, "{line}: {:.2}", of(line, "card"));
        }
    }
}
