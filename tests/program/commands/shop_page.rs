//! The page that `watch` keeps for a phone.

use std::fs;
use std::time::{Duration, Instant};

use crate::common::Hut;

#[test]
fn a_look_writes_a_page_with_the_verdict_of_every_area() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20 --humidity 50").well();
    hut.at("2026-05-01 08:00", r#"coat "door & <frame>" hut-varnish --done"#).well();
    hut.at("2026-05-01 09:00", "watch --once --no-desktop --page shop.html").well();
    let page = fs::read_to_string(hut.path("shop.html")).unwrap();
    let status = hut.at("2026-05-01 09:00", "status").well().out;
    assert!(status.contains("WAIT until 10:00"), "{status}");
    assert!(page.contains(r#"<p class="verdict">WAIT until 10:00</p>"#), "{page}");
    assert!(page.contains("Door &amp; &lt;frame&gt;") && !page.contains("<frame>"), "{page}");
    assert!(page.contains(r#"data-at="2026-05-01T07:00:00Z""#), "{page}");
    assert!(page.contains(r#"data-to="2026-05-01T08:00:00Z""#), "{page}");
    assert!(!page.contains("http://") && !page.contains("https://"), "nothing is fetched");
}

#[test]
fn a_page_of_somebody_else_is_kept() {
    let hut = Hut::new().with_varnish();
    hut.write("mine.html", "<!DOCTYPE html><p>mine</p>");
    let refused = hut.run("watch --once --no-desktop --page mine.html");
    assert_eq!(refused.status, Some(2), "{refused}");
    assert!(refused.err.contains("mine.html exists and holds something else"), "{refused}");
    assert_eq!(fs::read_to_string(hut.path("mine.html")).unwrap(), "<!DOCTYPE html><p>mine</p>");
}

#[test]
fn what_another_process_records_is_on_the_page_within_seconds() {
    let hut = Hut::new().with_varnish();
    hut.run("reading 20 --humidity 50").well();
    let mut watch = hut.command().args(["watch", "--no-desktop", "--page", "shop.html"]).spawn().unwrap();
    let shows = |what: &str| {
        let until = Instant::now() + Duration::from_secs(20);
        while Instant::now() < until {
            if fs::read_to_string(hut.path("shop.html")).is_ok_and(|page| page.contains(what)) {
                return true;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        false
    };
    assert!(shows("<h1"), "it is there at once");
    hut.run("coat sill hut-varnish").well();
    let seen = shows("COATING");
    let _ = watch.kill();
    watch.wait().unwrap();
    assert!(seen, "{}", fs::read_to_string(hut.path("shop.html")).unwrap());
}
