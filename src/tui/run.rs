//! The driver: waits for events, runs the reducer, carries out effects, draws at most once.

use std::collections::HashSet;
use std::io::{self, BufWriter};
use std::mem::ManuallyDrop;
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use crossterm::event::Event as TerminalEvent;
use ratatui::backend::{Backend, ClearType, CrosstermBackend};
use ratatui::{Frame, Terminal};

use super::Desk;
use super::app::{App, Effect, Event, Known, Page};
use super::draw::{Sight, screen};
use super::input::{Wake, hear_signals, read_keys};
use super::terminal::{Held, ring};
use super::theme::{ColorMode, Theme};
use crate::io::platform::stdout_is_closed;

/// How the board is run.
#[derive(Debug, Clone, Copy)]
pub struct Options {
    /// How it is coloured.
    pub color: ColorMode,
    /// Whether the bell may ring.
    pub bell: bool,
    /// Whether the terminal shows nothing but ASCII.
    pub ascii: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { color: ColorMode::Auto, bell: true, ascii: false }
    }
}

/// Runs the board on the terminal until the person or a signal ends it.
///
/// # Errors
/// Those of the terminal; it is given back first.
pub fn run(desk: &mut dyn Desk, options: Options) -> io::Result<()> {
    let theme = Theme::new(options.color).in_ascii(options.ascii);
    let (sender, wakes) = mpsc::channel();
    let held = Held::claim()?;
    let signals = hear_signals(sender.clone())?;
    read_keys(sender)?;
    let out = BufWriter::with_capacity(1 << 16, io::stdout());
    let terminal = Terminal::new(CrosstermBackend::new(out))?;
    let world = Tty { held: &held, bell: options.bell };
    let ended = Driver::new(terminal, desk, world, theme).run(&wakes);
    drop(signals);
    // A terminal that was closed is left, and is no error.
    if stdout_is_closed() { Ok(()) } else { ended }
}

/// What the driver needs of the world beside the desk and the screen.
pub(super) trait World {
    fn stop(&mut self) -> io::Result<bool>;
    fn reclaim(&mut self) -> io::Result<()>;
    fn hung_up(&mut self) -> bool;
    fn ring(&mut self) -> io::Result<()>;
}

struct Tty<'a> {
    held: &'a Held,
    bell: bool,
}

impl World for Tty<'_> {
    fn stop(&mut self) -> io::Result<bool> {
        self.held.stop()
    }

    fn reclaim(&mut self) -> io::Result<()> {
        self.held.reclaim()
    }

    fn hung_up(&mut self) -> bool {
        stdout_is_closed()
    }

    fn ring(&mut self) -> io::Result<()> {
        if self.bell { ring() } else { Ok(()) }
    }
}

/// Whether the board goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Then {
    On,
    Out,
}

pub(super) struct Driver<'a, B: Backend, W> {
    /// Never dropped: its drop would report a lost terminal to a closed stream and panic. `Held` restores the
    /// terminal.
    terminal: ManuallyDrop<Terminal<B>>,
    desk: &'a mut dyn Desk,
    world: W,
    theme: Theme,
    app: App,
    told: HashSet<String>,
    /// Between a stop and the signal that ends it the terminal belongs to the shell.
    stopped: bool,
    stale: bool,
}

impl<'a, B: Backend, W: World> Driver<'a, B, W>
where
    B::Error: Send + Sync + 'static,
{
    pub(super) fn new(terminal: Terminal<B>, desk: &'a mut dyn Desk, world: W, theme: Theme) -> Self {
        let app = App::new(desk.now(), desk.speed());
        Self {
            terminal: ManuallyDrop::new(terminal),
            desk,
            world,
            theme,
            app,
            told: HashSet::new(),
            stopped: false,
            stale: true,
        }
    }

    pub(super) fn run(mut self, wakes: &Receiver<Wake>) -> io::Result<()> {
        let mut due = Instant::now();
        loop {
            let first = match wakes.recv_timeout(due.saturating_duration_since(Instant::now())) {
                Ok(wake) => Some(wake),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            };
            for wake in first.into_iter().chain(std::iter::from_fn(|| wakes.try_recv().ok())) {
                if self.wake(wake)? == Then::Out {
                    return Ok(());
                }
            }
            if Instant::now() >= due {
                if self.world.hung_up() {
                    return Ok(());
                }
                self.tick()?;
                due = Instant::now() + self.until_next();
            }
            if self.stale && !self.stopped {
                self.draw()?;
            }
        }
    }

    /// Until the clock shows another second; in the demo, where seconds fly, a tenth of one.
    fn until_next(&self) -> Duration {
        if self.desk.speed() > 1 {
            return Duration::from_millis(100);
        }
        if self.app.plan.working && matches!(self.app.page, Page::Plan(_)) {
            return Duration::from_millis(200);
        }
        let past = self.desk.now().timestamp_subsec_millis().min(999);
        Duration::from_millis(u64::from(1000 - past))
    }

    /// Whether the plan is looked at: then it is worked out, and shown when it is there.
    fn look_at_plan(&mut self) {
        let wanted = matches!(self.app.page, Page::Plan(_));
        let shown = self.desk.plan(wanted);
        if wanted && shown != self.app.plan {
            self.think(Event::Planned(shown));
        }
    }

    fn tick(&mut self) -> io::Result<()> {
        // Changed or not, the view is worded anew: its clock has moved on. But the desk forgets what it
        // knew of a job that has changed, and what is due is found in what it knows.
        self.desk.changed();
        let now = self.desk.now();
        if self.desk.ring(now) && !self.stopped {
            self.world.ring()?;
        }
        self.look();
        self.look_at_plan();
        for notice in self.desk.notices() {
            if self.told.insert(notice.clone()) {
                self.think(Event::Notice(notice));
            }
        }
        Ok(())
    }

    fn look(&mut self) {
        let now = self.desk.now();
        let seen = self.desk.view(now);
        self.think(Event::Seen(seen));
    }

    fn wake(&mut self, wake: Wake) -> io::Result<Then> {
        let event = match wake {
            Wake::Leave => return Ok(Then::Out),
            Wake::Deaf(error) => return Err(error),
            Wake::Stop => return self.stop(),
            Wake::Continue => {
                self.stopped = false;
                self.world.reclaim()?;
                return self.redraw();
            }
            Wake::Terminal(TerminalEvent::Key(key)) => Event::Key(key),
            Wake::Terminal(TerminalEvent::Paste(text)) => Event::Pasted(text),
            Wake::Terminal(_) => {
                self.stale = true;
                return Ok(Then::On);
            }
        };
        let effects = self.think(event);
        self.look_at_plan();
        for effect in effects {
            let then = match effect {
                Effect::Quit => Then::Out,
                Effect::Suspend => self.stop()?,
                Effect::Redraw => self.redraw()?,
                Effect::Enough => {
                    self.desk.enough_planned();
                    Then::On
                }
                Effect::CarryOut(order, at) => {
                    let carried = self.desk.execute(order, at);
                    self.think(Event::Carried(carried));
                    self.look();
                    Then::On
                }
            };
            if then == Then::Out {
                return Ok(then);
            }
        }
        Ok(Then::On)
    }

    fn think(&mut self, event: Event) -> Vec<Effect> {
        self.stale = true;
        let desk = &*self.desk;
        let known = Known {
            now: desk.now(),
            speed: desk.speed(),
            civil: desk.civil(),
            units: desk.units(),
            products: &|| desk.products(),
            mixtures: &|| desk.mixtures(),
            next_product: &|area| desk.next_product(area),
            check: &|area, product| desk.check(area, product),
            amounts: &|| desk.amounts(),
            last_entry: &|| desk.last_entry(),
            record: &|| desk.record(),
            coat_view: &|entry| desk.coat_view(entry),
        };
        self.app.handle(event, &known)
    }

    fn stop(&mut self) -> io::Result<Then> {
        if self.stopped {
            return Ok(Then::On);
        }
        self.stopped = true;
        match self.world.stop() {
            Ok(true) => {}
            Ok(false) => {
                self.stopped = false;
                self.think(Event::NoShell);
            }
            Err(_) => {
                self.stopped = false;
                self.world.reclaim()?;
                self.redraw()?;
            }
        }
        Ok(Then::On)
    }

    /// Forgets what the terminal shows. `Terminal::clear` would ask it where its cursor is, and the answer
    /// would go to the thread that reads the keys.
    fn redraw(&mut self) -> io::Result<Then> {
        self.terminal.backend_mut().clear_region(ClearType::All).map_err(io::Error::other)?;
        self.terminal.swap_buffers();
        self.stale = true;
        Ok(Then::On)
    }

    fn draw(&mut self) -> io::Result<()> {
        let sight = Sight { app: &self.app, civil: self.desk.civil(), theme: self.theme };
        let mut scroll = 0;
        let frame = |frame: &mut Frame<'_>| {
            let drawn = screen(&sight, frame.buffer_mut());
            scroll = drawn.scroll;
            if let Some(cursor) = drawn.cursor {
                frame.set_cursor_position(cursor);
            }
        };
        self.terminal.draw(frame).map_err(io::Error::other)?;
        self.app.set_page_lines(scroll);
        self.stale = false;
        Ok(())
    }
}

#[cfg(test)]
mod tests;
