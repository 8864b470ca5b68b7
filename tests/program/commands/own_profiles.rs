//! Products of one's own: where they are found, which wins, and that a bad one does not hide the others.

use crate::common::{Hut, Ran, VARNISH, same};

/// The line of the list that names a product, and where it is from.
fn listed(ran: &Ran, id: &str) -> Option<String> {
    let mut lines = ran.out.lines();
    lines.find(|line| line.split_whitespace().next() == Some(id))?;
    Some(lines.next().unwrap_or_default().trim().to_owned())
}

#[test]
fn a_product_of_one_s_own_is_found_in_the_folder_of_the_settings() {
    let hut = Hut::new();
    assert_eq!(listed(&hut.run("profile list").well(), "hut-varnish"), None);
    hut.own_profile("hut-varnish.toml", VARNISH);
    let from = listed(&hut.run("profile list").well(), "hut-varnish");
    assert_eq!(from.as_deref(), Some("from [hut]/config/curewright/profiles/hut-varnish.toml"));
    hut.at("2026-05-01 08:00", "coat door hut-varnish").well();
}

#[test]
fn another_folder_is_named_by_an_option_or_by_the_environment() {
    let hut = Hut::new();
    std::fs::create_dir(hut.path("sheets")).unwrap();
    hut.write("sheets/varnish.toml", VARNISH);
    hut.write("sheets/notes.txt", "not a profile");
    let from = listed(&hut.run("--profiles sheets profile list").well(), "hut-varnish");
    assert_eq!(from.as_deref(), Some("from sheets/varnish.toml"));
    let hut = hut.with("CUREWRIGHT_PROFILES", "sheets");
    let from = listed(&hut.run("profile list").well(), "hut-varnish");
    assert_eq!(from.as_deref(), Some("from sheets/varnish.toml"));
    assert_eq!(hut.run("--profiles nowhere status").status, Some(3));
}

#[test]
fn a_product_of_one_s_own_wins_over_the_built_in_one() {
    let hut = Hut::new();
    hut.own_profile("sealer.toml", VARNISH.replace("hut-varnish", "epoxy-sealer"));
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat roof epoxy-sealer --done").well();
    let json = hut.at("2026-05-01 08:00", "status --json").json();
    assert_eq!(json["coats"][0]["stages"]["recoat_open"]["at"], "2026-05-01T08:00:00Z");
}

#[test]
fn one_bad_profile_does_not_hide_the_others() {
    let hut = Hut::new().with_varnish();
    let sound = hut.run("profile list").well().out.lines().count();
    hut.own_profile("closes-first.toml", VARNISH.replace("hut-varnish", "roof-paint").replace("5 h", "1 h"));
    hut.own_profile("bytes.toml", b"id = \"\xff\xfe\"\n");
    hut.own_profile("long.toml", "#".repeat(2 << 20));
    std::fs::create_dir(hut.own_profile("x", "").with_file_name("folder.toml")).unwrap();
    let list = hut.run("profile list");
    assert_eq!(list.status, Some(0), "{list}");
    assert_eq!(list.out.lines().count(), sound + 4, "{list}");
    same("bad_profiles_beside_sound_ones", &list.to_string());
    // Everything else goes on, and says nothing of it where it does not matter.
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    let status = hut.at("2026-05-01 08:00", "status");
    assert_eq!((status.status, status.err.lines().count()), (Some(0), 4), "{status}");
    let refused = hut.refused(2, r#"--at "2026-05-01 08:00" coat wall roof-paint"#);
    assert!(refused.err.contains("closes-first.toml:"), "{refused}");
    assert!(refused.err.contains("the window opens after 2 h, but closes after 1 h"), "{refused}");
}

#[test]
fn a_coat_whose_profile_went_away_leaves_the_rest_of_the_job_to_be_seen() {
    let hut = Hut::new().with_varnish();
    hut.at("2026-05-01 08:00", "reading 20").well();
    hut.at("2026-05-01 08:00", "coat door hut-varnish --done").well();
    hut.at("2026-05-01 08:00", "coat roof epoxy-sealer --done").well();
    std::fs::remove_file(hut.own_profile("hut-varnish.toml", "")).unwrap();
    let status = hut.at("2026-05-01 08:30", "status").well();
    same("a_profile_that_went_away", &status.to_string());
    hut.at("2026-05-01 08:30", "watch --once --no-desktop").well();
}
