//! The end of every manual page: exit status, files, environment, examples.

use std::io::{self, Write};

use crate::cli::Failure;

/// What a page says of one command beside its arguments.
struct Page {
    command: &'static str,
    /// What exit status 1 means.
    one: Option<&'static str>,
    examples: &'static [&'static str],
}

const fn page(command: &'static str, examples: &'static [&'static str]) -> Page {
    Page { command, one: None, examples }
}

const fn answers(command: &'static str, one: &'static str, examples: &'static [&'static str]) -> Page {
    Page { command, one: Some(one), examples }
}

const PAGES: &[Page] = &[
    page("demo", &["curewright demo", "curewright demo --report hut.html"]),
    answers(
        "mix",
        "with --ask: the batch would be dangerous, or nobody knows",
        &[
            "curewright mix epoxy-sealer --mass 300g",
            "curewright mix epoxy-sealer --mass 300g --in tray --depth 10mm",
        ],
    ),
    page("emptied", &["curewright emptied", "curewright emptied 12"]),
    page("coat", &["curewright coat roof epoxy-sealer --at -30m", "curewright coat roof --batch 12 --done"]),
    page("done", &["curewright done roof", "curewright done roof --at \"7:30 pm\""]),
    page("step", &["curewright step roof sand --minutes 45", "curewright step roof tape-off"]),
    page("reading", &["curewright reading 17.5 --humidity 62", "curewright reading 63F --place attic"]),
    page("work", &["curewright work start", "curewright work"]),
    page("note", &["curewright note roof \"a run at the ridge\"", "curewright note --photo ridge.jpg"]),
    page("import", &["curewright import logger.csv", "curewright import - --place attic"]),
    page("forecast", &["curewright forecast tonight.csv", "curewright forecast --fetch"]),
    page("scheme", &["curewright scheme scheme.toml", "curewright scheme"]),
    page("status", &["curewright status", "curewright status --all --json"]),
    answers(
        "air",
        "the surface is not far enough above the dew point",
        &["curewright air --temperature 17 --humidity 70"],
    ),
    answers("check", "not now", &["curewright check roof", "curewright check roof varnish-two-part"]),
    page("quantity", &["curewright quantity", "curewright quantity roof epoxy-sealer"]),
    page("stock", &["curewright stock", "curewright stock epoxy-sealer 2kg --price 48"]),
    page("film", &["curewright film roof 80um 90um 85um"]),
    page("free", &["curewright free"]),
    answers("plan", "there is no plan", &["curewright plan", "curewright --json plan"]),
    page("calendar", &["curewright calendar hut.ics"]),
    page("watch", &["curewright watch", "curewright watch --once --no-desktop"]),
    page("alerts", &["curewright alerts", "curewright alerts --ack all", "curewright alerts --later 3"]),
    answers(
        "check-job",
        "something is damaged",
        &["curewright check-job", "curewright check-job --rescue sound.jsonl"],
    ),
    page("undo", &["curewright undo", "curewright undo 14"]),
    page(
        "correct",
        &["curewright correct 14 --at \"yesterday 19:00\"", "curewright correct 14 --area \"door frame\""],
    ),
    page("record", &["curewright record --area roof", "curewright record --export hut.jsonl"]),
    page("report", &["curewright report hut.html", "curewright report --format csv --readings"]),
    page("learned", &["curewright learned"]),
    answers(
        "profile",
        "check: the profile has faults",
        &[
            "curewright profile list",
            "curewright profile show varnish-two-part",
            "curewright profile check own.toml",
        ],
    ),
    page("config", &["curewright config --init", "curewright config --edit"]),
    page("completions", &["curewright completions bash"]),
    page("man", &["curewright man", "curewright man --all /usr/local/share/man/man1"]),
];

const FILES: &[(&str, &str)] = &[
    ("$XDG_CONFIG_HOME/curewright/config.toml", "The settings: \"curewright config\" shows them."),
    ("$XDG_CONFIG_HOME/curewright/profiles/*.toml", "Product profiles of your own."),
    (
        "$XDG_DATA_HOME/curewright/job.db",
        "The job, unless --job names another. Files beside it that end in -wal and -shm belong to it while it is open.",
    ),
];

const ENVIRONMENT: &[(&str, &str)] = &[
    ("CUREWRIGHT_JOB", "The file of the job, as --job."),
    ("CUREWRIGHT_PROFILES", "A folder of product profiles, as --profiles."),
    ("XDG_CONFIG_HOME, XDG_DATA_HOME", "Where the files above lie: ~/.config and ~/.local/share if not set."),
    (
        "TZ, LC_ALL, LC_TIME, LANG",
        "The time zone, the face of the clock, and whether more than ASCII is shown.",
    ),
    ("NO_COLOR", "If set and not empty, the board has no colours."),
    ("VISUAL, EDITOR", "The editor of \"curewright config --edit\"."),
    ("DBUS_SESSION_BUS_ADDRESS", "The bus of the desktop that shows alerts."),
];

/// Writes the sections of the page of a command, or of the program.
pub fn sections(command: Option<&str>, out: &mut dyn Write) -> Result<(), Failure> {
    let pages: Vec<&Page> =
        PAGES.iter().filter(|page| command.is_none_or(|command| page.command == command)).collect();
    writeln!(out, ".SH \"EXIT STATUS\"")?;
    item(out, "0", "Done; the answer is yes.")?;
    let one: Vec<String> = pages
        .iter()
        .filter_map(|page| {
            Some(if command.is_some() {
                page.one?.into()
            } else {
                format!("{}: {}", page.command, page.one?)
            })
        })
        .collect();
    let no_job = "the job that --job names does not exist";
    let one = if one.is_empty() { format!("{no_job}.") } else { format!("{}; {no_job}.", one.join("; ")) };
    item(out, "1", &capital(&one))?;
    item(out, "2", "The arguments, a file or the settings are wrong; nothing was recorded.")?;
    item(out, "3", "The job, a disk, a service or the terminal failed; nothing was recorded.")?;
    writeln!(out, ".SH FILES")?;
    FILES.iter().try_for_each(|(name, what)| item(out, name, what))?;
    writeln!(out, ".SH ENVIRONMENT")?;
    ENVIRONMENT.iter().try_for_each(|(name, what)| item(out, name, what))?;
    writeln!(out, ".SH EXAMPLES")?;
    for example in
        pages.iter().flat_map(|page| page.examples.iter().take(if command.is_some() { 9 } else { 1 }))
    {
        writeln!(out, ".PP\n.nf\n{}\n.fi", escaped(example))?;
    }
    if command.is_some() {
        writeln!(out, ".SH \"SEE ALSO\"\n\\fBcurewright\\fR(1)")?;
    }
    Ok(())
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn item(out: &mut dyn Write, name: &str, what: &str) -> io::Result<()> {
    writeln!(out, ".TP\n\\fB{}\\fR\n{}", escaped(name), escaped(what))
}

/// Letters that the formatter would take for its own.
fn escaped(text: &str) -> String {
    let text = text.replace('\\', "\\e").replace('-', "\\-");
    if text.starts_with(['.', '\'']) { format!("\\&{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use clap::{CommandFactory, Parser};

    use super::PAGES;
    use crate::cli::args::Arguments;

    /// The words of a line, as a shell takes it.
    fn words(line: &str) -> Vec<String> {
        let parts = line.split('"').enumerate();
        parts
            .flat_map(|(at, part)| match at % 2 {
                0 => part.split_whitespace().map(str::to_owned).collect(),
                _ => vec![part.to_owned()],
            })
            .collect()
    }

    #[test]
    fn every_command_has_examples_that_the_program_takes() {
        for sub in Arguments::command().get_subcommands() {
            let name = sub.get_name();
            let page = PAGES.iter().find(|page| page.command == name);
            let page = page.unwrap_or_else(|| panic!("{name} has no example: add it to PAGES"));
            assert!(!page.examples.is_empty(), "{name}");
            for example in page.examples {
                let taken = Arguments::try_parse_from(words(example));
                assert!(taken.is_ok(), "{example}: {}", taken.unwrap_err());
                assert!(example.split(' ').any(|word| word == name), "{example} is on the page of {name}");
            }
        }
    }
}
