//! The program as a person runs it: the real binary, in a home of its own, with nothing in its environment
//! but what a test put there.

use std::ffi::{OsStr, OsString};
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

/// A varnish whose times are the same at every temperature, so that a test can calculate them in its head:
/// tack-free after 1 h, tape off within 90 min, open from 2 h to 5 h, sandable after 8 h, through after
/// 3 d, and no progress below 4 °C. It does not say when it may be handled.
pub const VARNISH: &str = r#"
schema = 1
id = "hut-varnish"
name = "Varnish that minds no temperature"
family = "varnish"
cure = "reaction"
basis = "a test"
cautions = ["Solvent vapour burns and dazes: ventilate."]

[application]
air = [5, 35]
stall_below = 4

[stages]
tack_free = [{ at = 10, time = "1 h" }, { at = 30, time = "1 h" }]
tape_by   = [{ at = 10, time = "90 min" }, { at = 30, time = "90 min" }]
sandable  = [{ at = 10, time = "8 h" }, { at = 30, time = "8 h" }]
full_cure = [{ at = 10, time = "3 d" }, { at = 30, time = "3 d" }]

[[recoat]]
next  = ["hut-varnish"]
open  = [{ at = 10, time = "2 h" }, { at = 30, time = "2 h" }]
close = [{ at = 10, time = "5 h" }, { at = 30, time = "5 h" }]
"#;

/// A home with a job in it, and a bench to work at: the folder that commands are run in.
pub struct Hut {
    folder: TempDir,
    environment: Vec<(&'static str, OsString)>,
}

impl Hut {
    /// A new home in Berlin, with a clock of 24 hours.
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for name in ["home", "config", "data", "bench"] {
            fs::create_dir(folder.path().join(name)).unwrap();
        }
        let hut = Self { folder, environment: Vec::new() };
        hut.with("TZ", "Europe/Berlin").with("LANG", "C.UTF-8")
    }

    /// The same with one more name in the environment, or another value for it.
    pub fn with(mut self, name: &'static str, value: impl Into<OsString>) -> Self {
        self.environment.retain(|(known, _)| *known != name);
        self.environment.push((name, value.into()));
        self
    }

    /// The same with [`VARNISH`] among the profiles of its own.
    pub fn with_varnish(self) -> Self {
        self.own_profile("hut-varnish.toml", VARNISH);
        self
    }

    /// A file on the bench.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join("bench").join(name)
    }

    /// The job, where the program keeps it when it is not told otherwise.
    pub fn job(&self) -> PathBuf {
        self.folder.path().join("data/curewright/job.db")
    }

    /// Writes a file on the bench.
    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        put(self.path(name), text.as_ref())
    }

    /// Writes the settings.
    pub fn settings(&self, text: impl AsRef<[u8]>) -> PathBuf {
        put(self.folder.path().join("config/curewright/config.toml"), text.as_ref())
    }

    /// Writes a profile of one's own.
    pub fn own_profile(&self, name: &str, text: impl AsRef<[u8]>) -> PathBuf {
        put(self.folder.path().join("config/curewright/profiles").join(name), text.as_ref())
    }

    /// The program, to be run at the bench.
    pub fn command(&self) -> Command {
        self.any_command(env!("CARGO_BIN_EXE_curewright"))
    }

    /// Another program with the same environment, at the bench.
    pub fn any_command(&self, program: impl AsRef<OsStr>) -> Command {
        let mut command = Command::new(program);
        command.env_clear().envs(self.environment()).current_dir(self.folder.path().join("bench"));
        command.stdin(Stdio::null());
        command
    }

    /// Everything that the program finds in its environment. There is no desktop to be reached.
    pub fn environment(&self) -> Vec<(&'static str, OsString)> {
        let folder = |name: &str| self.folder.path().join(name).into_os_string();
        let mut all = vec![
            ("HOME", folder("home")),
            ("XDG_CONFIG_HOME", folder("config")),
            ("XDG_DATA_HOME", folder("data")),
            ("DBUS_SESSION_BUS_ADDRESS", "unix:path=/nonexistent/bus".into()),
        ];
        all.extend(self.environment.iter().cloned());
        all
    }

    /// Runs a line as it would be typed after the program's name.
    pub fn run(&self, line: &str) -> Ran {
        self.run_words(&words(line))
    }

    /// Runs a line as of a moment.
    pub fn at(&self, moment: &str, line: &str) -> Ran {
        let mut all = vec!["--at".to_owned(), moment.to_owned()];
        all.extend(words(line));
        self.run_words(&all)
    }

    /// Runs the program with arguments that nobody could type in a line.
    pub fn run_words<W: AsRef<OsStr>>(&self, words: &[W]) -> Ran {
        let shown = words.iter().map(|word| quoted(&word.as_ref().to_string_lossy())).collect::<Vec<_>>();
        let output = self.command().args(words).output().unwrap();
        self.ran(&format!("curewright {}", shown.join(" ")), &output)
    }

    /// What a program that ran here has said.
    pub fn ran(&self, line: &str, output: &std::process::Output) -> Ran {
        let text = |bytes: &[u8]| {
            let text = String::from_utf8(bytes.to_vec()).expect("the program writes UTF-8");
            let driven = text.chars().find(|c| c.is_control() && *c != '\n');
            assert_eq!(driven, None, "a control character reached the terminal: {text:?}");
            self.without_folder(&text)
        };
        Ran {
            line: self.without_folder(line),
            out: text(&output.stdout),
            err: text(&output.stderr),
            status: output.status.code(),
        }
    }

    /// The text with the place of this home taken out, which is another at every run.
    fn without_folder(&self, text: &str) -> String {
        text.replace(&*self.folder.path().to_string_lossy(), "[hut]")
    }

    /// Every entry of the job, for comparison.
    pub fn record(&self) -> Value {
        self.run("record --json").json()
    }

    /// Runs a line that has to fail with this status, say why on standard error and leave the record as it
    /// was.
    pub fn refused(&self, status: i32, line: &str) -> Ran {
        self.refused_words(status, &words(line))
    }

    /// The same with arguments that nobody could type in a line.
    pub fn refused_words<W: AsRef<OsStr>>(&self, status: i32, words: &[W]) -> Ran {
        let before = self.record();
        let ran = self.run_words(words);
        assert_eq!(ran.status, Some(status), "{ran}");
        assert_eq!(ran.out, "", "{ran}");
        assert!(!ran.err.trim().is_empty(), "{ran}");
        assert_eq!(self.record(), before, "the record has changed: {ran}");
        ran
    }
}

fn put(path: PathBuf, text: &[u8]) -> PathBuf {
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, text).unwrap();
    path
}

/// What one command said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ran {
    pub line: String,
    pub out: String,
    pub err: String,
    pub status: Option<i32>,
}

impl Ran {
    /// Panics unless all went well.
    #[track_caller]
    pub fn well(self) -> Self {
        assert_eq!((self.status, self.err.as_str()), (Some(0), ""), "{self}");
        self
    }

    /// The answer as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        assert_eq!(self.status, Some(0), "{self}");
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {self}"))
    }
}

/// As it stands in a terminal, with "2>" before what went to standard error, and the exit status where it
/// is not 0.
impl fmt::Display for Ran {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "$ {}", self.line)?;
        f.write_str(&self.out)?;
        for line in self.err.lines() {
            writeln!(f, "{}", format!("2> {line}").trim_end())?;
        }
        match self.status {
            Some(0) => Ok(()),
            Some(status) => writeln!(f, "[exit {status}]"),
            None => writeln!(f, "[killed]"),
        }
    }
}

/// Commands in their order, with what is told between them: what a reviewer reads.
pub struct Story<'h> {
    hut: &'h Hut,
    text: String,
}

impl<'h> Story<'h> {
    /// A story that begins.
    pub fn of(hut: &'h Hut) -> Self {
        Self { hut, text: String::new() }
    }

    /// Tells what happens.
    pub fn tell(&mut self, words: &str) {
        let gap = if self.text.is_empty() { "" } else { "\n" };
        self.text += &format!("{gap}# {words}\n\n");
    }

    /// Runs a line, which has to go well.
    #[track_caller]
    pub fn run(&mut self, line: &str) -> Ran {
        let ran = self.hut.run(line).well();
        self.add(&ran);
        ran
    }

    /// Runs a line as of a moment, which has to go well.
    #[track_caller]
    pub fn at(&mut self, moment: &str, line: &str) -> Ran {
        let ran = self.hut.at(moment, line).well();
        self.add(&ran);
        ran
    }

    /// Adds something that ran already.
    pub fn add(&mut self, ran: &Ran) {
        self.text += &ran.to_string();
    }

    /// Compares the whole with what is kept under this name.
    #[track_caller]
    pub fn ends(self, name: &str) {
        same(name, &self.text);
    }
}

/// Compares a text with the one kept under a name in `tests/program/commands/snapshots`. After a change that is
/// meant, `INSTA_UPDATE=always cargo test --test program commands` writes them again, to be read before they are
/// committed.
#[track_caller]
pub fn same(name: &str, text: &str) {
    let mut settings = insta::Settings::new();
    settings.set_snapshot_path("commands/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

/// Splits a line as a shell does that knows double quotes only.
pub fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word: Option<String> = None;
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => {
                quoted = !quoted;
                word.get_or_insert_default();
            }
            ' ' if !quoted => words.extend(word.take()),
            c => word.get_or_insert_default().push(c),
        }
    }
    assert!(!quoted, "a quotation mark is not closed: {line}");
    words.extend(word);
    words
}

fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_./:+=%,".contains(c);
    let word: String = word.chars().flat_map(shown).collect();
    if !word.is_empty() && word.chars().all(plain) { word } else { format!("\"{word}\"") }
}

fn shown(c: char) -> Vec<char> {
    if c.is_control() { c.escape_default().collect() } else { vec![c] }
}

/// Waits for something that another process does and that cannot be waited on otherwise.
#[track_caller]
pub fn comes_true(what: &str, mut condition: impl FnMut() -> bool) {
    let end = Instant::now() + Duration::from_secs(30);
    while !condition() {
        assert!(Instant::now() < end, "did not come: {what}");
        thread::sleep(Duration::from_millis(10));
    }
}

/// A file's bytes, and the names of everything beside it.
pub fn as_it_lies(path: &Path) -> (Option<Vec<u8>>, Vec<OsString>) {
    let beside = fs::read_dir(path.parent().unwrap()).unwrap().map(|file| file.unwrap().file_name());
    let mut beside: Vec<OsString> = beside.collect();
    beside.sort();
    (fs::read(path).ok(), beside)
}
