//! A channel of this process: its health, and when to try again.

use chrono::TimeDelta;

use crate::engine::job::Channel;
use crate::engine::units::Moment;
use crate::io::notifier::{Outlet, Ready};

/// The pause after a failure, doubled each time.
const FIRST_REST: TimeDelta = TimeDelta::seconds(5);
/// The longest pause.
const LONGEST_REST: TimeDelta = TimeDelta::seconds(60);
/// A channel and its state.
pub(super) struct Served {
    pub(super) outlet: Box<dyn Outlet>,
    failures: u32,
    rest: Option<(Moment, Moment)>,
    pub(super) trouble: Option<String>,
    pub(super) gone: bool,
    /// Whether it is unknown if it can take a message.
    pub(super) asked: bool,
}

impl Served {
    pub(super) fn new(outlet: Box<dyn Outlet>) -> Self {
        Self { outlet, failures: 0, rest: None, trouble: None, gone: false, asked: false }
    }

    /// Detects that a reader has left, even with nothing to send. A desktop comes and goes, and is only checked
    /// before a message.
    pub(super) fn see_whether_gone(&mut self) {
        let may_go = matches!(self.outlet.channel(), Channel::Output | Channel::Terminal);
        if may_go
            && !self.gone
            && let Ready::Gone(why) = self.outlet.ready()
        {
            self.gone = true;
            self.trouble = Some(why);
        }
    }

    pub(super) fn rests_until(&self, now: Moment) -> Option<Moment> {
        // A clock that was set back must not extend a pause.
        self.rest.filter(|(from, until)| (*from..*until).contains(&now)).map(|(_, until)| until)
    }

    pub(super) fn failed(&mut self, why: String, now: Moment) {
        let rest = FIRST_REST * 2_i32.pow(self.failures.min(8));
        self.failures += 1;
        self.rest = Some((now, now + rest.min(LONGEST_REST)));
        self.trouble = Some(format!("{why} Alerts are sent there again until it accepts them."));
    }

    pub(super) fn succeeded(&mut self) {
        (self.failures, self.rest, self.trouble) = (0, None, None);
    }
}
