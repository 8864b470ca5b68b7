//! A scheme that no longer names an area with coats on it.

use crate::common::Hut;

const WALL: &str = "name = \"Hut\"\n[[area]]\nname = \"wall\"\nplace = \"outside\"\nsquare_metres = 1\n\
    minutes_per_square_metre = 20\nsteps = [{ coat = \"hut-varnish\" }, { coat = \"hut-varnish\" }]\n";

fn coated() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write("hut.toml", WALL);
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50 --place outside").well();
    hut.at("2026-05-01 08:05", "coat wall").well();
    hut.at("2026-05-01 08:25", "done wall").well();
    hut
}

#[test]
fn an_area_that_the_scheme_drops_is_named_and_stays_where_it_stood() {
    let hut = coated();
    hut.write("new.toml", WALL.replace("\"wall\"", "\"side wall\""));
    let said = hut.at("2026-05-01 09:00", "scheme new.toml").well().out;
    assert!(said.contains("wall has 1 coat and is not in this scheme"), "{said}");
    assert!(said.contains("add was = \"wall\""), "{said}");
    let status = hut.at("2026-05-01 09:01", "status --json").well().json();
    let wall = status["coats"].as_array().unwrap().iter().find(|coat| coat["area"] == "wall").unwrap();
    let opens = &wall["stages"]["recoat_open"]["latest"];
    assert_eq!(opens, "2026-05-01T08:25:00Z", "its film is still in the air outside: {wall}");
    // The next scheme does not name it again.
    let again = hut.at("2026-05-01 09:02", "scheme new.toml").well();
    assert!(!again.out.contains("is not in this scheme"), "{again}");
}

#[test]
fn a_renamed_area_keeps_its_coats() {
    let hut = coated();
    hut.write("new.toml", WALL.replace("\"wall\"", "\"side wall\"\nwas = \"wall\""));
    assert_eq!(hut.at("2026-05-01 09:00", "scheme new.toml").well().out, "Hut: side wall.\n");
    let said = hut.at("2026-05-01 09:01", "status").well().out;
    assert!(said.contains("side wall: ") && said.contains("(coat 1 of 2, hut-varnish)"), "{said}");
    assert!(!said.contains("\nwall: "), "{said}");
    // Two areas cannot share the coats.
    let both = format!(
        "{WALL}{}",
        WALL.replace("\"wall\"", "\"side wall\"\nwas = \"wall\"").replace("name = \"Hut\"\n", "")
    );
    hut.write("both.toml", &both);
    let refused = hut.at("2026-05-01 09:02", "scheme both.toml");
    assert_eq!(refused.status, Some(2), "{refused}");
    assert!(refused.err.contains("is the name of another area"), "{refused}");
}

#[test]
fn a_two_part_product_on_old_paint_is_asked_about_once() {
    let hut = Hut::new();
    let old = "name = \"Hut\"\n[[area]]\nname = \"wall\"\nground = \"old paint\"\nsquare_metres = 1\n\
        minutes_per_square_metre = 20\nsteps = [{ coat = \"primer-two-part\" }]\n[free]\nhours = [\"Mon-Sun 6-23\"]\n";
    hut.write("hut.toml", old);
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    let check = hut.at("2026-05-01 08:01", "check wall");
    assert!(check.out.starts_with("ASK THE DATA SHEETS: wall, primer-two-part."), "{check}");
    assert_eq!(hut.at("2026-05-01 08:01", "plan").status, Some(2));
    assert_eq!(hut.at("2026-05-01 08:02", "coat wall").status, Some(2));
    hut.at("2026-05-01 08:03", "check wall --yes").well();
    assert!(hut.at("2026-05-01 08:04", "check wall").well().out.starts_with("GO"));
    hut.at("2026-05-01 08:04", "plan").well();
    hut.at("2026-05-01 08:05", "coat wall").well();
}

#[test]
fn old_paint_that_is_to_be_sanded_first_says_on_the_board_why_it_is_asked_about() {
    let hut = Hut::new();
    let old = "name = \"Hut\"\n[[area]]\nname = \"wall\"\nground = \"old paint\"\nsquare_metres = 1\n\
        minutes_per_square_metre = 20\nsteps = [{ sand = \"120\" }, { coat = \"primer-two-part\" }]\n";
    hut.write("hut.toml", old);
    hut.at("2026-05-01 08:00", "scheme hut.toml").well();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    let status = hut.at("2026-05-01 08:01", "status").well().out;
    let wall = status.split("wall: ASK THE DATA SHEETS\n").nth(1).unwrap();
    assert!(
        wall.trim_start().starts_with("First coat, primer-two-part. Nobody knows what the old paint is"),
        "{status}"
    );
}
