//! The report, as a person asks for it; and its figures, held against those of the board and of `status`.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::PermissionsExt;

use chrono::{DateTime, Utc};
use serde_json::Value;

use crate::common::{Hut, Story};

/// Two coats of varnish, a sanding too soon, a cold night, tins and a note.
fn job() -> Hut {
    let hut = Hut::new().with_varnish();
    hut.write(
        "hut.toml",
        "name = \"Hut | <b>old</b>\"\n[[area]]\nname = \"door\"\nsquare_metres = 2.2\nminutes_per_square_metre = 9\n\
         steps = [{ coat = \"hut-varnish\" }, { sand = \"320\", minutes = 30 }, { coat = \"hut-varnish\" }, \
         { coat = \"hut-varnish\" }]\n",
    );
    for (moment, line) in [
        ("2026-05-01 07:00", "scheme hut.toml"),
        ("2026-05-01 07:30", "reading 18 --humidity 60 --surface 17"),
        ("2026-05-01 08:00", "work start door"),
        ("2026-05-01 08:10", "coat door"),
        ("2026-05-01 08:30", "done door"),
        ("2026-05-01 08:40", "work stop"),
        ("2026-05-01 08:50", "reading 4.5 --humidity 92"),
        ("2026-05-01 12:00", "reading 17 --humidity 65"),
        ("2026-05-01 15:00", "step door sand --minutes 25"),
        ("2026-05-01 18:00", "reading 16 --humidity 70"),
        ("2026-05-01 18:30", "coat door"),
        ("2026-05-01 18:55", "done door"),
        ("2026-05-01 19:00", r#"note door "=HYPERLINK(x) a | run" --entry 4"#),
        ("2026-05-02 09:00", "reading 15 --humidity 66"),
    ] {
        hut.at(moment, line).well();
    }
    hut
}

/// A table; what ends its lines may not go to a terminal, and so it is written to a file.
fn table(hut: &Hut, options: &str) -> String {
    let _ = fs::remove_file(hut.path("table.csv"));
    hut.at(NOW, &format!("report table.csv {options}")).well();
    fs::read_to_string(hut.path("table.csv")).unwrap()
}

const NOW: &str = "2026-05-02 09:10";

fn csv(text: &str) -> Vec<BTreeMap<String, String>> {
    assert!(
        text.split("\r\n").count() > 1 && !text.replace("\r\n", "").contains('\n'),
        "lines end with CR LF"
    );
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(Result::unwrap).collect()
}

#[test]
fn a_file_of_something_else_and_a_device_are_left_as_they_are() {
    let hut = job();
    hut.write("mine.md", "# What I wrote myself\n");
    for line in ["report mine.md", "record --export mine.md", "report /dev/null"] {
        let ran = hut.at(NOW, line);
        assert_eq!(ran.status, Some(2), "{ran}");
    }
    assert_eq!(fs::read_to_string(hut.path("mine.md")).unwrap(), "# What I wrote myself\n");
    hut.write("mine.html", "<!DOCTYPE html><html lang=\"en\"><p>How I like curewright.");
    assert_eq!(hut.at(NOW, "report mine.html").status, Some(2));
    assert_eq!(hut.at(NOW, "record --export mine.html").status, Some(2));
    for line in ["report hut.md", "report hut.html", "report hut.csv", "record --export hut.jsonl"] {
        hut.at(NOW, line).well();
        // What was written here is written anew.
        hut.at(NOW, line).well();
    }
}

#[test]
fn a_sanding_too_soon_and_a_coat_that_the_profile_does_not_list_are_reported_at_once() {
    let hut = Hut::new();
    hut.at("2026-05-01 08:00", "reading 18 --humidity 60").well();
    hut.at("2026-05-01 08:10", "coat wheels primer-alkyd").well();
    hut.at("2026-05-01 08:30", "done wheels").well();
    let sanded = hut.at("2026-05-01 12:00", "step wheels sand").well();
    assert!(sanded.out.contains("It may still be too soft: it can be sanded from "), "{sanded}");
    hut.at("2026-05-04 08:00", "reading 18 --humidity 60").well();
    let sanded = hut.at("2026-05-04 08:00", "step wheels sand").well();
    assert!(!sanded.out.contains("too soft"), "{sanded}");
    let asked = hut.at("2026-05-04 08:10", "check wheels paint-two-part");
    assert!(asked.out.starts_with("NO: wheels") || asked.out.contains("NO: wheels"), "{asked}");
    assert_eq!(asked.status, Some(1), "{asked}");
    assert!(asked.out.contains("must not go on primer-alkyd: its solvents lift"), "{asked}");
    let refused = hut.at("2026-05-04 08:20", "coat wheels paint-two-part");
    assert!(refused.status != Some(0) && refused.err.contains("--yes"), "{refused}");
    let named = hut.at("2026-05-04 08:10", "check wheels enamel-alkyd");
    assert!(!named.out.contains("does not list"), "{named}");
    // A person who has asked both data sheets says so, and the record keeps it.
    let yes = hut.at("2026-05-04 08:10", "check wheels paint-two-part --yes");
    assert_eq!(yes.status, Some(0), "{yes}");
    let record = hut.at("2026-05-04 08:20", "record").well();
    assert!(record.out.contains("both data sheets allow paint-two-part on primer-alkyd"), "{record}");
    hut.at("2026-05-04 08:20", "coat wheels paint-two-part --done").well();
}

#[test]
fn the_report_shows_what_was_done() {
    let hut = job();
    let mut story = Story::of(&hut);
    story.at(NOW, "report");
    let mut empty = Hut::new();
    empty = empty.with("LANG", "en_US.UTF-8");
    story.tell("Of a job in which nothing was recorded.");
    story.add(&empty.at(NOW, "report").well());
    story.ends("a_report");
}

#[test]
fn a_coat_from_a_batch_past_its_pot_life_is_named_in_every_form() {
    let hut = Hut::new();
    for (moment, line) in [
        ("2026-05-01 07:30", "reading 20 --humidity 60"),
        ("2026-05-01 08:00", "mix varnish-two-part --mass 300g"),
        ("2026-05-01 08:15", "coat door varnish-two-part --done --batch 2"),
        ("2026-05-01 11:30", "reading 20 --humidity 60"),
        ("2026-05-01 12:00", "coat sill varnish-two-part --done --batch 2 --yes"),
    ] {
        hut.at(moment, line).well();
    }
    let says = "taken from batch 2 at Fri 1 May 2026 12:00, ";
    let text = hut.at(NOW, "report").well().out;
    assert_eq!(text.matches(says).count(), 2, "under the limits and beside the coat:\n{text}");
    assert!(
        text.contains("after its pot life was over at the earliest (usable until Fri 1 May 2026 10:"),
        "{text}"
    );
    assert!(hut.at(NOW, "report - --format html").well().out.contains(says));
    let coats = csv(&table(&hut, ""));
    assert!(
        coats[1]["outside the limits"].contains(says) && coats[0]["outside the limits"].is_empty(),
        "{coats:?}"
    );
}

#[test]
fn a_page_that_only_speaks_of_the_program_is_not_replaced() {
    let hut = job();
    for (name, mine) in [
        (
            "mine.html",
            "<!DOCTYPE html><html><head><title>My hut</title></head><body>Made by curewright 0.1.0</body></html>",
        ),
        ("mine.md", "# My hut\n\nMade by curewright 0.1.0 as of Sat, and finished by me.\n"),
    ] {
        hut.write(name, mine);
        let said = hut.run(&format!("report {name}"));
        assert_eq!(said.status, Some(2), "{said}");
        assert!(said.err.contains("exists and holds something else"), "{said}");
        assert_eq!(fs::read_to_string(hut.path(name)).unwrap(), mine);
    }
    for name in ["ours.html", "ours.md", "ours.csv"] {
        hut.run(&format!("report {name}")).well();
        hut.run(&format!("report {name}")).well();
    }
}

#[test]
fn what_a_killed_write_has_left_is_removed_by_a_later_one() {
    let hut = job();
    for name in [".curewright-Ab3xYz", ".curewright-fresh1", ".curewright-is-mine", ".curewright-folder"] {
        hut.write(name, "half of a page");
    }
    let long_ago = std::time::UNIX_EPOCH + std::time::Duration::from_secs(1_700_000_000);
    for name in [".curewright-Ab3xYz", ".curewright-is-mine"] {
        fs::File::options().write(true).open(hut.path(name)).unwrap().set_modified(long_ago).unwrap();
    }
    hut.run("report hut.md").well();
    let left = |name: &str| hut.path(name).exists();
    assert!(!left(".curewright-Ab3xYz"));
    assert!(left(".curewright-fresh1"), "somebody may be writing it");
    assert!(left(".curewright-is-mine"), "its name is not one of those");
}

#[test]
fn it_is_written_to_a_file_whole_or_not_at_all() {
    let hut = job();
    for (name, begins) in [
        ("r.html", "<!DOCTYPE html>"),
        ("r.md", "<!-- curewright "),
        ("r.csv", "area,coat,"),
        ("r.HTM", "<!DOCTYPE html>"),
    ] {
        let said = hut.at(NOW, &format!("report {name}")).well();
        assert_eq!(said.out, format!("Wrote {name}.\n"));
        assert!(fs::read_to_string(hut.path(name)).unwrap().starts_with(begins), "{name}");
    }
    let stdout = hut.at(NOW, "report - --format html").well();
    assert_eq!(stdout.out, fs::read_to_string(hut.path("r.html")).unwrap());
    let json = hut.at(NOW, "--json report r.html").json();
    assert_eq!((&json["file"], json["bytes"].as_u64()), (&"r.html".into(), Some(stdout.out.len() as u64)));
    assert_eq!(
        fs::metadata(hut.path("r.html")).unwrap().permissions().mode() & 0o077,
        0o044,
        "others may read it"
    );

    hut.write("kept/r.md", "as it was");
    let folder = hut.path("kept");
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o500)).unwrap();
    // Root may write everywhere.
    if fs::write(folder.join("x"), "").is_err() {
        hut.refused(3, "report kept/r.md");
    }
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o700)).unwrap();
    for line in ["report kept", "report nowhere/r.md"] {
        hut.refused(3, line);
    }
    for line in ["report --readings --format html", "report --readings r.html", "report --format pdf"] {
        hut.refused(2, line);
    }
    assert_eq!(fs::read_to_string(folder.join("r.md")).unwrap(), "as it was");
    let left: Vec<_> = fs::read_dir(folder).unwrap().map(|file| file.unwrap().file_name()).collect();
    assert!(left.iter().all(|name| !name.to_string_lossy().contains("curewright")), "{left:?}");
}

#[test]
fn the_tables_are_read_by_a_reader_of_tables() {
    let hut = job();
    let coats = csv(&table(&hut, ""));
    assert_eq!(coats.len(), 2);
    let first = &coats[0];
    let of = |name: &str| first[name].as_str();
    assert_eq!((of("area"), of("coat"), of("product")), ("door", "1", "hut-varnish"));
    assert_eq!((of("first stroke"), of("took [min]")), ("2026-05-01T08:10:00+02:00", "20.0"));
    assert_eq!(
        (of("recoat_open at"), of("sandable latest")),
        ("2026-05-01T10:30:00+02:00", "2026-05-01T16:47:27+02:00")
    );
    assert_eq!((of("air lowest [°C]"), of("humidity highest [%]")), ("4.50", "92.0"));
    assert!(
        of("outside the limits").contains("Perhaps: colder than the product allows: 4.5 °C"),
        "{first:?}"
    );
    assert!(of("outside the limits").contains("sanded too early"), "{first:?}");
    assert!(of("notes").contains("=HYPERLINK"), "it is told, behind its moment");
    let readings = csv(&table(&hut, "--readings"));
    assert_eq!(readings.len(), 5);
    assert_eq!(readings[0]["time"], "2026-05-01T07:30:00+02:00");
    assert_eq!((&*readings[0]["surface [°C]"], &*readings[1]["surface [°C]"]), ("17.00", ""));
}

#[test]
fn readings_that_were_written_can_be_taken_in_again() {
    let hut = job();
    hut.at(NOW, "report --readings log.csv").well();
    let other = Hut::new();
    other.write("log.csv", fs::read(hut.path("log.csv")).unwrap());
    other.run("import log.csv").well();
    assert_eq!(table(&other, "--readings"), fs::read_to_string(hut.path("log.csv")).unwrap());
}

#[test]
fn the_units_are_those_of_the_settings() {
    let hut = job();
    hut.settings("clock = \"12h\"\n[units]\ntemperature = \"F\"\narea = \"ft2\"\n");
    let coats = csv(&table(&hut, ""));
    assert_eq!(coats[0]["air lowest [°F]"], "40.10");
    assert!(coats[0].contains_key("wet film [mil]"));
    let text = hut.at(NOW, "report").well().out;
    assert!(text.contains("40.1 °F") && text.contains("8:10 am") && text.contains("24 ft²"), "{text}");
    let page = hut.at(NOW, "report --format html").well().out;
    assert!(page.contains("40.1 °F") && page.contains("8:10 am") && !page.contains(" °C<"), "{page}");
}

#[test]
fn no_name_becomes_a_formula_a_tag_or_a_table() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 07:00", "reading 20").well();
    for name in ["=cmd|'/C calc'!A0", "@x", "+1", "<script>x</script>"] {
        hut.run_words(&["--at", "2026-05-01 08:00", "coat", name, "hut-varnish", "--done", "--new"]).well();
    }
    for row in csv(&table(&hut, "")) {
        for (name, cell) in row {
            let formula = cell.starts_with(['=', '+', '@', '\t', '\r']);
            assert!(!formula && (!cell.starts_with('-') || cell.parse::<f64>().is_ok()), "{name}: {cell}");
        }
    }
    let markdown = hut.at(NOW, "report").well().out;
    assert!(markdown.contains("## \\<script\\>x\\</script\\>"), "{markdown}");
    let page = hut.at(NOW, "report --format html").well().out;
    assert!(!page.contains("<script"), "{page}");
}

fn moment(text: &str) -> Option<DateTime<Utc>> {
    (!text.is_empty()).then(|| DateTime::parse_from_rfc3339(text).unwrap().to_utc())
}

#[test]
fn the_figures_of_report_board_and_status_are_the_same() {
    let hut = job();
    let status = hut.at(NOW, "status --all --json").json();
    let table = csv(&table(&hut, ""));
    let page = hut.at(NOW, "report --format html").well().out;
    let coats = status["coats"].as_array().unwrap();
    assert_eq!(coats.len(), table.len());
    for (coat, row) in coats.iter().zip(&table) {
        let at = |value: &Value| value.as_str().map(|text| moment(text).unwrap());
        assert_eq!(at(&coat["first_stroke"]), moment(&row["first stroke"]));
        assert_eq!(at(&coat["last_stroke"]), moment(&row["last stroke"]));
        let mut of_status = Vec::new();
        for (stage, times) in coat["stages"].as_object().unwrap() {
            for which in ["earliest", "at", "latest"] {
                let moment = at(&times[which]);
                assert_eq!(moment, self::moment(&row[&format!("{stage} {which}")]), "{stage} {which}");
                of_status.extend(moment);
            }
        }
        let begins = format!("<article class=\"coat\" aria-labelledby=\"coat-{}\">", coat["id"]);
        let article = page.split(&begins);
        let article = article.last().unwrap().split("</article>").next().unwrap();
        let times = article.split("datetime=\"").skip(1).map(|rest| rest.split('"').next().unwrap());
        let mut of_page: Vec<_> = times.map(|time| moment(time).unwrap()).collect();
        of_page.sort();
        of_status.sort();
        assert_eq!(of_page, of_status);
    }
    // The board's sentences, which `status` prints, are the page's.
    let board = hut.at(NOW, "status").well().out;
    let door = board.split("\ndoor: ").nth(1).unwrap();
    let says = door.lines().nth(1).unwrap().trim();
    assert!(page.contains(says), "{says}");
    let head = door.split(" (coat").next().unwrap();
    assert!(page.contains(&format!("Now: {head}.")), "{head}");
    let hours = hut.at(NOW, "work --json").json();
    let worked = |minutes: i64| format!("{} h {:02} min", minutes / 60, minutes % 60);
    assert!(page.contains(&worked(hours["minutes"].as_i64().unwrap())), "{hours}");
}

#[test]
fn the_head_says_who_and_where_and_leaves_lines_for_what_it_does_not_know() {
    let hut = Hut::new().with_varnish();
    hut.settings("[report]\nowner = \"A <owner>\"\ninstruments = \"comb; thermometer\"\n");
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let page = hut.at("2027-01-01 08:00", "report --format html").well().out;
    assert!(page.contains("<dt>Owner</dt><dd class=\"\">A &lt;owner&gt;</dd>"), "{page}");
    assert!(page.contains("<dt>Applied by</dt><dd class=\"blank\"></dd>"), "{page}");
    assert!(page.contains("<dt>Date and signature</dt><dd class=\"blank\"></dd>"), "{page}");
    let text = hut.at("2027-01-01 08:00", "report --format md").well().out;
    assert!(text.contains("| Instruments | comb; thermometer |"), "{text}");
    assert!(text.contains("| Place | ……"), "{text}");
    assert!(text.contains("Fri 1 May 2026 16:00"), "moments have their year: {text}");
    let refused = hut.at("2027-01-01 08:00", "status");
    assert_eq!(refused.status, Some(0), "{refused}");
    hut.settings("[report]\nboss = \"me\"\n");
    let refused = hut.run("status");
    assert!(refused.status == Some(2) && refused.err.contains("boss"), "{refused}");
}
