//! The page: well-formed, closed to the outside, readable by those who cannot see it and by those who see badly.

mod parsed;

use std::collections::{BTreeMap, BTreeSet};

use super::*;
use crate::engine::job::{EntryKind, StepKind};
use crate::engine::profile::Library;
use crate::testing::{Bench, words};
use parsed::Page;

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

#[test]
fn a_conforming_parser_finds_no_fault() {
    for page in [plain(), hostile(), self::page(&Bench::default())] {
        let page = Page::parse(&page);
        assert_eq!(page.faults, Vec::<String>::new());
        assert_eq!(page.all("html").next().and_then(|html| html.attribute("lang")), Some("en"));
        assert_eq!(
            (page.all("title").next().map(|title| title.under("head")), page.all("main").count()),
            (Some(true), 1)
        );
    }
}

#[test]
fn a_fault_would_be_found() {
    let faulty = plain().replacen("</h1>", "</h2>", 1);
    assert_ne!(Page::parse(&faulty).faults, Vec::<String>::new());
}

#[test]
fn what_people_typed_is_text_and_nothing_else() {
    let page = Page::parse(&hostile());
    for name in ["script", "img", "iframe", "object", "link"] {
        assert_eq!(page.all(name).count(), 0, "{name}");
    }
    for element in &page.elements {
        let active = |name: &&String| name.starts_with("on") || *name == "src";
        assert_eq!(element.attributes.keys().find(active), None);
    }
    let said = &page.all("body").next().unwrap().text;
    assert!(said.contains("<script>alert(1)</script>"), "it is shown as it was typed");
}

#[test]
fn nothing_is_asked_of_anywhere() {
    for page in [plain(), hostile()] {
        let page = Page::parse(&page);
        let links = page.elements.iter().filter_map(|element| element.attribute("href"));
        assert!(links.into_iter().all(|link| link.starts_with('#')));
        assert!(!STYLE.contains("url(") && !STYLE.contains("@import"));
        let policy =
            page.all("meta").find(|meta| meta.attribute("http-equiv") == Some("Content-Security-Policy"));
        assert!(
            policy
                .is_some_and(|policy| policy.attribute("content").unwrap().starts_with("default-src 'none'"))
        );
    }
}

#[test]
fn every_link_leads_somewhere_and_no_name_is_given_twice() {
    for page in [plain(), hostile()] {
        let page = Page::parse(&page);
        let given = |name: &str| -> Vec<String> {
            page.elements.iter().filter_map(|element| element.attribute(name)).map(str::to_owned).collect()
        };
        let ids = given("id");
        let unique: BTreeSet<&str> = ids.iter().map(String::as_str).collect();
        assert_eq!(unique.len(), ids.len(), "{ids:?}");
        for link in given("href") {
            assert!(unique.contains(link.trim_start_matches('#')), "{link}");
        }
        for names in given("aria-labelledby") {
            assert!(names.split_whitespace().all(|name| unique.contains(name)), "{names}");
        }
    }
}

#[test]
fn drawings_and_tables_can_be_read_without_being_seen() {
    let page = Page::parse(&plain());
    let drawings: Vec<_> = page.all("svg").collect();
    assert_eq!(drawings.len(), 3, "a stack and two plots");
    assert!(drawings.iter().all(|svg| svg.attribute("role") == Some("img")));
    for part in ["title", "desc"] {
        let texts = page.all(part).filter(|part| part.under("svg")).filter(|part| part.text.len() > 12);
        assert_eq!(texts.count(), 3, "{part}");
    }
    let tables = page.all("table").count();
    assert!(tables >= 5);
    assert_eq!((page.all("caption").count(), page.all("thead").count()), (tables, tables));
    for head in page.all("th") {
        let scope = if head.under("thead") { "col" } else { "row" };
        assert_eq!(head.attribute("scope"), Some(scope), "{}", head.text);
    }
    let rows = page.all("tr").filter(|row| row.under("tbody")).count();
    assert_eq!(page.all("th").filter(|head| head.under("tbody")).count(), rows);
    assert_eq!((page.all("h1").count(), page.all("h3").count()), (1, 2));
    assert!(page.all("h2").count() > 4);
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
