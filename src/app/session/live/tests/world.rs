//! A job on the disk, processes that follow it, and channels that do what a test wants.

use std::cell::{Ref, RefCell, RefMut};
use std::collections::{BTreeSet, HashMap};
use std::path::PathBuf;
use std::rc::Rc;

use tempfile::TempDir;

use crate::app::session::{Clock, Live, Session, Tick};
use crate::engine::config::Config;
use crate::engine::cure::Reading;
use crate::engine::job::{Alert, AlertId, AlertKind, Channel, EntryKind};
use crate::engine::profile::Library;
use crate::engine::units::{Celsius, Humidity, Moment};
use crate::io::notifier::{Message, Outcome, Outlet, Ready, Reply, Ticket};
use crate::io::store::{Store, faults};
use crate::testing::{at, library, words};

/// What a channel took.
#[derive(Debug, Clone)]
pub struct Taken {
    pub channel: Channel,
    /// The process that sent it.
    pub process: usize,
    pub kind: AlertKind,
    pub subject: String,
    pub round: u32,
    pub repeat: u32,
    pub text: String,
}

/// The notification service of the desktop.
#[derive(Debug)]
pub struct Service {
    pub up: bool,
    pub hangs: bool,
    /// It answers, and hangs with the next message.
    pub hangs_at_send: bool,
    stuck: Vec<(usize, Ticket, String)>,
}

/// Everything outside of the processes.
pub struct Hub {
    pub desktop: Service,
    pub readers_left: bool,
    pub log: Vec<Taken>,
    /// What a person chooses on the desktop of a process: the alert of this kind.
    pub chosen: Vec<(usize, AlertKind, Reply)>,
    /// What the desktop of each process shows.
    pub popups: BTreeSet<(usize, AlertId)>,
    /// After so many messages more the sender is killed before it hands over the next.
    pub killed_at_send: Option<u32>,
    /// Which process was killed so.
    pub killed: Option<usize>,
    raw: Vec<(Channel, usize, Ticket, String)>,
    answers: HashMap<usize, Vec<(Ticket, Outcome)>>,
    /// What the numbers of alerts stand for in each process.
    known: HashMap<(usize, AlertId), (AlertKind, String, u32)>,
}

pub struct World {
    _folder: TempDir,
    path: PathBuf,
    library: Library,
    hub: Rc<RefCell<Hub>>,
    next: RefCell<usize>,
    /// The person's own connection.
    store: RefCell<Option<Store>>,
}

/// A watch or a board.
pub struct Process<'a> {
    pub number: usize,
    pub session: Session<'a>,
    pub live: Live<'a>,
}

impl Drop for World {
    fn drop(&mut self) {
        faults::refuse(None);
    }
}

impl World {
    pub fn new() -> Self {
        faults::refuse(None);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hut.job");
        let desktop = Service { up: true, hangs: false, hangs_at_send: false, stuck: Vec::new() };
        let hub = Hub {
            desktop,
            readers_left: false,
            log: Vec::new(),
            chosen: Vec::new(),
            popups: BTreeSet::new(),
            killed_at_send: None,
            killed: None,
            raw: Vec::new(),
            answers: HashMap::new(),
            known: HashMap::new(),
        };
        let (hub, next) = (Rc::new(RefCell::new(hub)), RefCell::new(0));
        let store = RefCell::new(None);
        Self { _folder: folder, path, library: library(), hub, next, store }
    }

    pub fn hub(&self) -> Ref<'_, Hub> {
        self.hub.borrow()
    }

    pub fn hub_mut(&self) -> RefMut<'_, Hub> {
        self.hub.borrow_mut()
    }

    pub fn session(&self) -> Session<'_> {
        Session::open(&self.path, &self.library, Config::default(), words(), Clock::At(at(0))).unwrap()
    }

    pub fn process(&self, channels: &[Channel]) -> Process<'_> {
        let number = self.next.replace_with(|next| *next + 1);
        let session = self.session();
        let outlet = |channel: &Channel| -> Box<dyn Outlet> {
            Box::new(Fake {
                channel: *channel,
                process: number,
                hub: Rc::clone(&self.hub),
                answers: Vec::new(),
            })
        };
        let live = Live::new(&session, channels.iter().map(outlet).collect());
        Process { number, session, live }
    }

    /// One tick, and the log of what it sent.
    pub fn tick<'a>(&'a self, process: &mut Process<'a>, now: Moment) -> Tick {
        let tick = process.live.tick(&mut process.session, now);
        let mut alerts: Vec<Alert> = process.session.alerts().unwrap_or_default();
        alerts.extend_from_slice(process.live.unrecorded());
        let mut hub = self.hub_mut();
        for alert in alerts {
            let what = (alert.kind, alert.subject, alert.round);
            hub.known.insert((process.number, alert.id), what);
        }
        for (channel, process, ticket, text) in std::mem::take(&mut hub.raw) {
            let (kind, subject, round) = hub.known[&(process, ticket.alert)].clone();
            hub.log.push(Taken { channel, process, kind, subject, round, repeat: ticket.repeat, text });
        }
        tick
    }

    /// The service works again, and shows what it was given while it hung.
    pub fn wake_desktop(&self) {
        let mut hub = self.hub_mut();
        (hub.desktop.up, hub.desktop.hangs, hub.desktop.hangs_at_send) = (true, false, false);
        for (process, ticket, text) in std::mem::take(&mut hub.desktop.stuck) {
            hub.raw.push((Channel::Desktop, process, ticket, text));
            hub.answers.entry(process).or_default().push((ticket, Ok(())));
        }
    }

    /// The service dies, and the bus says so to whoever waits for it.
    pub fn kill_desktop(&self) {
        let mut hub = self.hub_mut();
        (hub.desktop.up, hub.desktop.hangs, hub.desktop.hangs_at_send) = (false, false, false);
        for (process, ticket, _) in std::mem::take(&mut hub.desktop.stuck) {
            hub.answers.entry(process).or_default().push((ticket, Err("the desktop has died".into())));
        }
    }

    /// A process is killed. What it had given to a service that hangs is lost with it.
    pub fn kill(&self, process: Process<'_>) {
        let mut hub = self.hub_mut();
        hub.desktop.stuck.retain(|(number, ..)| *number != process.number);
        hub.answers.remove(&process.number);
    }

    fn with_store<T>(&self, work: impl FnOnce(&mut Store) -> T) -> T {
        let mut store = self.store.borrow_mut();
        work(store.get_or_insert_with(|| Store::open(&self.path).unwrap()))
    }

    pub fn enter(&self, moment: Moment, kind: EntryKind) {
        // What the record refuses is not there.
        let _ = self.with_store(|store| store.append(moment, moment, kind));
    }

    pub fn log(&self, reading: Reading) {
        let _ = self.with_store(|store| store.log_readings("shop", &[reading]));
    }

    pub fn acknowledge_all(&self, moment: Moment) {
        let _ = self.with_store(|store| store.acknowledge(None, moment));
    }

    #[expect(clippy::unused_self, reason = "the fault is the thread's, whose world this is")]
    pub fn refuse_writes(&self, refuse: bool) {
        faults::refuse(refuse.then_some(1));
    }

    pub fn make_anew(&self) {
        self.store.replace(None);
        for ending in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{ending}", self.path.display()));
        }
    }
}

pub fn reading(at: Moment, air: f64) -> Reading {
    Reading { at, air: Celsius::new(air), humidity: Some(Humidity::from_fraction(0.5)), surface: None }
}

pub fn coat(area: &str, product: &str) -> EntryKind {
    EntryKind::Coat {
        area: area.into(),
        product: product.into(),
        next: None,
        finished: true,
        batch: None,
        why: None,
    }
}

/// A channel of a process.
struct Fake {
    channel: Channel,
    process: usize,
    hub: Rc<RefCell<Hub>>,
    answers: Vec<(Ticket, Outcome)>,
}

impl Outlet for Fake {
    fn channel(&self) -> Channel {
        self.channel
    }

    fn ready(&mut self) -> Ready {
        let hub = self.hub.borrow();
        match self.channel {
            Channel::Desktop if !hub.desktop.up => Ready::No("There is no desktop.".into()),
            Channel::Desktop if hub.desktop.hangs => Ready::No("The desktop does not answer.".into()),
            Channel::Output if hub.readers_left => Ready::Gone("The reader has left.".into()),
            _ => Ready::Yes,
        }
    }

    fn send(&mut self, ticket: Ticket, message: Message) {
        let mut hub = self.hub.borrow_mut();
        if hub.killed == Some(self.process) {
            return;
        }
        match &mut hub.killed_at_send {
            Some(0) => {
                (hub.killed_at_send, hub.killed) = (None, Some(self.process));
                return;
            }
            Some(left) => *left -= 1,
            None => {}
        }
        if self.channel == Channel::Desktop && hub.desktop.hangs_at_send {
            hub.desktop.hangs = true;
        }
        if self.channel == Channel::Desktop && hub.desktop.hangs {
            hub.desktop.stuck.push((self.process, ticket, message.text));
            return;
        }
        if self.channel == Channel::Desktop {
            hub.popups.insert((self.process, ticket.alert));
        }
        hub.raw.push((self.channel, self.process, ticket, message.text));
        self.answers.push((ticket, Ok(())));
    }

    fn outcomes(&mut self) -> Vec<(Ticket, Outcome)> {
        let mut answers = std::mem::take(&mut self.answers);
        let mut hub = self.hub.borrow_mut();
        if hub.killed == Some(self.process) {
            // It does not live to see what came of it.
            return Vec::new();
        }
        if self.channel == Channel::Desktop {
            answers.extend(hub.answers.remove(&self.process).unwrap_or_default());
        }
        answers
    }

    fn replies(&mut self) -> Vec<(AlertId, Reply)> {
        if self.channel != Channel::Desktop {
            return Vec::new();
        }
        let mut hub = self.hub.borrow_mut();
        let (here, elsewhere) =
            std::mem::take(&mut hub.chosen).into_iter().partition(|(process, ..)| *process == self.process);
        hub.chosen = elsewhere;
        let here: Vec<(usize, AlertKind, Reply)> = here;
        let of_kind = |kind: AlertKind| {
            let known = hub
                .known
                .iter()
                .filter(|((process, _), (known, ..))| *process == self.process && *known == kind);
            known.map(|((_, id), _)| *id).max()
        };
        here.into_iter().filter_map(|(_, kind, reply)| Some((of_kind(kind)?, reply))).collect()
    }

    fn keep(&mut self, open: &BTreeSet<AlertId>) {
        if self.channel == Channel::Desktop {
            let process = self.process;
            self.hub.borrow_mut().popups.retain(|(of, id)| *of != process || open.contains(id));
        }
    }
}
